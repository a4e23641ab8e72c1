package fit

import "math"

// Records are most of a file, and tormoder/fit spends most of its time on
// making room for the hundred fields that a record may have. So it decodes the
// first records of each layout and they are read here too; where both agree to
// the last bit, the records that follow in that layout are read here alone.
// Every other layout and message stays with the library.

// trial is how many records of a layout both must read alike.
const trial = 64

// trust is what is known of reading the records of a layout here.
type trust byte

const (
	never     trust = iota // it holds what only the library reads
	untried                // the library reads, and is compared
	confirmed              // read here
)

// directFields are the fields that are read here, with their size.
var directFields = map[byte]byte{0: 4, 1: 4, 2: 2, 6: 2, 31: 1, 32: 2, 73: 4, 78: 4}

// directly says whether the layout can be read here.
func (p *plan) directly(global uint16) trust {
	if global != mesgRecord || !p.stamp {
		return never
	}
	for _, f := range p.parts {
		if directFields[f.num] != f.size {
			return never
		}
	}
	return untried
}

// read reads a record of the layout from its payload.
func (p *plan) read(payload []byte, stamp uint32) record {
	nan := math.NaN()
	r := record{stamp: stamp, lat: nan, lon: nan, alt: nan, speed: nan, up: nan, accuracy: nan, step: stepMillimetre}
	for i := range p.parts {
		f := &p.parts[i]
		b := payload[f.at:]
		switch f.num {
		case 0:
			r.lat = latitude(int32(p.order.Uint32(b)))
		case 1:
			r.lon = degrees(int32(p.order.Uint32(b)))
		case 2:
			if v := p.order.Uint16(b); v != math.MaxUint16 {
				r.alt = altitude(uint32(v))
			}
		case 78:
			r.alt = altitude(p.order.Uint32(b))
		case 6:
			if v := p.order.Uint16(b); v != math.MaxUint16 {
				r.speed = float64(v) / 1000
			}
		case 73:
			if v := p.order.Uint32(b); v != math.MaxUint32 {
				r.speed = float64(v) / 1000
			}
		case 31:
			if b[0] != math.MaxUint8 {
				r.accuracy = float64(b[0])
			}
		case 32:
			if v := int16(p.order.Uint16(b)); v != math.MaxInt16 {
				r.up = float64(v) / 1000
			}
		}
	}
	r.settle()
	return r
}

// latitude reads a latitude; what lies outside its range is absent.
func latitude(v int32) float64 {
	if v < math.MinInt32/2 || v > math.MaxInt32/2 {
		return math.NaN()
	}
	return float64(v) * semicircle
}

// settle drops half a position.
func (r *record) settle() {
	if r.lat != r.lat || r.lon != r.lon {
		r.lat, r.lon = math.NaN(), math.NaN()
	}
}

// same reports whether two records agree to the last bit.
func (r *record) same(o *record) bool {
	bits := math.Float64bits
	equal := func(a, b float64) bool { return bits(a) == bits(b) || a != a && b != b }
	return r.stamp == o.stamp && r.step == o.step && len(r.each)+len(o.each) == 0 && equal(r.lat, o.lat) && equal(r.lon, o.lon) &&
		equal(r.alt, o.alt) && equal(r.speed, o.speed) && equal(r.up, o.up) && equal(r.accuracy, o.accuracy)
}

// compare holds what was read here of a record to what the library read.
func (p *plan) compare(here, library *record) {
	switch {
	case p.trust != untried:
	case !here.same(library):
		p.trust = never
	default:
		if p.agreed++; p.agreed >= trial {
			p.trust = confirmed
		}
	}
}

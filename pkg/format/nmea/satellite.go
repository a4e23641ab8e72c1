package nmea

import (
	"math"
	"time"
)

// view is what a GSA or GSV sentence says of the sky. It stands beside the
// sentence, which would grow by half with it.
type view struct {
	sats  [12]satellite // GSA's, or up to four of GSV
	cn0   [4]uint8      // GSV: dBHz, 0 where there is no signal
	page  page          // GSV
	total uint8         // GSV: pages of the round; 0 for GSA
	dop   [3]float64    // GSA: of position, horizontal, vertical; NaN where absent
}

// system numbers the satellite systems as NMEA 0183 4.11 does. Augmentation
// satellites, which it counts among GPS's, have a number of their own here.
type system uint8

const (
	anySystem system = iota // the satellite's number tells
	gps
	glonass
	galileo
	beidou
	qzss
	navic
	augmentation
	numSystems
)

// satellite names one: its system and its number there. 0 is none. A satellite
// has one name whatever signals of it are received, and whichever sentence
// speaks of it.
type satellite uint16

const numSatellites = int(numSystems) << 8

// page names a GSV sentence of a round: system, signal, and number.
type page uint16

const numPages = int(numSystems) << 8

func (p page) system() system { return system(p >> 8) }
func (p page) number() uint8  { return uint8(p & 15) }

// talkerSystem is the system that a sentence without a system id speaks of. GN
// speaks of all.
func talkerSystem(talker []byte) system {
	switch string(talker) {
	case "GP":
		return gps
	case "GL":
		return glonass
	case "GA":
		return galileo
	case "GB", "BD":
		return beidou
	case "GQ", "QZ":
		return qzss
	case "GI":
		return navic
	}
	return anySystem
}

// numbering is how receivers number the satellites of all systems in one row:
// up to 99 by NMEA 0183 4.11, beyond it by common practice.
var numbering = []struct {
	first, last int
	system      system
	offset      int // to the system's own number
}{
	{1, 32, gps, 0},
	{33, 64, augmentation, 87},
	{65, 99, glonass, -64},
	{120, 158, augmentation, 0},
	{193, 200, qzss, -192},
	{201, 263, beidou, -200},
	{301, 336, galileo, -300},
	{401, 463, beidou, -400},
}

// ownNumbers is the highest number that a system counts itself, with no regard
// to the others.
var ownNumbers = [numSystems]int{gps: 32, glonass: 32, galileo: 63, beidou: 63, qzss: 63, navic: 63}

// satelliteOf gives the number n of a system a name. Where the system is not
// known and the number does not tell it, there is none.
func satelliteOf(s system, n int) satellite {
	if n > ownNumbers[s] {
		for _, r := range numbering {
			if n >= r.first && n <= r.last {
				return satellite(r.system)<<8 | satellite(n+r.offset)
			}
		}
	}
	if s == anySystem || n <= 0 || n > 255 {
		return 0
	}
	return satellite(s)<<8 | satellite(n)
}

// small reads a number of up to three digits; -1 for anything else.
func small(p []byte) int {
	if len(p) == 0 || len(p) > 3 {
		return -1
	}
	n := 0
	for _, c := range p {
		if c < '0' || c > '9' {
			return -1
		}
		n = 10*n + int(c-'0')
	}
	return n
}

// id reads a system or signal id, a hexadecimal digit since BeiDou has more than
// nine signals. 0, which receivers print for "none", stands for anything else.
func id(p []byte) uint8 {
	if len(p) != 1 || hexDigit[p[0]] > 15 {
		return 0
	}
	return hexDigit[p[0]]
}

// noDOP is what receivers print where they know none, 99.99 or 99.0 (common
// practice); so is 0.
const noDOP = 99

// dop reads a dilution of precision, NaN where there is none.
func dop(p []byte) float64 {
	if x, _, ok := number(p); ok && x > 0 && x < noDOP {
		return x
	}
	return math.NaN()
}

// nextView returns a cleared view at the end of views and names it in s.
func (p *parser) nextView(s *sentence) *view {
	p.views = append(p.views, view{})
	s.view = int32(len(p.views))
	return &p.views[s.view-1]
}

// look reads what GSA, once it is read, and GSV say of the sky. What cannot be
// read in it is left out.
func (p *parser) look(s *sentence) {
	switch s.kind {
	case kindRMC, kindGGA, kindGNS, kindGLL, kindPUBX:
		if second := s.tod / int64(time.Second); s.tod != noTime && second != p.second {
			p.second = second
			clear(p.seen[:])
		}
	case kindGSA:
		if s.flags&flagVoid == 0 {
			p.gsa(s)
		}
	case kindOther:
		if s.flags&flagGSV != 0 {
			p.gsv(s)
		}
	}
}

func (p *parser) gsa(s *sentence) {
	f := &p.f
	sys := system(id(f.at(18)))
	if sys == anySystem || sys > navic {
		sys = talkerSystem(f.b[1:3])
	}
	v := p.nextView(s)
	for i := range v.sats {
		v.sats[i] = satelliteOf(sys, small(f.at(3+i)))
	}
	for i := range v.dop {
		v.dop[i] = dop(f.at(15 + i))
	}
}

// gsv reads satellites in groups of four fields: number, elevation, azimuth, C/N0.
// A field after the last group is the signal's id. A page that this second had is
// passed over here: it would not be taken.
func (p *parser) gsv(s *sentence) {
	f := &p.f
	total, number := small(f.at(1)), small(f.at(2))
	if number < 1 || number > total || total > 15 || f.n < 4 {
		return
	}
	sys := talkerSystem(f.b[1:3])
	at := page(sys)<<8 | page(number)
	if f.n%4 == 1 {
		at |= page(id(f.at(f.n-1))) << 4
	}
	if p.second != noTime && p.seen[at] {
		return
	}
	p.seen[at] = true
	v := p.nextView(s)
	v.total, v.page = uint8(total), at
	for i := range min((f.n-4)/4, len(v.cn0)) {
		v.sats[i] = satelliteOf(sys, small(f.at(4+4*i)))
		if c := small(f.at(7 + 4*i)); c > 0 && c < 100 {
			v.cn0[i] = uint8(c)
		}
	}
}

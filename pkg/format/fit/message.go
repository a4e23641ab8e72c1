package fit

import "math"

// message is a data message as its definition lays it out.
type message struct {
	*definition
	payload []byte
	stamp   uint32 // invalidStamp where there is none
	place   int64  // of its first byte in the input
}

// bytes returns a wanted field as it stands, nil where it is absent.
func (m *message) bytes(num byte) []byte {
	f := &m.where[num]
	return m.payload[f.at : f.at+int32(f.size)]
}

// count returns how many values a wanted field holds.
func (m *message) count(num byte) int {
	f := &m.where[num]
	return int(f.size / baseSize[f.base])
}

// value returns the first value of a wanted field, NaN where it is absent or
// marked invalid.
func (m *message) value(num byte) float64 { return m.element(num, 0) }

// element returns value i of a wanted field, NaN where it is absent or marked
// invalid.
func (m *message) element(num byte, i int) float64 {
	f := &m.where[num]
	size := int(baseSize[f.base])
	if (i+1)*size > int(f.size) {
		return math.NaN()
	}
	b := m.payload[int(f.at)+i*size:]
	switch f.base {
	case typeEnum, typeUint8:
		if b[0] != math.MaxUint8 {
			return float64(b[0])
		}
	case typeUint16:
		if v := m.order.Uint16(b); v != math.MaxUint16 {
			return float64(v)
		}
	case typeSint16:
		if v := int16(m.order.Uint16(b)); v != math.MaxInt16 {
			return float64(v)
		}
	case typeUint32:
		if v := m.order.Uint32(b); v != math.MaxUint32 {
			return float64(v)
		}
	case typeSint32:
		if v := int32(m.order.Uint32(b)); v != math.MaxInt32 {
			return float64(v)
		}
	case typeFloat32:
		return float64(math.Float32frombits(m.order.Uint32(b)))
	}
	return math.NaN()
}

// millis returns a field of milliseconds in ns, 0 where it is absent.
func (m *message) millis(num byte) int64 {
	if v := m.value(num); v >= 0 {
		return int64(v) * 1e6
	}
	return 0
}

// semicircle is the angle of one unit of a FIT position.
const semicircle = 180.0 / (1 << 31) // degrees

// position returns latitude and longitude in degrees. Half a position is none,
// and a quarter of a turn or more is no latitude.
func (m *message) position(lat, lon byte) (latDeg, lonDeg float64) {
	latDeg, lonDeg = m.value(lat)*semicircle, m.value(lon)*semicircle
	if math.IsNaN(latDeg+lonDeg) || latDeg < -90 || latDeg >= 90 {
		return math.NaN(), math.NaN()
	}
	return latDeg, lonDeg
}

// altitude turns the profile's units of 0.2 m from 500 m below the sea to m.
func altitude(v float64) float64 { return v/5 - 500 }

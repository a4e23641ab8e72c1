package ubx

import (
	"encoding/binary"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// ESF-MEAS carries raw measurements of sensors: a time tag of the sensor's, flags, the
// sender, then words of 24 bits of data under 6 of a type. Accelerations are types 16
// to 18, signed, in units of 2^-10 m/s².
const (
	classESF, idMEAS = 0x10, 0x02
	accelX           = 16
	accelScale       = 1.0 / 1024 // m/s²
)

// measured gathers the acceleration of ESF-MEAS.
type measured struct {
	tag  []uint32
	axis [3][]float64
	at   int64
}

// take reads a message and reports whether it was one.
func (m *measured) take(f frame) bool {
	p := f.payload
	if f.class != classESF || f.id != idMEAS || len(p) < 8 {
		return false
	}
	var v [3]float64
	have := 0
	n := int(binary.LittleEndian.Uint16(p[4:]) >> 11) // words, in newer receivers
	words := p[8:]
	if n == 0 || 4*n > len(words) {
		n = len(words) / 4
	}
	for i := range n {
		w := binary.LittleEndian.Uint32(words[4*i:])
		if a := int(w>>24&63) - accelX; a >= 0 && a < len(v) {
			v[a] = float64(int32(w<<8)>>8) * accelScale
			have |= 1 << a
		}
	}
	if have != 7 {
		return false
	}
	if len(m.tag) == 0 {
		m.at = f.at
	}
	m.tag = append(m.tag, binary.LittleEndian.Uint32(p))
	for a := range v {
		m.axis[a] = append(m.axis[a], v[a])
	}
	return true
}

// result is the acceleration on the sensor's own clock, in ms from the first tag, nil
// where there is none. Tags that do not go on are dropped.
func (m *measured) result(from int64, problems *diag.List) *recording.Accel {
	a := &recording.Accel{OwnClock: true, Unit: "m/s2"}
	last, lost := int64(-1), 0
	for i, tag := range m.tag {
		ms := int64(tag - m.tag[0]) // wraps as the tag does
		if ms <= last || ms > 1<<31 {
			lost++
			continue
		}
		last = ms
		a.NanoUTC = append(a.NanoUTC, from+ms*1e6)
		a.X, a.Y, a.Z = append(a.X, m.axis[0][i]), append(a.Y, m.axis[1][i]), append(a.Z, m.axis[2][i])
	}
	if len(a.NanoUTC) == 0 {
		return nil
	}
	problems.AddMany(diag.Problem{Kind: diag.TimeBackward, Effect: diag.Dropped, Byte: m.at, Text: "an ESF-MEAS time tag is not later than the one before it"}, lost)
	problems.AddfByte("acceleration-clock", diag.Note, m.at, "acceleration in ESF-MEAS is on the sensor's own clock, whose offset is unknown")
	return a
}

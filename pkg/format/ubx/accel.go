package ubx

import (
	"encoding/binary"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// ESF-MEAS carries raw measurements of sensors: a time tag of the sensor's, flags, the
// sender, then words of 24 bits of data under 6 of a type. Accelerations are types 16
// to 18, signed, in units of 2^-10 m/s². ESF-INS, and HNR-INS at a higher rate, carry
// what the receiver makes of them, in the vehicle's axes and free of gravity: version
// and validity, the time of week, rates of turn, accelerations in units of 0.01 m/s².
const (
	msgMEAS     = 0x1002
	msgINS      = 0x1015
	msgHighINS  = 0x2802
	accelX      = 16
	accelScale  = 1.0 / 1024 // m/s²
	insVersion  = 1
	insValid    = 0x3800 // all three axes
	insScale    = 0.01   // m/s²
	weekTags    = 604_800_000
	sensorsTags = 1 << 32
	longestFelt = 1 << 31 // ms, beyond which tags are damage
)

// felt is acceleration by time tags in ms.
type felt struct {
	tag  []uint32
	axis [3][]float64
	at   int64
}

func (m *felt) add(f frame, tag uint32, v [3]float64) {
	if len(m.tag) == 0 {
		m.at = f.at
	}
	m.tag = append(m.tag, tag)
	for a := range v {
		m.axis[a] = append(m.axis[a], v[a])
	}
}

// acceleration reads a message and reports whether it was one.
func (l *log) acceleration(f frame) bool {
	p := f.payload
	switch id := int(f.class)<<8 | int(f.id); {
	case id == msgMEAS && len(p) >= 8:
		v, ok := measurement(p)
		if ok {
			l.measured.add(f, binary.LittleEndian.Uint32(p), v)
		}
		return ok
	case (id == msgINS || id == msgHighINS) && len(p) >= 36:
		var v [3]float64
		for a := range v {
			v[a] = float64(int32(binary.LittleEndian.Uint32(p[24+4*a:]))) * insScale
		}
		if p[0] == insVersion && binary.LittleEndian.Uint16(p)&insValid == insValid {
			l.compensated[id == msgHighINS].add(f, binary.LittleEndian.Uint32(p[8:]), v)
		}
		return true
	}
	return false
}

// measurement is the acceleration in an ESF-MEAS, ok where it has all axes.
func measurement(p []byte) (v [3]float64, ok bool) {
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
	return v, have == 7
}

// tagged is a fix with its time of week.
type tagged struct {
	itow uint32 // ms
	nano int64
	is   bool
}

// accel is the acceleration in a log: what the sensors measured, on their own clock, else
// what the receiver made of it, on the clock of its solutions. It is nil where there is none.
func (l *log) accel() *recording.Accel {
	if len(l.measured.tag) > 0 {
		from := recording.Nano(recording.Epoch0)
		if len(l.rec.Tracks) > 0 {
			from = l.rec.Tracks[0].NanoAt(0)
		}
		a := l.measured.result(from, sensorsTags, "ESF-MEAS", &l.rec.Problems)
		a.OwnClock = true
		l.rec.Problems.AddfByte("acceleration-clock", diag.Note, l.measured.at, "acceleration in ESF-MEAS is on the sensor's own clock, whose offset is unknown")
		return a
	}
	m, name := l.compensated[true], "HNR-INS"
	if len(l.compensated[false].tag) > len(m.tag) {
		m, name = l.compensated[false], "ESF-INS"
	}
	if len(m.tag) == 0 || !l.ref.is {
		return nil
	}
	ms := (int64(m.tag[0]) - int64(l.ref.itow)) % weekTags
	switch {
	case ms > weekTags/2:
		ms -= weekTags
	case ms < -weekTags/2:
		ms += weekTags
	}
	a := m.result(l.ref.nano+ms*1e6, weekTags, name, &l.rec.Problems)
	a.GravityRemoved = true
	return a
}

// result counts instants from the first tag. Tags, which begin again at a whole, that do
// not go on are dropped.
func (m *felt) result(from, whole int64, what string, problems *diag.List) *recording.Accel {
	a := &recording.Accel{Unit: "m/s2"}
	last, ms, lost := m.tag[0], int64(0), 0
	for i, tag := range m.tag {
		step := (int64(tag) - int64(last) + whole) % whole
		if i > 0 && (step <= 0 || step > whole/2 || ms+step > longestFelt) {
			lost++
			continue
		}
		last, ms = tag, ms+step
		a.NanoUTC = append(a.NanoUTC, from+ms*1e6)
		a.X, a.Y, a.Z = append(a.X, m.axis[0][i]), append(a.Y, m.axis[1][i]), append(a.Z, m.axis[2][i])
	}
	problems.AddMany(diag.Problem{Kind: diag.TimeBackward, Effect: diag.Dropped, Byte: m.at, Text: "an " + what + " time tag is not later than the one before it"}, lost)
	return a
}

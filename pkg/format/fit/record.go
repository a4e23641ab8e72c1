package fit

import (
	"math"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// Steps of the fields that hold speed, in m/s.
const (
	stepMillimetre = 0.001
	stepCompressed = 0.01
	stepEach       = 1.0 / 16
)

// noCompressed is the speed in 12 bits that means none.
const noCompressed = 0xFFF

// record adds the fixes of a record. Of several fields that hold its speed, or
// its altitude, the best that is valid is read.
func (g *gather) record(m *message) {
	if m.stamp == 0 {
		g.note(diag.NoTime, diag.Dropped, m.place, "the record has no time stamp")
		return
	}
	raw := rawNano(m.stamp)
	f := recording.NewFix(time.Unix(0, raw).UTC())
	q := &f.Q
	step := stepMillimetre
	speed := m.value(73) / 1000
	if math.IsNaN(speed) {
		speed = m.value(6) / 1000
	}
	if math.IsNaN(speed) {
		if b := m.bytes(8); len(b) == 3 && !allFF(b) {
			step = stepCompressed
			if v := uint16(b[0]) | uint16(b[1]&15)<<8; v != noCompressed {
				speed = float64(v) / 100
			}
		} else if n := m.count(17); n > 0 { // of the last n seconds
			step = stepEach
			g.seconds(m, raw, n-1)
			speed = m.element(17, n-1) / 16
		}
	}
	q[recording.Speed] = speed
	q[recording.LatDeg], q[recording.LonDeg] = m.position(0, 1)
	if q[recording.Altitude] = altitude(m.value(78)); !f.Has(recording.Altitude) {
		q[recording.Altitude] = altitude(m.value(2))
	}
	q[recording.PosSD] = m.value(31)
	q[recording.VelUp] = m.value(32) / 1000
	if !f.Has(recording.Speed) && !f.Has(recording.LatDeg) {
		g.bare++
		return
	}
	if f.Has(recording.Speed) {
		g.recStep = math.Max(g.recStep, step)
	}
	g.add(&g.rec, &f, m.place)
}

// seconds adds the speeds of the n seconds before a record.
func (g *gather) seconds(m *message, raw int64, n int) {
	for i := range n {
		if v := m.element(17, i); v >= 0 {
			f := recording.NewFix(time.Unix(0, raw-int64(n-i)*1e9).UTC())
			f.Q[recording.Speed] = v / 16
			g.add(&g.rec, &f, m.place)
		}
	}
}

func allFF(b []byte) bool {
	for _, c := range b {
		if c != 0xFF {
			return false
		}
	}
	return true
}

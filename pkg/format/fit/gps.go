package fit

import (
	"time"

	"fromrest/pkg/recording"
)

// metadata adds a fix from gps_metadata.
func (g *gather) metadata(m *message) {
	raw := rawNano(m.stamp) + m.millis(0)
	f := recording.NewFix(time.Unix(0, raw).UTC())
	q := &f.Q
	q[recording.LatDeg], q[recording.LonDeg] = m.position(1, 2)
	q[recording.Altitude] = altitude(m.value(3))
	q[recording.Speed] = m.value(4) / 1000
	if c := m.value(5) / 100; c <= 360 {
		q[recording.Course] = c
	}
	if m.count(7) == 3 { // cm/s east, north and up
		q[recording.VelUp] = m.element(7, 2) / 100
		if e, n := m.element(7, 0)/100, m.element(7, 1)/100; e == e && n == n {
			q[recording.VelEast], q[recording.VelNorth] = e, n
		}
	}
	if !f.Has(recording.Speed) && !f.Has(recording.LatDeg) {
		g.bare++
		return
	}
	g.clock.hint(raw, m.value(6))
	g.add(&g.gps, &f, m.place)
}

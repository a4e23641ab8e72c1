package explain

import (
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

// steps fills in wheel force after each shift over wheel force before it. The
// same rotating mass is taken on both sides: gears are not known yet.
func (c *RunConditions) steps(shifts []Shift, l *RoadLoad) {
	for i := range shifts {
		shifts[i].Step = c.step(&shifts[i], l, l.Factor, l.Factor)
	}
}

// step is wheel force after a shift over wheel force before it, with the
// effective mass over mass on either side.
func (c *RunConditions) step(s *Shift, l *RoadLoad, f1, f2 uncert.Value) uncert.Value {
	tr := &c.Run.Trace
	b, a := around(tr, s.begin, s.end)
	load := c.load(l, s.Speed.X)
	before, after := f1.X*b+load.X, f2.X*a+load.X
	_, sd := tr.SpeedAt(s.begin)
	x := after / before
	noise := sd / levelLong // of a mean acceleration over that long
	return uncert.Value{X: x, U: uncert.Combine(f1.X*noise*x, f2.X*noise, load.U*(1-x), f1.U*math.Abs(a-x*b)) / before}
}

// gears says which gears shifts are between: from the step in force where the
// sheet's torque curve and ratios allow only one, else by counting from the start
// gear, else not.
func (c *RunConditions) gears(shifts []Shift, l *RoadLoad, sh *sheet.Sheet, m *modeData) {
	n := len(sh.Vehicle.Gears)
	if n == 0 || m.start+len(shifts) > n {
		return
	}
	for i := range shifts {
		s := &shifts[i]
		s.From, s.To, s.GearBasis = m.start+i, m.start+i+1, Assumed
		if m.train == nil {
			continue
		}
		v1, _ := c.Run.Trace.SpeedAt(s.begin)
		v2, _ := c.Run.Trace.SpeedAt(s.end)
		var fit []int
		for g := 0; g+1 < n; g++ {
			limit := m.train.RoadSpeed(g, m.train.Engine.Limit)
			if limit < nearTop*v1 {
				continue // the engine would turn faster than it can
			}
			want := m.train.Force(g+1, v2) / m.train.Force(g, math.Min(v1, limit))
			if got := c.step(s, l, l.factor(g+1), l.factor(g+2)); math.Abs(want-got.X) <= got.U95()+curveU*want {
				fit = append(fit, g+1)
			}
		}
		if len(fit) == 1 && fit[0] == s.From {
			s.GearBasis = Modelled
		}
	}
}

// firstGear is the gear a run starts in, 0 where not known: a run in which no
// shift was seen may have had some.
func firstGear(shifts []Shift, sh *sheet.Sheet, m *modeData) int {
	switch {
	case len(sh.Vehicle.Gears) == 1:
		return 1
	case len(shifts) > 0 && shifts[0].From > 0:
		return shifts[0].From
	}
	return 0
}

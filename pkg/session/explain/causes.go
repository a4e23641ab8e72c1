package explain

import (
	"context"
	"math"
	"slices"

	"fromrest/pkg/sheet"
	"fromrest/pkg/vehicle/driveline"
)

// Cause is a part of the difference in time that a sheet predicts between two
// modes; modelled.
type Cause struct {
	What    string  // "power share", "gearing", "driven wheels", "driveline efficiency"
	Seconds float64 // positive where it makes the first mode slower
}

// Causes takes the predicted difference in time between modes a and b apart: from
// b, what the sheet gives a is put in one thing after another, and each step is
// the part of that thing. The parts add up to the predicted difference; which
// part interacting ones go to depends on the order, as in any such sum. It is nil
// where a time cannot be predicted. reach says when a run gets there.
func Causes(ctx context.Context, sh *sheet.Sheet, a, b string, reach func(*driveline.Run) (float64, bool)) []Cause {
	ia := slices.IndexFunc(sh.Modes, func(m sheet.Mode) bool { return m.Name == a })
	ib := slices.IndexFunc(sh.Modes, func(m sheet.Mode) bool { return m.Name == b })
	if ia < 0 || ib < 0 {
		return nil
	}
	mixed := *sh
	mixed.Modes = slices.Clone(sh.Modes)
	m := &mixed.Modes[ib]
	m.Driveline = sh.ModeDriveline(b)
	want := sh.ModeDriveline(a)
	when := func() float64 {
		p, err := Predict(ctx, &mixed, b)
		if err != nil || p.Run == nil {
			return math.NaN()
		}
		t, ok := reach(p.Run)
		if !ok {
			return math.NaN()
		}
		return t
	}
	var out []Cause
	last := when()
	for _, step := range []struct {
		what string
		put  func()
	}{
		{"power share", func() { m.PowerShare = sh.Modes[ia].PowerShare }},
		{"gearing", func() { m.Driveline.Range, m.Driveline.StartGear = want.Range, want.StartGear }},
		{"driven wheels", func() {
			e := m.Driveline.Efficiency
			m.Driveline = want
			m.Driveline.Efficiency = e
		}},
		{"driveline efficiency", func() { m.Driveline.Efficiency = want.Efficiency }},
	} {
		step.put()
		t := when()
		if math.IsNaN(t) || math.IsNaN(last) {
			return nil
		}
		if math.Abs(t-last) >= 0.005 {
			out = append(out, Cause{step.what, t - last})
		}
		last = t
	}
	if out == nil {
		out = []Cause{}
	}
	return out
}

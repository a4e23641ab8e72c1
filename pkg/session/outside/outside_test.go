package outside

import (
	"math"
	"slices"
	"testing"

	"fromrest/pkg/motion"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

const pull = 4.0 // m/s², of the even pull that the tests time

// even is the trace of an even pull.
func even() *motion.Trace {
	var tr motion.Trace
	for i := range 1000 {
		x := 0.01 * float64(i)
		tr.T, tr.S, tr.V, tr.A = append(tr.T, x), append(tr.S, pull*x*x/2), append(tr.V, pull*x), append(tr.A, pull)
		tr.SS, tr.SV, tr.SA = append(tr.SS, 0.01), append(tr.SV, 0.02), append(tr.SA, 0.1)
	}
	return &tr
}

func after(s float64) float64 { return math.Sqrt(2 * s / pull) }

// clocked is the time of an even pull over a distance by a clock of an origin, with what a log
// knows of it.
func clocked(o Origin, start, short, distance float64) Time {
	end := after(start + distance - short)
	return Time{Run: "a#1", Seconds: uncert.Value{X: end - after(start), U: 0.002}, Origin: o,
		Rest: uncert.Value{X: after(distance), U: 0.05}, Rolled: uncert.Value{X: after(distance+unit.Rollout) - after(unit.Rollout), U: 0.004},
		Foot: uncert.Value{X: after(unit.Rollout), U: 0.05}, End: pull * after(distance+unit.Rollout), Trace: even()}
}

// What an outside clock shows by the log of an even pull is what the formula gives.
func TestExpected(t *testing.T) {
	for _, c := range []struct {
		origin       Origin
		start, short float64
	}{{Rest, 0, 0}, {Rollout, unit.Rollout, 0}, {Bumper, bumperStart, 0}, {Tyre, tyreStart, noseShort}, {Axle, axleStart, noseShort}} {
		for _, d := range []float64{18.288, 100} {
			x := clocked(c.origin, c.start, c.short, d)
			if got := x.Expected(); math.Abs(got.X-x.Seconds.X) > 0.002 || !x.Agrees() {
				t.Errorf("%s over %g m: %.4f s expected, %.4f s by the formula", c.origin, d, got.X, x.Seconds.X)
			}
		}
	}
	x, measured := clocked(Bumper, 0.5, 0, 100), 0.5
	if x.Start = &measured; math.Abs(x.Less().X) > 0.002 || x.Less().U > 0.01 {
		t.Errorf("a way that was measured: %+v", x.Less())
	}
}

// A single time tells first motion from the first foot, and not the first foot from a tyre's
// beam; a time that nothing explains is said to be one.
func TestOrigins(t *testing.T) {
	one := func(o Origin, start, short float64) Verdict { return Judge([]Time{clocked(o, start, short, 100)}) }
	if v := one(Rest, unit.Rollout, 0); !slices.Contains(v.Instead, Rollout) || v.Held != 0 || math.Abs(v.Started.X-unit.Rollout) > 0.02 {
		t.Errorf("%+v", v)
	}
	if v := one(Rollout, 0, 0); !slices.Equal(v.Instead, []Origin{Rest}) {
		t.Errorf("%+v", v)
	}
	if v := one(Tyre, unit.Rollout, 0.4); len(v.Instead) > 0 || v.Unfit || v.Held != 1 || !math.IsNaN(v.Bias.U) {
		t.Errorf("%+v", v)
	}
	late := clocked(Rollout, unit.Rollout, 0, 100)
	late.Seconds.X += 2
	if v := Judge([]Time{late}); !v.Unfit || len(v.Instead) > 0 {
		t.Errorf("%+v", v)
	}
}

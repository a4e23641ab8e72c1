package ramp

import (
	"math"
	"testing"
)

// What a filter shows is the motion weighed by the filter's own response, here summed in
// small steps; backwards the filter looks ahead.
func TestSeenIsTheMotionFiltered(t *testing.T) {
	const h = 1e-4
	first := FirstOrderOf(0.2)
	for _, rp := range []Ramp{{Linear, 0}, {Linear, 0.4}, {Cosine, 0.4}, {Lag, 0.4}, {Lag, 0.6}, {Lag, 0.9}, {Square, 0.5}} {
		for _, back := range []bool{false, true} {
			s := Seen{Ramp: rp, By: &first, Backwards: back}
			for _, at := range []float64{-0.3, -0.05, 0.03, 0.2, 0.5, 1.3} {
				var d, v, a float64
				for i := range int(14 * 0.2 / h) {
					u := (float64(i) + 0.5) * h
					w := math.Exp(-u/0.2) / 0.2 * h
					x := at - u
					if back {
						x = at + u
					}
					dx, vx, ax := rp.Moved(x)
					d, v, a = d+w*dx, v+w*vx, a+w*ax
				}
				gd, gv, ga := s.Moved(at)
				if math.Abs(gd-d) > 2e-4 || math.Abs(gv-v) > 2e-4 || math.Abs(ga-a) > 4e-4 {
					t.Errorf("%v backwards %v at %g: %.5f %.5f %.5f, summed %.5f %.5f %.5f", rp, back, at, gd, gv, ga, d, v, a)
				}
			}
		}
	}
}

// A steady pull is shown late by the delay, and once it is over nothing changes.
func TestSeenDelays(t *testing.T) {
	for _, f := range []Filter{FirstOrderOf(0.1), MeanOfFixes(5, 0.1), MeanOfFixes(2, 0.04), TrackerOf(0.4, 0.1), {}} {
		for _, back := range []bool{false, true} {
			for _, rp := range []Ramp{{Linear, 0}, {Linear, 0.3}, {Cosine, 0.3}, {Lag, 0.3}} {
				s := Seen{Ramp: rp, By: &f, Backwards: back}
				late := 20.0
				v, a := s.Response(late)
				if math.Abs(v-(late-s.Delay())) > 2e-4 || math.Abs(a-1) > 1e-6 {
					t.Errorf("%s, %v: speed %.5f and acceleration %.6f, a step %.4f s later", f.String(), rp, v, a, s.Delay())
				}
				if _, a := s.Response(s.Over()); math.Abs(a-1) > 2e-3 {
					t.Errorf("%s, %v: acceleration %.5f once it is over", f.String(), rp, a)
				}
				if _, a := s.Response(-s.Lead() - 1e-9); math.Abs(a) > 2e-3 {
					t.Errorf("%s, %v: acceleration %.5f before it shows", f.String(), rp, a)
				}
				gd, gv, ga := s.Gains(0.1, 0.25)
				d1, v1, a1 := s.Moved(0.1)
				d2, v2, a2 := s.Moved(0.25)
				if math.Abs(d1+0.15*v1+0.15*0.15/2*a1+gd-d2)+math.Abs(v1+0.15*a1+gv-v2)+math.Abs(a1+ga-a2) > 1e-12 {
					t.Errorf("%s, %v: gains do not add up", f.String(), rp)
				}
			}
		}
	}
}

// A tracker has no delay on a steady pull (an alpha-beta filter's, computed), a mean half
// its length.
func TestFilterDelay(t *testing.T) {
	tr, m := TrackerOf(0.4, 0.1), MeanOfFixes(5, 0.1)
	if math.Abs(tr.Delay()) > 1e-3 || math.Abs(m.Delay()-0.2) > 1e-12 {
		t.Errorf("tracker %.4f s, mean of five %.4f s", tr.Delay(), m.Delay())
	}
}

package timing

import (
	"math"
	"testing"

	"fromrest/pkg/motion/ramp"
)

// Build-ups that no path of a run has tell nothing of it, and paths of no weight share
// none: the weights are always those of probabilities.
func TestWeightsAreProbabilities(t *testing.T) {
	l := &Launches{Paths: []Launch{{Ramp: 0, Weight: .5}, {Ramp: 0, Weight: .25}, {Ramp: 1, Weight: .25}, {Ramp: 2}}}
	for _, c := range []struct {
		ramps, want []float64
	}{
		{[]float64{.5, .5, 0, 0}, []float64{1. / 3, 1. / 6, .5, 0}},
		{[]float64{0, 1, 0, 0}, []float64{0, 0, 1, 0}},
		{[]float64{0, 0, 1, 0}, []float64{.5, .25, .25, 0}},
		{[]float64{0, 0, 0, 1}, []float64{.5, .25, .25, 0}},
	} {
		for i, got := range l.Weights(c.ramps) {
			if math.Abs(got-c.want[i]) > 1e-12 {
				t.Errorf("%v: path %d has %g, want %g", c.ramps, i, got, c.want[i])
			}
		}
	}
}

// Where nothing tells which filter a path is behind, the interval holds behind each, however
// small its probability; where something does, it holds 95 % of them together.
func TestUntoldFilterIsHeld(t *testing.T) {
	l := &Launches{Stretch: 1.959964, Told: ramp.Told{Filters: []float64{.99, .01}},
		Paths: []Launch{{Ramp: 0, Weight: .99}, {Ramp: len(ramp.All), Weight: .01}}}
	c := &Cell{Middle: 6, Off: []float32{0, 0.2}, V: []float32{1e-4, 1e-4}}
	w := []float64{.99, .01}
	told, u := l.Time(c, w)
	if math.Abs(told-6.002) > 1e-6 || u > 0.03 {
		t.Errorf("told: %.4f ± %.4f s", told, u)
	}
	l.Untold = true
	same, u := l.Time(c, w)
	// The path behind the second lies 0.198 s off; nine tenths of it within 1.2816 of its
	// standard deviation of 0.01 s beyond (the other side is far away).
	if same != told || math.Abs(u-(0.198+1.28155*0.01)) > 1e-4 {
		t.Errorf("untold: %.4f ± %.4f s", same, u)
	}
}

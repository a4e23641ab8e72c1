package timing

import (
	"math"
	"testing"
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

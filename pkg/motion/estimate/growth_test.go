package estimate

import (
	"math"
	"testing"
)

// Both growths are found where both are there, one where the other is not, and none where
// neither is: the classes' variances are those of the formula.
func TestGrowthIsTold(t *testing.T) {
	for _, want := range []growth{{}, {speed: 1e-6}, {accel: 2e-4}, {1e-6, 2e-4}} {
		var w [2][2]float64
		var y [2]float64
		for v := 5.0; v < 30; v += 5 {
			for a := 0.0; a < 5; a++ {
				const rest, n = 1e-4, 100
				more := want.at(v, a)
				weight := n / (classVariance * (rest + more) * (rest + more))
				x := [2]float64{v * v, a * a}
				for i := range x {
					for j := range x {
						w[i][j] += weight * x[i] * x[j]
					}
					y[i] += weight * x[i] * more
				}
			}
		}
		got := grows(w, y)
		if math.Abs(got.speed-want.speed) > 1e-12 || math.Abs(got.accel-want.accel) > 1e-10 {
			t.Errorf("found %v, put in %v", got, want)
		}
	}
}

// Noise that is the same at any speed is not said to grow.
func TestNoGrowthWhereThereIsNone(t *testing.T) {
	s, _, _ := driven(t, 0, 0.05, 6)
	if s.growth != (growth{}) {
		t.Errorf("found %v", s.growth)
	}
}

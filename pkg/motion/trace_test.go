package motion

import "testing"

func TestInterpolation(t *testing.T) {
	tr := Trace{T: []float64{0, 1, 3}, S: []float64{0, 2, 10}, V: []float64{0, 4, 8}, SS: []float64{0, 1, 3}, SV: []float64{1, 1, 2}}
	for _, c := range [][5]float64{{-1, 0, 0, 0, 1}, {0.5, 1, 0.5, 2, 1}, {2, 6, 2, 6, 1.5}, {9, 10, 3, 8, 2}} {
		s, ss := tr.DistanceAt(c[0])
		v, sv := tr.SpeedAt(c[0])
		if s != c[1] || ss != c[2] || v != c[3] || sv != c[4] {
			t.Errorf("at %g s: %g ± %g m, %g ± %g m/s, want %v", c[0], s, ss, v, sv, c[1:])
		}
	}
}

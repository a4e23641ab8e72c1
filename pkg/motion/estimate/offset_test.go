package estimate

import (
	"math"
	"testing"
)

// TestOffset compares with inverse lines by GeodSolve of GeographicLib 2.1.2,
// run locally on WGS 84. All are short and away from the poles, so none is left
// out.
func TestOffset(t *testing.T) {
	for _, c := range [][5]float64{
		{0, 0, 0, 0.001, 111.319490793}, {45, 9, 45.001, 9, 111.131787186},
		{45, 9, 45, 9.001, 78.846835093}, {60, 25, 60, 25.001, 55.800001572},
		{37, -122, 37.0036253, -122, 402.327369547},
		{44.069006, -121.31432683, 44.06899883, -121.31433717, 1.149305615}} {
		n, e := offset(c[0], c[1], c[2], c[3])
		if d := math.Hypot(n, e); math.Abs(d-c[4]) > 0.001 {
			t.Errorf("%v: %.6f m", c, d)
		}
	}
}

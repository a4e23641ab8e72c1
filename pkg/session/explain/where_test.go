package explain

import (
	"math"
	"testing"

	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// Two modes driven twice each way: the direction costs 0.4 s and drops out, the modes
// differ by 1 s. The four cells of two runs 0.2 s apart leave a variance of 0.08/5 s², so
// that the standard error is √(0.016/2) s; t of 5 is 2.571 (tables).
func TestDifferTakesTheDirectionOut(t *testing.T) {
	runs := func() (out []*TracedRun) {
		for _, deg := range []float64{64, 64, 244, 244} {
			out = append(out, &TracedRun{Run: &session.TimedRun{HeadingDeg: deg}})
		}
		return out
	}
	p := &pairing{a: runs(), b: runs()}
	d := p.differ([]float64{5.0, 5.2, 5.4, 5.6}, []float64{4.0, 4.2, 4.4, 4.6})
	if want := 2.571 * math.Sqrt(0.008); math.Abs(d.X-1) > 1e-9 || math.Abs(d.U*uncert.Z95-want) > 1e-3 {
		t.Errorf("%.4f ±%.4f, want 1 ±%.4f", d.X, d.U*uncert.Z95, want)
	}
}

package explain_test

import (
	"math"
	"testing"

	"fromrest/pkg/motion"
	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
)

// Two modes driven twice each way: the direction costs 0.4 s and drops out, the
// modes differ by 1 s. Each cell of two runs 0.2 s apart has a variance of 0.02 s²,
// so that the standard error is √(0.02·0.5) s = 0.1 s; t of 4 is 2.776 (tables).
func TestGapTakesTheDirectionOut(t *testing.T) {
	tr := &explain.Traced{}
	add := func(mode string, deg float64, took ...float64) {
		for _, s := range took {
			tr.Runs = append(tr.Runs, explain.TracedRun{Run: &session.TimedRun{Mode: mode, HeadingDeg: deg,
				Trace: motion.Trace{T: []float64{0, s}, V: []float64{0, 10}}}})
		}
	}
	add("a", 64, 5.0, 5.2)
	add("b", 64, 4.0, 4.2)
	if _, ok := tr.Gap("a", "c", 0, 10); ok {
		t.Error("a gap to a mode without runs")
	}
	add("a", 244, 5.4, 5.6)
	add("b", 244, 4.4, 4.6)
	g, ok := tr.Gap("a", "b", 0, 10)
	if !ok || math.Abs(g.X-1) > 1e-9 || math.Abs(g.U*uncert.Z95-0.27764) > 1e-4 {
		t.Errorf("%+v %v", g, ok)
	}
	half, ok := tr.Gap("a", "b", 5, 10)
	if !ok || math.Abs(half.X-0.5) > 1e-9 {
		t.Errorf("from 5 m/s: %+v %v", half, ok)
	}
}

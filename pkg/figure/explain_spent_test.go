package figure

import (
	"math"
	"strings"
	"testing"

	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
)

// The bars end where the parts add up to, the axis holds every interval, and a part whose
// prediction is not known has no ring.
func TestSpent(t *testing.T) {
	s := &explain.Spent{A: "calm", B: "full", Target: explain.Targets[1], Measured: uncert.Value{X: 1.5, U: 0.2}, Predicted: uncert.Value{X: math.NaN()},
		Parts: []explain.SpentPart{{What: explain.SpentLaunch, Seconds: uncert.Value{X: 0.4, U: 0.1}, Predicted: uncert.Value{X: 0.5}},
			{What: explain.SpentEngine, Seconds: uncert.Value{X: 1.2, U: 0.1}, Predicted: uncert.Value{X: math.NaN()}},
			{What: explain.SpentLeft, Seconds: uncert.Value{X: -0.1}, Predicted: uncert.Value{X: math.NaN()}}}}
	f := Spent(s, Options{})
	if !strings.Contains(f.Desc, "in all +1.50 s") || !strings.Contains(f.Desc, "launch +0.40 s") {
		t.Error(f.Desc)
	}
	if b := string(f.SVG()); strings.Contains(b, "NaN") || !strings.Contains(b, "left over") {
		t.Error("a bar of NaN, or no name")
	}
	steps := &spentSteps{all: []spentStep{{y: 1, begin: 0, end: 1.5, half: 0.4, sheet: math.NaN()}, {y: 2, begin: 0, end: -0.2, sheet: 2.5}}}
	if lo, hi := steps.extent(); lo > -0.2 || hi < 2.5 || math.IsNaN(lo+hi) {
		t.Errorf("axis from %g to %g", lo, hi)
	}
}

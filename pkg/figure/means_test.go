package figure

import (
	"errors"
	"math"
	"testing"

	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// The mean of runs that are alike is the run, along every axis and from every origin.
func TestMeansOfLikeRuns(t *testing.T) {
	var runs []*session.TimedRun
	for _, mode := range []string{"calm", "full"} {
		runs = append(runs, sampleRun(mode+"#1", mode, 4, 30, 1), sampleRun(mode+"#2", mode, 4, 30, 1))
	}
	for _, by := range []Against{ByTime, ByDistance, BySpeed} {
		for _, o := range []Options{{}, {From: "rest"}, {Through: 20 * unit.MPH}} {
			means, err := ModeMeans(runs, by, o)
			if err != nil || len(means) != 2 || means[1].Mode != "full" || means[0].N != 2 {
				t.Fatalf("%s: %v %+v", by, err, means)
			}
			w, err := newView(runs[0], o)
			if err != nil {
				t.Fatal(err)
			}
			if by == BySpeed {
				w.rise()
			}
			m := means[0]
			for k := 0; k < len(m.X)-1; k += 40 {
				if want := interpolate(w.along(by), w.a, m.X[k]); !(math.Abs(m.A[k]-want) < 1e-9) && !math.IsNaN(want) {
					t.Errorf("%s %+v: %g g at %g, want %g", by, o, m.A[k], m.X[k], want)
				}
			}
			if (m.V == nil) != (by == BySpeed) || (m.T == nil) != (by == ByTime) {
				t.Errorf("%s: speeds %d, times %d", by, len(m.V), len(m.T))
			}
		}
	}
	m, err := ModeMeans(runs, ByTime, Options{Through: 20 * unit.MPH})
	if err != nil || math.Abs(m[0].V[0]-20) > 0.01 {
		t.Errorf("through 20 mph begins at %v, %v", m[0].V[0], err)
	}
	if _, err := ModeMeans(runs, ByTime, Options{Through: 900}); !errors.Is(err, ErrNoMode) {
		t.Errorf("a speed that nobody has: %v", err)
	}
}

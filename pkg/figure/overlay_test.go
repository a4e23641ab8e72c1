package figure

import (
	"errors"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// TestOverlayOfMeans checks that each mode has one mean and that the means are among the
// data: at each instant they are the mean of the runs that are drawn.
func TestOverlayOfMeans(t *testing.T) {
	runs := sampleRuns(3)
	f, err := Overlay(runs, OfSpeed, ByTime, Options{Means: true})
	if err != nil {
		t.Fatal(err)
	}
	if len(f.Key) != 3 || len(f.Ends) != 3 {
		t.Fatalf("%d entries in the key, %d ends", len(f.Key), len(f.Ends))
	}
	n := map[string]int{}
	for _, line := range f.Data()[1:] {
		if line[0] == "mean" {
			n[line[1]]++
			if line[2] == "" || line[4] == "" || line[3] != "" || line[6] != "" {
				t.Fatalf("a mean of speed by time: %q", line)
			}
		}
	}
	for _, mode := range []string{"eco", "road", "load"} {
		if n[mode] < points/2 {
			t.Errorf("%s: the mean has %d points", mode, n[mode])
		}
	}
	for _, r := range runs {
		r.Kind = segment.Rolling
	}
	if _, err := Overlay(runs, OfSpeed, ByTime, Options{Means: true}); !errors.Is(err, ErrNoMode) {
		t.Errorf("means of no standing start: %v", err)
	}
}

// TestDirectionsAreMarked checks that runs both ways are told apart at their ends, and that
// runs of one way have no marks that would say nothing.
func TestDirectionsAreMarked(t *testing.T) {
	draw := func(runs []*session.TimedRun) (*Figure, int) {
		f, err := Overlay(runs, OfSpeed, ByTime, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return f, strings.Count(string(f.SVG()), "A")
	}
	runs := sampleRuns(2)
	for i, r := range runs {
		r.HeadingDeg = 64 + 180*float64(i%2)
	}
	both, arcs := draw(runs)
	if !both.endMarked || both.Note != "A run towards 064° ends in ●, one towards 244° in ○." {
		t.Errorf("note %q", both.Note)
	}
	for _, r := range runs {
		r.HeadingDeg = 64
	}
	same, fewer := draw(runs)
	if same.endMarked || same.Note != "" || fewer >= arcs {
		t.Errorf("runs of one way: note %q, %d arcs after %d", same.Note, fewer, arcs)
	}
	for _, r := range runs {
		r.HeadingDeg = math.NaN()
	}
	if none, _ := draw(runs); none.endMarked {
		t.Error("a direction that is not known is marked")
	}
}

// TestTimesOfMeans checks that mean times are written where the curve of the mode passes
// the target.
func TestTimesOfMeans(t *testing.T) {
	runs := sampleRuns(2)
	tm, _ := runs[0].Time("0-60 mph", timing.FromRollout)
	o := Options{Means: true, Times: []MeanTime{{Mode: "eco", Target: "0–60 mph", X: tm.Seconds, Speed: 60 * unit.MPH, Text: "10.32"}}}
	f, err := Overlay(runs, OfSpeed, ByTime, o)
	if err != nil {
		t.Fatal(err)
	}
	svg := string(f.InlineSVG("x"))
	for _, want := range []string{">10.32<", ">0–60 mph<"} {
		if !strings.Contains(svg, want) {
			t.Errorf("the figure lacks %q", want)
		}
	}
	o.Size = Narrow
	if f, err = Overlay(runs, OfSpeed, ByTime, o); err != nil || strings.Contains(string(f.InlineSVG("x")), "10.32") {
		t.Errorf("a narrow figure has the times: %v", err)
	}
}

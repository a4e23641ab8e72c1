package gpx

import (
	"context"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

func read(t testing.TB, text string) *recording.Recording {
	t.Helper()
	rec, err := Read(context.Background(), strings.NewReader(text), "x.gpx", Options{})
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

// count returns how many problems of a kind there are.
func count(rec *recording.Recording, kind string, effect diag.Effect) int {
	for _, g := range rec.Problems.Groups() {
		if g.Kind == kind && g.Effect == effect {
			return g.Count
		}
	}
	return 0
}

func TestRealFiles(t *testing.T) {
	for _, c := range []struct {
		file        string
		fixes, lost int
		top, step   float64 // m/s
		timeStep    time.Duration
		first       string
	}{
		{"subsecond.gpx", 5, 0, 14.1838, 1e-6, 100 * time.Millisecond, "2011-07-02T17:47:25.2Z"},
		{"jitter-1hz.gpx", 3453, 0, 28.019999, 1e-6, time.Millisecond, "2010-02-01T12:31:38.545Z"},
		{"duplicate-times.gpx", 1121, 78, 18.426821, 1e-6, time.Second, "2008-05-04T12:52:47Z"},
	} {
		t.Run(c.file, func(t *testing.T) {
			b := testlog.Logs(t, "gpx/"+c.file)["gpx/"+c.file]
			if s := Sniff(b); s < 90 {
				t.Errorf("sniffed with %d", s)
			}
			rec := read(t, string(b))
			tr := rec.Primary()
			if tr.Len() != c.fixes || tr.Source != recording.GNSS || tr.SpeedStep != c.step || tr.TimeStep != c.timeStep {
				t.Errorf("%d fixes by %s, steps %g m/s and %v", tr.Len(), tr.Source, tr.SpeedStep, tr.TimeStep)
			}
			if n := rec.Problems.Count(diag.Dropped); n != c.lost || count(rec, "time-repeated", diag.Dropped) != c.lost {
				t.Errorf("%d dropped, want %d", n, c.lost)
			}
			if top := slices.Max(tr.Col(recording.Speed)); top != c.top {
				t.Errorf("top speed %g", top)
			}
			if got := tr.TimeAt(0).Format(time.RFC3339Nano); got != c.first {
				t.Errorf("first fix at %s", got)
			}
		})
	}
}

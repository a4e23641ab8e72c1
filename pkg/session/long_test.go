package session

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/synth"
)

// inStretches analyses an NMEA log whole, and in stretches of n fixes.
func inStretches(t *testing.T, log []byte, n int, opts Options) (whole, parts *Result) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "long.nmea")
	if err := os.WriteFile(path, log, 0o644); err != nil {
		t.Fatal(err)
	}
	run := func() *Result {
		res, err := Run(context.Background(), []Input{{Path: path}}, opts)
		if err != nil || len(res.Failed) > 0 {
			t.Fatal(err, res.Failed)
		}
		return res
	}
	whole = run()
	defer func(before int) { stretchFixes = before }(stretchFixes)
	stretchFixes = n
	return whole, run()
}

// demoSession is an NMEA log of several starts at 10 Hz with two gaps.
func demoSession(t *testing.T) []byte {
	t.Helper()
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	lines := bytes.SplitAfter(mustRead(t, filepath.Join(dir, logs[2].Name)), []byte("\n"))
	for _, share := range []float64{0.4, 0.8} {
		i := int(share * float64(len(lines)))
		lines = slices.Delete(lines, i, i+60)
	}
	return bytes.Join(lines, nil)
}

// A log that is analysed in stretches has the runs that it has whole, under the same names
// and at the same times.
func TestALongLogInStretches(t *testing.T) {
	whole, parts := inStretches(t, demoSession(t), 300, Options{All: true, NoTraces: true})
	if len(whole.Runs) < 5 || len(whole.Runs) != len(parts.Runs) {
		t.Fatalf("%d runs whole, %d in stretches", len(whole.Runs), len(parts.Runs))
	}
	for i, r := range parts.Runs {
		w := whole.Runs[i]
		apart := math.Hypot(1.96*math.Hypot(r.LaunchSD, w.LaunchSD), 0.01)
		if r.ID != w.ID || r.Kind != w.Kind || math.Abs(r.LogSeconds-w.LogSeconds) > apart || math.Abs(r.Launch.Sub(w.Launch).Seconds()) > apart {
			t.Errorf("%s at %.3f s (%v), whole %s at %.3f s (%v)", r.ID, r.LogSeconds, r.Launch, w.ID, w.LogSeconds, w.Launch)
		}
		a, ok := w.Time("0-30 mph", timing.FromRollout)
		if b, is := r.Time("0-30 mph", timing.FromRollout); is != ok || math.Abs(a.Seconds-b.Seconds) > a.U95 {
			t.Errorf("%s: %v ± %v, whole %v ± %v", r.ID, b.Seconds, b.U95, a.Seconds, a.U95)
		}
	}
	if last := parts.Runs[len(parts.Runs)-1]; last.stretch < 2 {
		t.Errorf("the last run is in stretch %d", last.stretch)
	}
	a, b := whole.Logs[0], parts.Logs[0]
	if a.Quality.Fixes != b.Quality.Fixes || a.Quality.Gaps != b.Quality.Gaps || math.Abs(a.Quality.GapSeconds-b.Quality.GapSeconds) > 0.01 ||
		a.Quality.LongestGap != b.Quality.LongestGap || !a.Start.Equal(b.Start) || !a.End.Equal(b.End) || a.Content != b.Content {
		t.Errorf("in stretches the log is\n%+v, whole\n%+v", b, a)
	}
	if a.Quality.Gaps < 2 {
		t.Errorf("%d gaps", a.Quality.Gaps)
	}
}

// A log whose time steps back after stretches of it were analysed is read whole.
func TestALongLogOutOfOrder(t *testing.T) {
	log := demoSession(t)
	lines := bytes.SplitAfter(log, []byte("\n"))
	log = slices.Concat(log, bytes.Join(lines[300:900], nil))
	whole, parts := inStretches(t, log, 700, Options{NoTraces: true})
	if a, b := summaryOf(whole), summaryOf(parts); a != b || len(whole.Runs) == 0 {
		t.Errorf("in stretches\n%s\nwhole\n%s", b, a)
	}
}

// summaryOf is every time of a result to the last bit, and what was told of its logs.
func summaryOf(res *Result) string {
	var b bytes.Buffer
	for _, l := range res.Logs {
		for _, g := range l.Problems.Groups() {
			fmt.Fprintln(&b, g.Kind, g.Effect, g.Count, g.First().Text)
		}
	}
	for _, r := range res.Runs {
		fmt.Fprintln(&b, r.ID, r.Launch, r.LaunchSD, r.LogSeconds, r.Flags)
		for _, x := range r.Times {
			fmt.Fprintln(&b, x.Name, x.From, x.Seconds, x.U95)
		}
	}
	return b.String()
}

// What of a long log's runs is shelved comes back bit for bit, and the runs have learned
// from each other as they do in memory.
func TestALongLogsRunsShelved(t *testing.T) {
	log := demoSession(t)
	_, held := inStretches(t, log, 300, Options{})
	_, shelved := inStretches(t, log, 300, Options{Shelve: true})
	_, lean := inStretches(t, log, 300, Options{NoTraces: true})
	if want := summaryOf(held); want != summaryOf(shelved) || want != summaryOf(lean) {
		t.Errorf("shelved\n%s\nlean\n%s\nheld\n%s", summaryOf(shelved), summaryOf(lean), want)
	}
	for i, r := range shelved.Runs {
		if r.Trace.Len() > 0 || r.Launches != nil {
			t.Errorf("%s holds its trace or its launches", r.ID)
		}
		got, err := r.Whole()
		if err != nil {
			t.Fatal(err)
		}
		want := held.Runs[i]
		if want.Trace.Len() == 0 || !slices.Equal(got.RawOut, want.RawOut) {
			t.Errorf("%s: %d points held, the samples set aside are %v, held %v", r.ID, want.Trace.Len(), got.RawOut, want.RawOut)
		}
		for k, col := range got.columns() {
			if !reflect.DeepEqual(*col, *want.columns()[k]) {
				t.Errorf("%s: column %d is another one", r.ID, k)
			}
		}
	}
	if err := shelved.Close(); err != nil {
		t.Error(err)
	}
	for name, res := range map[string]*Result{"held": held, "that gave its shelf up": lean} {
		if again := Merge(Options{}, res); summaryOf(again) != summaryOf(res) {
			t.Errorf("a result %s is another one in a merge:\n%s\nbefore\n%s", name, summaryOf(again), summaryOf(res))
		}
	}
	if _, err := shelved.Runs[0].Whole(); err == nil {
		t.Error("a closed result gives columns")
	}
}

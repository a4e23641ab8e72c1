package figure

import (
	"bytes"
	"errors"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// steady is a run at a constant acceleration of a m/s² for end seconds.
func steady(mode string, a, heading, end float64) *session.TimedRun {
	r := &session.TimedRun{ID: mode, Mode: mode, Kind: segment.StandingStart, Counted: true, HeadingDeg: heading}
	var tr motion.Trace
	for t := -0.5; t <= end; t += 0.01 {
		u := max(t, 0)
		tr.T, tr.S, tr.V, tr.A = append(tr.T, t), append(tr.S, a*u*u/2), append(tr.V, a*u), append(tr.A, a)
	}
	r.Trace = tr
	return r
}

// At constant acceleration a distance s is passed at √(2s/a): the time gained is
// the difference of two roots.
func TestTimeGainedIsTheDifferenceOfTimes(t *testing.T) {
	runs := []*session.TimedRun{steady("calm", 2.9, 90, 12), steady("calm", 3.1, 270, 12), steady("full", 4, 90, 12), steady("full", 4, 270, 9)}
	spoilt := steady("full", 40, 90, 12)
	spoilt.Counted = false
	o := Options{Units: "kmh", From: timing.FromRest} // distances in m
	modes := byMode(append(runs, spoilt), o)
	if len(modes) != 2 || len(modes[1].views) != 2 || modes[0].way[1] != 1 {
		t.Fatalf("modes %+v", modes)
	}
	ps := profiles(modes, func(w *view) ([]float64, []float64) { return w.s, w.t })
	for _, k := range []int{40, 150, 300} {
		s := ps[0].x[k]
		want := (math.Sqrt(2*s/2.9) + math.Sqrt(2*s/3.1)) / 2
		if math.Abs(ps[0].mean[k]-want) > 1e-3 {
			t.Errorf("at %.1f m: %.4f s, want %.4f", s, ps[0].mean[k], want)
		}
	}
	if end := ps[1].x[len(ps[1].x)-1]; end > 4*9*9/2+1 {
		t.Errorf("the mean goes on to %.0f m, past the end of its first run", end)
	}
	if _, err := TimeGained(runs[:2], o); !errors.Is(err, ErrNoMode) {
		t.Errorf("one mode: %v", err)
	}
}

func compareFigureSample() (*compare.Target, []*session.TimedRun) {
	var rs []compare.Run
	var traces []*session.TimedRun
	for i, s := range []float64{6.2, 5.8, 5.75, 6.3, 6.25, 5.9} {
		r := compare.Run{ID: "r", Mode: "calm", Heading: float64(90 + 180*(i%2)), Order: i + 1, Seconds: s, U: .02, Counted: i != 4}
		if s < 6 {
			r.Mode = "a mode with a very long name"
		}
		rs = append(rs, r)
		traces = append(traces, steady(r.Mode, 30/s, r.Heading, 12))
	}
	t, err := compare.At("0-60 mph", "rollout", rs, compare.Options{})
	if err != nil {
		panic(err)
	}
	return t, traces
}

func TestCompareFiguresInEveryForm(t *testing.T) {
	tg, runs := compareFigureSample()
	for name, f := range map[string]func() (*Figure, error){
		"dots":   func() (*Figure, error) { return ModeDots(tg, Options{}) },
		"traces": func() (*Figure, error) { return ModeTraces(runs, ByTime, Options{}) },
		"gained": func() (*Figure, error) { return TimeGained(runs, Options{Size: Narrow}) },
	} {
		fig, err := f()
		if err != nil {
			t.Fatal(err)
		}
		svg := fig.SVG()
		if !bytes.Contains(svg, []byte("<desc")) || bytes.Contains(svg, []byte("NaN")) || fig.Desc == "" {
			t.Errorf("%s: %.200s", name, svg)
		}
		if again, _ := f(); !bytes.Equal(svg, again.SVG()) {
			t.Errorf("%s: not the same twice", name)
		}
		for _, scale := range []float64{1, 2} {
			if b, err := fig.PNG(Dark(), scale); err != nil || len(b) < 1000 {
				t.Errorf("%s: png %d bytes, %v", name, len(b), err)
			}
		}
		if b, err := fig.PDF(); err != nil || !bytes.HasPrefix(b, []byte("%PDF")) {
			t.Errorf("%s: pdf %v", name, err)
		}
	}
	if _, err := ModeDots(&compare.Target{}, Options{}); !errors.Is(err, ErrNoMode) {
		t.Errorf("no mode: %v", err)
	}
}

// A trace that knows no distance is no curve over it.
func TestTracesWithoutDistance(t *testing.T) {
	runs := []*session.TimedRun{steady("a", 3, 90, 5), steady("b", 4, 90, 5)}
	for i := range runs[1].Trace.S {
		runs[1].Trace.S[i] = math.NaN()
	}
	if _, err := TimeGained(runs, Options{}); !errors.Is(err, ErrNoMode) {
		t.Errorf("time gained: %v", err)
	}
	if _, err := ModeTraces(runs, ByDistance, Options{}); !errors.Is(err, ErrNoMode) {
		t.Errorf("by distance: %v", err)
	}
	if _, err := ModeTraces(runs, ByTime, Options{}); err != nil {
		t.Errorf("by time: %v", err)
	}
}

// The axis holds every interval and every run, counted or not.
func TestModeDotsShowEverything(t *testing.T) {
	tg, _ := compareFigureSample()
	f, err := ModeDots(tg, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p := f.Plot(Light())
	for _, r := range tg.Runs {
		if r.Seconds <= p.X.Min || r.Seconds >= p.X.Max {
			t.Errorf("%g s lies outside %g to %g", r.Seconds, p.X.Min, p.X.Max)
		}
	}
	for _, m := range tg.Modes {
		if m.Mean-m.U95 <= p.X.Min || m.Mean+m.U95 >= p.X.Max {
			t.Errorf("the interval of %s lies outside", m.Name)
		}
	}
	if !strings.Contains(f.Desc, "calm 6.") || !strings.Contains(f.Desc, "from 2 counted") {
		t.Errorf("in words: %s", f.Desc)
	}
}

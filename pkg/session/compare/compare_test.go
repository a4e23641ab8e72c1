package compare

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/uncert"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

var final = Options{Plan: contrast.Plan{Final: true}}

// runsOf makes runs of times in turn, out and back: "A>3.55", "B<3.60".
func runsOf(u float64, specs ...string) []Run {
	var rs []Run
	for i, s := range specs {
		r := Run{ID: fmt.Sprintf("day#%d", i+1), Mode: s[:1], Order: i + 1, U: u, Cost: 1, Counted: true,
			Heading: map[byte]float64{'>': 64, '<': 244, '^': 154, '?': math.NaN()}[s[1]]}
		if _, err := fmt.Sscan(s[2:], &r.Seconds); err != nil {
			panic(err)
		}
		rs = append(rs, r)
	}
	return rs
}

// at compares at one place.
func at(t *testing.T, rs []Run, o Options) *Target {
	t.Helper()
	tg, err := At("0-60 mph", "rollout", rs, o)
	if err != nil {
		t.Fatal(err)
	}
	return tg
}

// Facts of common practice: times of 3.49, 3.55 and 3.20 s in three modes, one run
// each. Nothing is told apart, and it is said that so few cannot show their scatter.
func TestOneRunAMode(t *testing.T) {
	for _, u := range []float64{0.005, 0.025, 0.045} { // with rollout, from rest: what receivers give
		tg := at(t, runsOf(u, "A?3.49", "B?3.55", "C?3.20"), final)
		for i, want := range []string{"3.5", "3.6", "3.2"} {
			if got := uncert.RoundHalfUp(tg.Modes[i].Mean, 1); got != want || !(tg.Modes[i].U95 > 0) {
				t.Errorf("%s prints as %s, want %s", tg.Modes[i].Name, got, want)
			}
		}
		for _, p := range tg.Pairs {
			if p.Verdict != NotTold || !math.IsNaN(p.SE) || !strings.Contains(p.Sentence, "so few runs cannot show their scatter (commonly about 0.04 s)") {
				t.Errorf("u %g: %s (%+v)", u, p.Sentence, p)
			}
		}
	}
}

// clear are two modes half a second apart.
var clear = []string{"A>10.52", "B<11.03", "B>11.07", "A<10.55", "A>10.50", "B<11.06", "B>11.04", "A<10.53"}

// The sentences of a pair, by what is known of the session's end and what matters.
func TestSentences(t *testing.T) {
	wide := []string{"A>10.4", "B<10.7", "B>10.3", "A<10.9", "A>10.2", "B<10.6", "B>10.9", "A<10.5"}
	same := []string{"A>10.52", "B<10.53", "B>10.51", "A<10.50", "A>10.50", "B<10.52", "B>10.53", "A<10.54"}
	for _, c := range []struct {
		name    string
		specs   []string
		o       Options
		verdict Verdict
		state   State
		words   string
	}{
		{"told", clear, final, AQuicker, Decided, "A is 0.525 s (±0.0"},
		{"planned to the last run", clear, Options{Plan: contrast.Plan{Runs: 4}}, AQuicker, Decided, "A is 0.525 s"},
		{"early", clear[:4], Options{Plan: contrast.Plan{Runs: 4}}, NotTold, DriveOn, ""},
		{"without a plan, and clear", clear, Options{}, AQuicker, Decided, "A is 0.525 s"},
		{"without a plan", wide[2:], Options{}, NotTold, TooMany, "not enough runs"},
		{"less than matters", clear, Options{Smallest: 1, Plan: contrast.Plan{Final: true}}, AQuicker, Decided, "less than the 1 s that matter"},
		{"too wide", wide, final, NotTold, TooMany, "not enough runs to tell A and B apart: "},
		{"more would do", wide, Options{Smallest: .5, Plan: contrast.Plan{Final: true}}, NotTold, Ended, "more of each would show 0.5 s ("},
		{"equal", same, Options{Smallest: .1, Plan: contrast.Plan{Final: true}}, Equal, Decided, "A and B are equal within 0.1 s: "},
		{"never equal unasked", same, final, NotTold, Ended, "not enough runs to tell"},
	} {
		p := at(t, runsOf(.005, c.specs...), c.o).Pairs[0]
		if p.Verdict != c.verdict || p.State != c.state || !strings.Contains(p.Sentence, c.words) {
			t.Errorf("%s: %s, %s: %q", c.name, p.Verdict, p.State, p.Sentence)
		}
	}
	// The interval and a single test agree.
	p := at(t, runsOf(.005, clear...), Options{}).Pairs[0]
	if !p.Fixed || p.Hi >= 0 || p.P > Alpha || p.Lo+2*p.Half() != p.Hi {
		t.Errorf("%+v", p)
	}
}

// A difference that was decided stays decided while the runs go on saying so.
func TestDecidedEarly(t *testing.T) {
	specs := clear
	for i := range 4 {
		specs = append(specs, fmt.Sprintf("A>%.2f", 10.5+.01*float64(i)), fmt.Sprintf("B<%.2f", 11.05-.01*float64(i)), fmt.Sprintf("B>%.2f", 11.04+.01*float64(i%2)), fmt.Sprintf("A<%.2f", 10.52-.01*float64(i%2)))
	}
	early, late := 0, 0
	for n := 4; n <= len(specs); n += 4 {
		p := at(t, runsOf(.005, specs[:n]...), Options{}).Pairs[0]
		if p.Verdict == AQuicker {
			if early == 0 {
				early = n
			}
			late = n
			if p.DecidedAt != early {
				t.Errorf("after %d runs: decided at %d, first seen at %d", n, p.DecidedAt, early)
			}
		}
	}
	if early == 0 || early == len(specs) || late != len(specs) {
		t.Errorf("decided from run %d to %d of %d", early, late, len(specs))
	}
}

// A run among its like that is far off is named, with what its trace says and what the
// verdict would be without it.
func TestStandOut(t *testing.T) {
	rs := runsOf(.005, "A>7.52", "B<7.10", "B>7.16", "A<8.04", "A>7.50", "B<7.12", "B>7.15", "A<7.49", "A>7.55", "B<7.09", "B>7.13", "A<7.44")
	rs[3].Trace = "throttle lifted"
	tg := at(t, rs, final)
	if len(tg.StandOut) != 1 || tg.StandOut[0].ID != "day#4" {
		t.Fatalf("%+v", tg.StandOut)
	}
	o := tg.StandOut[0]
	if o.Off < .4 || !strings.Contains(o.Sentence, "day#4 stands out") || !strings.Contains(o.Sentence, "(throttle lifted)") ||
		!strings.Contains(o.Sentence, "without it A less B would be 0.37") || o.Without[0].Half() > tg.Pairs[0].Half()/2 {
		t.Errorf("%s; %+v", o.Sentence, o)
	}
	if calm := at(t, append(rs[:3:3], rs[4:]...), final); len(calm.StandOut) != 0 {
		t.Errorf("%+v", calm.StandOut)
	}
}

func TestDoubts(t *testing.T) {
	for _, c := range []struct {
		name    string
		specs   string
		verdict Verdict
		words   string // in the first pair's doubts or refusal, "" for none
	}{
		{"balanced", "A> B< B> A< A> B< B> A<", NotTold, ""},
		{"in blocks", "A> A< A> A< A> A< A> A< B> B< B> B< B> B< B> B<", Refused, "drive them in one order and then in the reverse"},
		{"each its own way", "A> B< A> B< A> B<", Refused, "each way"},
		{"three ways", "A> B< B^ A< A> B>", NotTold, "more than two directions"},
		{"one way", "A> B> B> A> A> B>", NotTold, "were driven one way only: the difference holds for that direction"},
		{"unknown", "A? B? B? A? A? B?", NotTold, "not known"},
	} {
		var specs []string
		for i, s := range strings.Fields(c.specs) {
			specs = append(specs, fmt.Sprintf("%s%.3f", s, 6+.05*math.Sin(float64(7*i))))
		}
		p := at(t, runsOf(.01, specs...), final).Pairs[0]
		got := p.Why + strings.Join(p.Confounded, "; ")
		if p.Verdict != c.verdict || (c.words == "") != (got == "") || !strings.Contains(got, c.words) {
			t.Errorf("%s: %s, %q, want %s and %q", c.name, p.Verdict, got, c.verdict, c.words)
		}
	}
}

// A stretch of driving that only one mode was driven in passes for the mode; one that
// both were driven in is taken out.
func TestStretches(t *testing.T) {
	specs := []string{}
	for i := range 12 {
		specs = append(specs, fmt.Sprintf("%c%c%.3f", "ABBA"[i%4], "><"[i%2], 6+.02*math.Sin(float64(5*i))))
	}
	rs := runsOf(.005, specs...)
	for i := range rs {
		if i >= 4 {
			rs[i].Block, rs[i].Seconds = 1, rs[i].Seconds+.5
		}
	}
	tg := at(t, rs, final)
	if !strings.Contains(tg.Model.String(), "session") || math.Abs(tg.Pairs[0].Difference) > .05 || tg.Model.Residual > .05 {
		t.Errorf("%s: difference %.3f, scatter %.3f", tg.Model, tg.Pairs[0].Difference, tg.Model.Residual)
	}
	for i := range rs {
		rs[i].Mode = []string{"A", "B"}[rs[i].Block]
	}
	if p := at(t, rs, final).Pairs[0]; p.Verdict != Refused || !strings.Contains(p.Why, "the day would pass") {
		t.Errorf("%s: %s", p.Verdict, p.Why)
	}
}

// Measurement noise shows in the scatter of the times and is not added again; what a
// mode's runs share is.
func TestMeasurementNoiseIsCountedOnce(t *testing.T) {
	rs := runsOf(.005, clear...)
	a := at(t, rs, final).Pairs[0]
	for i := range rs {
		rs[i].U = .01
	}
	b := at(t, rs, final).Pairs[0]
	near(t, "interval with more noise that shows", b.Half(), a.Half(), 1e-12)
	for i := range rs {
		rs[i].U = .5
	}
	if p := at(t, rs, final).Pairs[0]; p.SE < .5*math.Sqrt(2./4) {
		t.Errorf("standard error %.3f s of runs known to 0.5 s", p.SE)
	}
	for i := range rs {
		rs[i].U, rs[i].Shared = .005, .1
	}
	c := at(t, rs, final).Pairs[0]
	near(t, "standard error with a shared part", c.SE, math.Sqrt(a.SE*a.SE+2*.01), 1e-9)
}

// A past session's scatter narrows the interval, and is named.
func TestPastScatter(t *testing.T) {
	rs := runsOf(.005, clear[:4]...)
	without := at(t, rs, final).Pairs[0]
	o := final
	o.Past = func(string, string) *Scatter { return &Scatter{SD: .03, DF: 12, Same: true, From: "a past session"} }
	tg := at(t, rs, o)
	if p := tg.Pairs[0]; p.Half() > without.Half()/2 || p.Verdict != AQuicker || !strings.Contains(p.Sentence, "if runs scatter as in a past session") || !strings.Contains(tg.Model.ScatterFrom, "a past session") {
		t.Errorf("±%.2f after ±%.2f, %q from %s", p.Half(), without.Half(), p.Sentence, tg.Model.ScatterFrom)
	}
}

// A place that comes later claims only what those before do.
func TestPlacesAreGated(t *testing.T) {
	told := runsOf(.005, clear...)
	var vague []Run
	for i, r := range told {
		r.Seconds += []float64{1, -1, .4, -.6, .9}[i%5]
		vague = append(vague, r)
	}
	for _, c := range []struct {
		first []Run
		want  Verdict
	}{{told, AQuicker}, {vague, NotTold}} {
		out, err := Session([]Place{{"0-60 mph", "rollout", c.first}, {"0-60 mph", "rest", told}}, final)
		if err != nil {
			t.Fatal(err)
		}
		if p := out[1].Pairs[0]; p.Verdict != c.want || p.Sentence != "" || !p.Fixed {
			t.Errorf("after %s: %+v", out[0].Pairs[0].Verdict, p)
		}
	}
}

func TestNothingToCompare(t *testing.T) {
	rs := runsOf(.01, "A>3.4", "A>3.5")
	if tg := at(t, rs, final); len(tg.Pairs) != 0 || math.Abs(tg.Modes[0].Mean-3.45) > 1e-9 || !(tg.Modes[0].U95 > 0) {
		t.Errorf("one mode: %+v", tg)
	}
	for i := range rs {
		rs[i].Counted = false
	}
	if _, err := At("x", "rest", rs, final); !errors.Is(err, ErrNoRun) {
		t.Errorf("no counted run: %v", err)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), 0, -3} {
		rs := runsOf(.01, "A>3.4", "B>3.5")
		rs[1].Seconds = bad
		if _, err := At("x", "rest", rs, final); err == nil || errors.Is(err, ErrNoRun) {
			t.Errorf("time %g: %v", bad, err)
		}
	}
}

// Runs that do not count are listed and change nothing.
func TestExcludedRunsStay(t *testing.T) {
	rs := runsOf(.005, clear...)
	tg := at(t, rs, final)
	got := at(t, append([]Run{{ID: "bad", Mode: "A", Seconds: 99, Why: "wheelspin"}}, rs...), final)
	near(t, "difference", got.Pairs[0].Difference, tg.Pairs[0].Difference, 0)
	if len(got.Runs) != len(rs)+1 || got.Modes[0].Left != 1 {
		t.Errorf("%d runs, %d left out", len(got.Runs), got.Modes[0].Left)
	}
}

// What the directions cost is told by name.
func TestDirectionsAreNamed(t *testing.T) {
	var specs []string
	for i, s := range clear {
		var x float64
		if _, err := fmt.Sscan(s[2:], &x); err != nil {
			t.Fatal(err)
		}
		specs = append(specs, fmt.Sprintf("%s%.2f", s[:2], x+.8*float64(i%2)))
	}
	tg := at(t, runsOf(.005, specs...), final)
	if len(tg.Notes) == 0 || !strings.Contains(tg.Notes[0], "runs towards 064° were 0.8") || !strings.Contains(tg.Notes[0], "quicker than runs towards 244°") {
		t.Errorf("notes %q", tg.Notes)
	}
}

func BenchmarkSession(b *testing.B) {
	var places []Place
	for p := range 26 {
		var rs []Run
		for i := range 60 {
			rs = append(rs, Run{ID: fmt.Sprint(i), Mode: string(rune('A' + (i+i/5*2)%5)), Heading: float64(90 + 180*(i%2)), Order: i + 1, Cost: 1,
				Seconds: 6 + float64(p) + .1*math.Sin(float64(7*i+p)), U: .01, Counted: true})
		}
		places = append(places, Place{fmt.Sprint(p), "rest", rs})
	}
	for b.Loop() {
		if _, err := Session(places, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

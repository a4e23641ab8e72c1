package compare

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.12g, want %.12g ± %g", what, got, want, tol)
	}
}

// runsOf makes runs of one direction from times, order as listed.
func runsOf(u float64, modes ...any) []Run {
	var rs []Run
	for i := 0; i < len(modes); i += 2 {
		rs = append(rs, Run{ID: fmt.Sprint(i), Mode: modes[i].(string), Heading: math.NaN(), Order: i/2 + 1,
			Seconds: modes[i+1].(float64), U: u, Counted: true})
	}
	return rs
}

func (t *Target) pair(a, b string) *Pair {
	for i := range t.Pairs {
		if p := &t.Pairs[i]; p.A == a && p.B == b {
			return p
		}
	}
	return nil
}

// Facts of common practice: times of 3.49, 3.55 and 3.20 s in three modes, one
// run each. The first two cannot be told apart, the third is quicker by about
// 0.3 s, and the reason why one run limits it is said.
func TestOneRunAMode(t *testing.T) {
	for _, u := range []float64{0.005, 0.025, 0.045} { // with rollout, from rest: what receivers give
		tg, err := At("0-30 mph", "rest", runsOf(u, "first", 3.49, "second", 3.55, "third", 3.20), Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, want := range []string{"3.5", "3.6", "3.2"} {
			if got := uncert.RoundHalfUp(tg.Modes[i].Mean, 1); got != want {
				t.Errorf("%s prints as %s, want %s", tg.Modes[i].Name, got, want)
			}
		}
		if p := tg.pair("first", "second"); p.Verdict != NotTold || p.RunsNeeded < 1 || !strings.Contains(p.Sentence, "these runs cannot tell first and second apart") ||
			!strings.Contains(p.Sentence, "more each would resolve 0.05 s") {
			t.Errorf("u %g: %s (%+v)", u, p.Sentence, p)
		}
		p := tg.pair("first", "third")
		near(t, "first less third", p.Difference, 0.29, 1e-9)
		if p.Verdict != BQuicker || p.Half() < 0.1 || p.Half() > 0.29 || !strings.HasPrefix(p.Sentence, "third is quicker than first by 0.29 ± 0.") {
			t.Errorf("u %g: %s", u, p.Sentence)
		}
		if len(tg.Warnings) != 3 || !strings.Contains(tg.Warnings[0], "one run") || !strings.Contains(tg.Warnings[0], "common practice") ||
			!strings.HasPrefix(tg.Warnings[1], "Of every pair: the directions") || !strings.HasPrefix(tg.Warnings[2], "Of every pair: the modes were driven one after the other") {
			t.Errorf("warnings: %q", tg.Warnings)
		}
		if len(p.Confounded) != 2 {
			t.Errorf("one run a mode in order, directions unknown: confounded %q", p.Confounded)
		}
		if !math.IsNaN(tg.Modes[0].SD) || !math.IsNaN(p.WelchP) {
			t.Error("one run has no deviation and no Welch test")
		}
	}
}

// With its own scatter only, one run a mode can tell nothing.
func TestOneRunWithoutAllowance(t *testing.T) {
	tg, err := At("0-30 mph", "rest", runsOf(.01, "a", 3.49, "b", 1.20), Options{OwnScatter: true})
	if err != nil {
		t.Fatal(err)
	}
	if p := tg.Pairs[0]; p.Verdict != NotTold || !math.IsNaN(p.Lo) || !strings.Contains(p.Sentence, "cannot tell") {
		t.Errorf("%+v", p)
	}
}

// R 4.2.2 on PlantGrowth: the analysis of variance is the model without
// directions; trt1 and trt2 differ, p 0.0159 of the family and of the closed
// test, since the pair's own p is smaller.
func TestAgainstPlantGrowth(t *testing.T) {
	groups := map[string][]float64{
		"ctrl": {4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14},
		"trt1": {4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69},
		"trt2": {6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26},
	}
	var rs []Run
	for i := range 10 {
		for _, g := range []string{"ctrl", "trt1", "trt2"} {
			// All at one place in the order, so that no drift is fitted.
			rs = append(rs, Run{ID: fmt.Sprint(g, i), Mode: g, Heading: math.NaN(), Order: 1, Seconds: groups[g][i], Counted: true})
		}
	}
	tg, err := At("x", "rest", rs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "residual df", tg.Model.DF, 27, 0)
	p := tg.pair("trt1", "trt2")
	near(t, "difference", p.Difference, -.865, 1e-9)
	near(t, "closed p", p.PAdjusted, .01591, 5e-6)
	near(t, "own p", p.P, stats.TP(p.Difference/p.SE, 27), 1e-12)
	near(t, "se", p.SE, math.Sqrt(.3886*2/10), 1e-4)
	if p.Verdict != AQuicker || tg.pair("ctrl", "trt1").Verdict != NotTold || tg.pair("ctrl", "trt2").Verdict != NotTold {
		t.Errorf("verdicts: %+v", tg.Pairs)
	}
	if tg.Model.ScatterFrom != "these runs" {
		t.Errorf("27 degrees of freedom need no allowance: %s", tg.Model.ScatterFrom)
	}
}

// Without scatter the model gives back what was put in, however unbalanced the
// directions and the order are.
func TestModelTakesOutGradeAndDrift(t *testing.T) {
	var rs []Run
	for i, m := range strings.Split("A A B A B B A B B", " ") {
		r := Run{ID: fmt.Sprint(i), Mode: m, Heading: 80, Order: i + 1, Seconds: 6 + .01*float64(i+1), Counted: true}
		if i%3 == 0 {
			r.Heading, r.Seconds = 261, r.Seconds+.2
		}
		if m == "B" {
			r.Seconds -= .3
		}
		rs = append(rs, r)
	}
	tg, err := At("0-60 mph", "rollout", rs, Options{OwnScatter: true})
	if err != nil {
		t.Fatal(err)
	}
	p := tg.Pairs[0]
	near(t, "difference", p.Difference, .3, 1e-9)
	near(t, "direction", tg.Model.Direction, -.2, 1e-9) // second way less the first
	near(t, "drift", tg.Model.Drift, .01, 1e-9)
	if math.Abs(p.Raw-.3) < .02 {
		t.Errorf("the plain means differ by %.3f s: the case does not test the model", p.Raw)
	}
	if len(tg.Modes[0].Directions) != 2 || math.IsNaN(tg.Modes[0].TwoWay) {
		t.Errorf("directions: %+v", tg.Modes[0])
	}
	near(t, "heading", tg.Modes[0].Directions[0].Heading, 261, 1e-6)
}

// The interval excludes zero exactly when the verdict is a difference, for any
// number of modes, and the adjusted p says the same.
func TestIntervalAgreesWithVerdict(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	claims, wide := 0, 0
	for i := range 150 {
		k, n := 2+rng.IntN(5), 1+rng.IntN(4)
		if i%50 == 0 {
			k = maxClosed + 1 // Tukey and Kramer's test
		}
		var rs []Run
		for i := range k * n {
			m := i % k
			rs = append(rs, Run{ID: fmt.Sprint(i), Mode: fmt.Sprint("m", m), Heading: float64(90 + 180*(rng.IntN(2))), Order: i + 1,
				Seconds: 6 + .05*rng.NormFloat64() + .06*float64(m), U: .02, Shared: .01, Counted: true})
		}
		tg, err := At("x", "rest", rs, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range tg.Pairs {
			told := p.Verdict != NotTold
			if told != (p.Lo > 0 || p.Hi < 0) || told != (p.PAdjusted <= Alpha) || p.PAdjusted < p.P-1e-9 {
				t.Fatalf("%d modes of %d: %+v", k, n, p)
			}
			claims += b2i(told)
			wide += b2i(!told && p.P < Alpha)
		}
	}
	if claims == 0 || wide == 0 {
		t.Errorf("%d claims, %d widened intervals: the case does not test the rule", claims, wide)
	}
}

// Measurement noise shows in the scatter of the times and is not added again;
// what a mode's runs share is.
func TestMeasurementNoiseIsCountedOnce(t *testing.T) {
	rs := track.session(rand.New(rand.NewPCG(1, 1)), 5, 0)
	se := func(u, shared float64) float64 {
		for i := range rs {
			rs[i].U, rs[i].Shared = u, shared
		}
		tg, err := At("x", "rest", rs, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return tg.Pairs[0].SE
	}
	plain := se(0, 0)
	near(t, "with noise that the scatter holds", se(.02, 0), plain, 1e-12)
	near(t, "with a shared part", se(.02, .03), math.Sqrt(plain*plain+2*.03*.03), 1e-12)
	if got := se(1, 0); got < 1*math.Sqrt(2./5)-1e-9 {
		t.Errorf("scatter below the measurement noise: standard error %g", got)
	}
}

func TestScatterFromElsewhere(t *testing.T) {
	rs := track.session(rand.New(rand.NewPCG(1, 2)), 2, 0)
	for _, c := range []struct {
		past Scatter
		want string
	}{
		{Scatter{.06, 20, "last week"}, "these runs joined with last week"},
		{Scatter{.001, 20, "last week"}, "these runs"}, // these runs scatter far more
	} {
		tg, err := At("x", "rest", rs, Options{Past: &c.past})
		if err != nil {
			t.Fatal(err)
		}
		if tg.Model.ScatterFrom != c.want {
			t.Errorf("past %.3f: scatter from %q, want %q", c.past.SD, tg.Model.ScatterFrom, c.want)
		}
		if c.past.SD < .01 && (len(tg.Warnings) == 0 || !strings.Contains(tg.Warnings[0], "scatter")) {
			t.Errorf("warnings %q", tg.Warnings)
		}
	}
}

func TestConfounded(t *testing.T) {
	make := func(spec ...string) *Target { // "A>" is mode A, heading 90
		var rs []Run
		for i, s := range spec {
			h := map[byte]float64{'>': 90, '<': 270, '^': 0}[s[1]]
			rs = append(rs, Run{ID: s, Mode: s[:1], Heading: h, Order: i + 1, Seconds: 6 + .05*math.Sin(float64(7*i)), Counted: true})
		}
		tg, err := At("x", "rest", rs, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return tg
	}
	for _, c := range []struct {
		name  string
		spec  []string
		words string // in the first pair's flags, "" for none
	}{
		{"balanced", []string{"A>", "B<", "B>", "A<"}, ""},
		{"in order", []string{"A>", "A<", "B>", "B<"}, "no return to the first"},
		{"each its own way", []string{"A>", "B<", "A>", "B<"}, "different directions"},
		{"three ways", []string{"A>", "B<", "B^", "A<", "A>", "B>"}, "more than two directions"},
		{"one way", []string{"A>", "B>", "B>", "A>"}, "one way only: the difference holds for that direction"},
		{"one mode one way", []string{"A>", "B<", "B>", "A>", "B<"}, "A was driven one way only: its other direction is inferred"},
	} {
		got := strings.Join(make(c.spec...).Pairs[0].Confounded, "; ")
		if (c.words == "") != (got == "") || !strings.Contains(got, c.words) {
			t.Errorf("%s: flagged %q, want %q", c.name, got, c.words)
		}
	}
}

// A session that only one mode was driven in passes for the mode.
func TestSessions(t *testing.T) {
	var rs []Run
	for i := range 8 {
		r := Run{ID: fmt.Sprint(i), Mode: "A", Heading: float64(90 + 180*(i%2)), Order: i%4 + 1, Block: "mon", Seconds: 6 + .02*math.Sin(float64(5*i)), Counted: true}
		if i%4 == 1 || i%4 == 2 {
			r.Mode = "B"
		}
		if i >= 4 {
			r.Block, r.Seconds = "tue", r.Seconds+.5
		}
		rs = append(rs, r)
	}
	tg, err := At("x", "rest", rs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(tg.Model.String(), "session") || math.Abs(tg.Pairs[0].Difference) > .05 || tg.Model.Scatter > .1 {
		t.Errorf("%s: difference %.3f, scatter %.3f", tg.Model, tg.Pairs[0].Difference, tg.Model.Scatter)
	}
	for i := range rs {
		rs[i].Mode = map[string]string{"mon": "A", "tue": "B"}[rs[i].Block]
	}
	tg, err = At("x", "rest", rs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(tg.Pairs[0].Confounded, ";"); !strings.Contains(got, "the day may pass") {
		t.Errorf("flagged %q", got)
	}
}

func TestNothingToCompare(t *testing.T) {
	rs := runsOf(.01, "a", 3.4, "a", 3.5)
	if tg, err := At("x", "rest", rs, Options{}); err != nil || len(tg.Pairs) != 0 || math.Abs(tg.Modes[0].Mean-3.45) > 1e-9 || !(tg.Modes[0].U95 > 0) {
		t.Errorf("one mode: %+v %v", tg, err)
	}
	for i := range rs {
		rs[i].Counted = false
	}
	if _, err := At("x", "rest", rs, Options{}); !errors.Is(err, ErrNoRun) {
		t.Errorf("no counted run: %v", err)
	}
	for _, bad := range []float64{math.NaN(), math.Inf(1), 0, -3} {
		if _, err := At("x", "rest", runsOf(.01, "a", 3.4, "b", bad), Options{}); err == nil || errors.Is(err, ErrNoRun) {
			t.Errorf("time %g: %v", bad, err)
		}
	}
}

// Runs that do not count are listed and change nothing.
func TestExcludedRunsStay(t *testing.T) {
	rs := track.session(rand.New(rand.NewPCG(5, 5)), 3, .4)
	tg, err := At("x", "rest", rs, Options{})
	if err != nil {
		t.Fatal(err)
	}
	more := append([]Run{{ID: "bad", Mode: "A", Seconds: 99, Why: "wheelspin"}}, rs...)
	got, err := At("x", "rest", more, Options{})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "difference", got.Pairs[0].Difference, tg.Pairs[0].Difference, 0)
	if len(got.Runs) != len(rs)+1 || got.Modes[0].Left != 1 {
		t.Errorf("%d runs, %d left out", len(got.Runs), got.Modes[0].Left)
	}
}

func TestRunsFor(t *testing.T) {
	n, ok := RunsFor(.05, .06, 0, 3, .8)
	if !ok || PowerOf(.05, .06, 0, 3, n) < .8 || PowerOf(.05, .06, 0, 3, n-1) >= .8 {
		t.Errorf("%d runs: power %.3f", n, PowerOf(.05, .06, 0, 3, n))
	}
	if _, ok := RunsFor(.001, .06, 0, 3, .8); ok {
		t.Error("a thousandth of a second cannot be resolved")
	}
	if _, ok := RunsFor(.05, .01, .1, 2, .8); ok {
		t.Error("a shared uncertainty does not average out")
	}
	// Two modes: the power of Student's test with one degree of freedom each for
	// direction and drift.
	near(t, "two modes", PowerOf(.1, .06, 0, 2, 6), stats.PowerT(.1/(.06*math.Sqrt(2./6)), 8, Alpha), 1e-6)
}

// The power that a plan is made with is what simulated sessions give, the third
// mode lying between the other two.
func TestPowerOfIsReached(t *testing.T) {
	w := world{seconds: 6, scatter: .06, u: 0.0001, way: .1, drift: .003}
	const n, sessions = 8, 300
	rng := rand.New(rand.NewPCG(11, 12))
	found := 0
	for range sessions {
		rs := w.session(rng, n, .12)
		for i := range rs {
			if rs[i].Mode == "B" {
				rs[i].Seconds += .06
			}
		}
		tg, err := At("x", "rest", rs, Options{OwnScatter: true})
		if err != nil {
			t.Fatal(err)
		}
		found += b2i(tg.pair("A", "C").Verdict == AQuicker)
	}
	p := PowerOf(.12, w.scatter, 0, 3, n)
	near(t, "found", float64(found)/sessions, p, 3*math.Sqrt(p*(1-p)/sessions)+.02)
}

func BenchmarkAt(b *testing.B) {
	rs := track.session(rand.New(rand.NewPCG(1, 1)), 4, 0)
	for b.Loop() {
		if _, err := At("x", "rest", rs, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

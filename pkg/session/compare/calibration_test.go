package compare

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/stats"
)

var full = flag.Bool("calibration.full", false, "simulate 2,000 sessions a row and print the table")

// world is what simulated sessions have in common.
type world struct {
	seconds float64 // s, time of the first mode
	scatter float64 // s, run to run, without measurement
	u       float64 // s, measurement noise
	way     float64 // s, one direction less the other: grade and wind
	drift   float64 // s per run
}

var track = world{seconds: 6, scatter: 0.06, u: 0.02, way: 0.15, drift: 0.006}

// session simulates three modes driven A B C C B A A B C …, turning round after
// each run; extra is added to the last mode.
func (w world) session(rng *rand.Rand, n int, extra float64) []Run {
	var runs []Run
	for pass := range n {
		for i := range 3 {
			m := i
			if pass%2 == 1 {
				m = 2 - i
			}
			order := len(runs) + 1
			heading := 90.0
			s := w.seconds + w.drift*float64(order)
			if order%2 == 0 {
				heading = 270
				s += w.way
			}
			if m == 2 {
				s += extra
			}
			s += rng.NormFloat64()*w.scatter + rng.NormFloat64()*w.u
			runs = append(runs, Run{ID: fmt.Sprint(order), Mode: string(rune('A' + m)), Heading: heading, Order: order,
				Seconds: s, U: w.u, Counted: true})
		}
	}
	return runs
}

// tally is what a row of simulated sessions gave.
type tally struct {
	claims, found, wrong, held, intervals int
	n                                     int
}

// simulate runs sessions; the last mode is slower by extra standard errors of
// the difference of two modes.
func (w world) simulate(sessions, n int, ses float64, opts Options, seed uint64) tally {
	rng := rand.New(rand.NewPCG(seed, 7))
	se := math.Sqrt((w.scatter*w.scatter + w.u*w.u) * 2 / float64(n))
	extra := ses * se
	var c tally
	for range sessions {
		t, err := At("0-60 mph", "rollout", w.session(rng, n, extra), opts)
		if err != nil {
			panic(err)
		}
		any, found := false, false
		for _, p := range t.Pairs {
			truth := 0.0
			if p.B == "C" {
				truth = -extra
			}
			c.intervals++
			if p.Lo <= truth && truth <= p.Hi {
				c.held++
			}
			if p.Verdict == NotTold {
				continue
			}
			any = true
			if truth < 0 && p.Verdict == AQuicker {
				found = true
			} else {
				c.wrong++
			}
		}
		c.n++
		c.claims += b2i(any)
		c.found += b2i(found)
	}
	return c
}

func (c tally) share(k int) float64 { return 100 * float64(k) / float64(c.n) }

// row is one line of the calibration's table.
type row struct {
	name       string
	w          world
	own, past  bool
	mayFail    bool // the allowance is wrong: shown, not promised
	findsThree bool // 80 in 100 at three standard errors
}

func (w world) scaled(k float64) world { w.scatter *= k; return w }

// TestCalibration holds the verdict to its promise: sessions of equal modes lead
// to a claim at most 5 times in 100, and a true difference is found as often as
// any test can find it that knows as little of the scatter. With
// -calibration.full it prints the table for 2,000 sessions a row.
//
// With two or three runs a mode no test that must learn the scatter from the
// runs can find three standard errors 80 times in 100: "bound" is the power of
// the F test, the best there is for modes that may differ in any way. What a past
// session knows of the scatter makes the difference.
func TestCalibration(t *testing.T) {
	sessions := 250
	if *full {
		sessions = 2000
	}
	rows := []row{
		{name: "scatter from a past session", w: track, past: true, findsThree: true},
		{name: "as without one", w: track},
		{name: "own scatter only", w: track, own: true},
		{name: "scatter 1.5 % of the time", w: track.scaled(1.5), mayFail: true},
		{name: "scatter 2 % of the time", w: track.scaled(2), mayFail: true},
		{name: "scatter 0.5 % of the time", w: track.scaled(.5), mayFail: true},
	}
	t.Logf("three modes, %d sessions a row, grade and wind %.2f s, drift %.3f s a run, scatter %.2f s and noise %.2f s on %.0f s",
		sessions, track.way, track.drift, track.scatter, track.u, track.seconds)
	t.Logf("%-28s %4s %7s %9s %9s %9s %9s", "", "runs", "false", "found 3se", "found 4se", "bound 3se", "intervals hold")
	for i, r := range rows {
		if !*full && r.mayFail {
			continue
		}
		for _, n := range []int{2, 3, 5} {
			r.check(t, sessions, n, uint64(100*i+n))
		}
	}
}

// check simulates a row for n runs a mode, prints it and holds it to its promise.
func (r *row) check(t *testing.T, sessions, n int, seed uint64) {
	t.Helper()
	opts := Options{OwnScatter: r.own}
	if r.past {
		opts.Past = &Scatter{SD: math.Hypot(r.w.scatter, r.w.u), DF: 24, From: "a past session"}
	}
	a := r.w.simulate(sessions, n, 0, opts, seed)
	b := r.w.simulate(sessions, n, 3, opts, seed+10)
	c := r.w.simulate(sessions, n, 4, opts, seed+20)
	df := float64(max(3*n-5, 2)) // a drift is not fitted to six runs
	bound := 100 * stats.NoncentralFSurvival(stats.FQuantile(Alpha, 2, df), 2, df, 12)
	held := 100 * float64(b.held) / float64(b.intervals)
	t.Logf("%-28s %4d %6.1f%% %8.1f%% %8.1f%% %8.1f%% %8.1f%%", r.name, n, a.share(a.claims), b.share(b.found), c.share(c.found), bound, held)
	if r.mayFail {
		return
	}
	// Chance alone moves a share by its standard error.
	se := func(p float64) float64 { return 100 * math.Sqrt(p*(1-p)/float64(sessions)) }
	if got := a.share(a.claims); got > 5+2.5*se(.05) {
		t.Errorf("%s, %d runs: %.1f %% of sessions of equal modes claim a difference", r.name, n, got)
	}
	want := bound - 4 // the model spends nothing that the bound does not
	if r.findsThree {
		want = 80
	}
	if got := b.share(b.found); got < want-2.5*se(.8) {
		t.Errorf("%s, %d runs: %.1f %% of differences of three standard errors found, want %.1f %%", r.name, n, got, want)
	}
	if held < 95-2.5*se(.05) {
		t.Errorf("%s, %d runs: %.1f %% of intervals hold the truth", r.name, n, held)
	}
}

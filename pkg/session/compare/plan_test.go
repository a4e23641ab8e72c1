package compare

import (
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
)

// Every feasible plan: each mode equally often in each direction, the mean
// places within one of each other, every mode in every pass.
func TestPlanIsBalanced(t *testing.T) {
	names := strings.Split("A B C D E F G H", " ")
	for k := 2; k <= 8; k++ {
		for n := 1; n <= 9; n++ {
			for _, ways := range []int{1, 2} {
				p, err := NewPlan(PlanOptions{Modes: names[:k], Runs: n, Ways: ways, Seed: uint64(k*n + ways)})
				var no *InfeasibleError
				if errors.As(err, &no) {
					if ways == 2 && n%2 == 0 || n >= 2 && ways == 1 {
						t.Errorf("%d modes, %d runs, %d ways: %v", k, n, ways, err)
					}
					continue
				}
				if err != nil {
					t.Fatal(err)
				}
				checkBalance(t, p, k, n, ways)
			}
		}
	}
}

func checkBalance(t *testing.T, p *Plan, k, n, ways int) {
	t.Helper()
	if len(p.Runs) != k*n {
		t.Fatalf("%d modes, %d runs: %d in the list", k, n, len(p.Runs))
	}
	sum, count, way := map[string]float64{}, map[string]int{}, map[string]int{}
	for i, r := range p.Runs {
		if r.Order != i+1 || r.Way < 1 || r.Way > ways || (ways == 2 && r.Way != i%2+1) {
			t.Fatalf("run %d: %+v", i, r)
		}
		sum[r.Mode] += float64(r.Order) / float64(n)
		count[r.Mode]++
		way[r.Mode] += 2*r.Way - 3
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for m, s := range sum {
		lo, hi = min(lo, s), max(hi, s)
		if count[m] != n || (ways == 2 && way[m] != 0) {
			t.Errorf("%d modes, %d runs, %d ways: %s has %d runs, directions off by %d", k, n, ways, m, count[m], way[m])
		}
	}
	if hi-lo > 1+1e-9 {
		t.Errorf("%d modes, %d runs, %d ways: mean places %.2f to %.2f", k, n, ways, lo, hi)
	}
}

func TestPlanRefusals(t *testing.T) {
	ab := []string{"a", "b", "c"}
	for _, c := range []struct {
		o    PlanOptions
		want string
	}{
		{PlanOptions{Modes: ab, Runs: 3}, "3 runs of each of 3 modes cannot be balanced over two directions: the number must be even; the nearest that can are 2 and 4"},
		{PlanOptions{Modes: ab, Runs: 1}, "1 run of each of 3 modes cannot be balanced over two directions: the number must be even; the nearest that can is 2"},
		{PlanOptions{Modes: ab, Runs: 1, Ways: 1}, "1 run of each of 3 modes cannot be balanced over early and late places; the nearest that can is 2"},
		{PlanOptions{Modes: []string{"a"}, Runs: 2}, "a plan compares two modes or more, not 1"},
		{PlanOptions{Modes: []string{"a", "a"}, Runs: 2}, `mode "a" is named twice`},
		{PlanOptions{Modes: ab}, "neither a number of runs nor a scatter to work it out from"},
		{PlanOptions{Modes: ab, Runs: 2, Smallest: -1}, "smallest difference -1 s: want a positive number"},
		{PlanOptions{Modes: ab, Scatter: 1, Smallest: .001}, "no practical number of runs finds 0.001 s when runs scatter by 1 s; the smallest difference must be larger"},
	} {
		if _, err := NewPlan(c.o); err == nil || err.Error() != c.want {
			t.Errorf("%+v:\n got %v\nwant %s", c.o, err, c.want)
		}
	}
}

func TestPlanFindsItsNumber(t *testing.T) {
	p, err := NewPlan(PlanOptions{Modes: []string{"a", "b", "c"}, Scatter: .06, Smallest: .1})
	if err != nil {
		t.Fatal(err)
	}
	if p.PerMode%2 != 0 || p.PerMode < p.Needed || p.PerMode > p.Needed+1 || p.Power < .8 || p.Detectable > .1+1e-9 {
		t.Errorf("%d runs, needed %d, power %.2f, detectable %.3f", p.PerMode, p.Needed, p.Power, p.Detectable)
	}
	near(t, "power at the detectable difference", PowerOf(p.Detectable, .06, 0, 3, p.PerMode), .8, 1e-6)
}

// A planned session of equal modes with grade, wind and drift leads to claims no
// more often than promised, and the planned difference is found.
func TestPlannedSession(t *testing.T) {
	p, err := NewPlan(PlanOptions{Modes: []string{"a", "b", "c", "d"}, Scatter: .05, Smallest: .1})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(21, 22))
	const sessions = 200
	claims, found := 0, 0
	for _, effect := range []float64{0, .1} {
		for range sessions {
			var rs []Run
			for _, r := range p.Runs {
				s := 6 + .15*float64(r.Way) + .004*float64(r.Order) + .05*rng.NormFloat64()
				switch r.Mode {
				case "b":
					s += effect
				case "c", "d":
					s += effect / 2
				}
				rs = append(rs, Run{ID: r.Mode, Mode: r.Mode, Heading: float64(180 * r.Way), Order: r.Order, Seconds: s, Counted: true})
			}
			tg, err := At("x", "rest", rs, Options{OwnScatter: true})
			if err != nil {
				t.Fatal(err)
			}
			any := false
			for _, q := range tg.Pairs {
				any = any || q.Verdict != NotTold
			}
			if effect == 0 {
				claims += b2i(any)
			} else {
				found += b2i(tg.pair("a", "b").Verdict == AQuicker)
			}
		}
	}
	if claims > 20 { // 5 in 100, and three standard errors
		t.Errorf("%d of %d sessions of equal modes claim a difference", claims, sessions)
	}
	if float64(found)/sessions < p.Power-.1 {
		t.Errorf("found %d of %d, planned power %.2f", found, sessions, p.Power)
	}
}

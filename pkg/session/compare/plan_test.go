package compare

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/session/compare/contrast"
)

// Every feasible plan: each mode equally often in each direction, the mean
// places within one of each other, every mode in every pass.
func TestPlanIsBalanced(t *testing.T) {
	names := strings.Split("A B C D E F G H", " ")
	for k := 2; k <= 8; k++ {
		for n := 1; n <= 9; n++ {
			for _, ways := range []int{1, 2} {
				p := &Plan{Options: PlanOptions{Modes: names[:k], Ways: ways, Seed: uint64(k*n + ways)}}
				if !feasible(n, k, ways) {
					if ways == 2 && n%2 == 0 || n >= 2 && ways == 1 {
						t.Errorf("%d modes, %d runs, %d ways are not feasible", k, n, ways)
					}
					continue
				}
				p.Runs = p.list(n)
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
	// Of four modes or more neighbours may swap on the way back, which sets them apart by
	// what the drift term takes out.
	if most := map[bool]float64{true: float64(k), false: 1}[k >= swapFrom]; hi-lo > most+1e-9 {
		t.Errorf("%d modes, %d runs, %d ways: mean places %.2f to %.2f", k, n, ways, lo, hi)
	}
}

// The order that a plan proposes is one that the comparison accepts for every pair.
func TestPlannedOrderIsAccepted(t *testing.T) {
	names := strings.Split("A B C D E F", " ")
	for k := 2; k <= 6; k++ {
		for _, n := range []int{2, 4, 6} {
			p := &Plan{Options: PlanOptions{Modes: names[:k], Ways: 2}}
			if s := contrast.NewDesign(p.layout(p.list(n)), 0).Strain(); math.IsInf(s, 1) || n > 2 && s > 1 {
				t.Errorf("%d modes, %d runs: the order strains a pair by %.2f", k, n, s)
			}
		}
	}
}

func TestPlanRefusals(t *testing.T) {
	ab := []string{"a", "b", "c"}
	wide := &Scatter{SD: 1, From: "a test"}
	for _, c := range []struct {
		o    PlanOptions
		want string
	}{
		{PlanOptions{Modes: ab, Runs: 3}, "3 runs of each of 3 modes cannot be balanced over two directions: the number must be even; the nearest that can are 2 and 4"},
		{PlanOptions{Modes: ab, Runs: 1}, "1 run of each of 3 modes cannot be balanced over two directions: the number must be even; the nearest that can is 2"},
		{PlanOptions{Modes: ab, Runs: 1, Ways: 1}, "1 run of each of 3 modes cannot be balanced over early and late places; the nearest that can is 2"},
		{PlanOptions{Modes: []string{"a"}, Runs: 2}, "a plan compares two modes or more, not 1"},
		{PlanOptions{Modes: []string{"a", "a"}, Runs: 2}, `mode "a" is named twice`},
		{PlanOptions{Modes: ab, Runs: 2, Smallest: -1}, "smallest difference -1 s: want a positive number"},
		{PlanOptions{Modes: ab, Scatter: wide, Smallest: .001}, "no practical number of runs finds 0.001 s when runs scatter by 1 s; the smallest difference must be larger"},
	} {
		if _, err := NewPlan(c.o, nil); err == nil || err.Error() != c.want {
			t.Errorf("%+v:\n got %v\nwant %s", c.o, err, c.want)
		}
	}
}

// A plan for a smallest difference takes the runs that find it and not many more; one
// for none takes the usual number; neither has a number that is none.
func TestPlanFindsItsNumber(t *testing.T) {
	p, err := NewPlan(PlanOptions{Modes: []string{"a", "b", "c"}, Scatter: &Scatter{SD: .06, From: "a test"}, Smallest: .12}, nil)
	if err != nil {
		t.Fatal(err)
	}
	before := p.Rows[slices.IndexFunc(p.Rows, func(r PlanRow) bool { return r.Runs == p.PerMode })-1]
	if p.PerMode != p.Needed || p.Power < .8 || before.Power >= .8 || p.Detectable > .12 || !(p.Equal >= 0 && p.Equal <= 1) {
		t.Errorf("%d runs, needed %d: %+v after %+v", p.PerMode, p.Needed, p.PlanRow, before)
	}
	p, err = NewPlan(PlanOptions{Modes: []string{"calm", "plain", "full"}}, nil)
	if err != nil || p.PerMode != DefaultRuns || math.IsNaN(p.Detectable) || math.IsNaN(p.Power) || !strings.Contains(p.Options.Scatter.From, "common practice") {
		t.Errorf("%v: %+v", err, p)
	}
	if p, err = NewPlan(PlanOptions{Modes: []string{"a", "b"}, Runs: 1, Ways: 1}, nil); err != nil || !math.IsInf(p.Detectable, 1) {
		t.Errorf("a run of each, %v: finds %g s", err, p.Detectable)
	}
	var no *InfeasibleError
	if _, err := NewPlan(PlanOptions{Modes: []string{"a", "b"}, Runs: 3}, nil); !errors.As(err, &no) {
		t.Errorf("three runs, two ways: %v", err)
	}
}

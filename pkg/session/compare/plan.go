package compare

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"fromrest/pkg/session/compare/contrast"
)

// PlanOptions says what a session is planned for.
type PlanOptions struct {
	Version string // of the program, for whoever prints the plan
	Modes   []string
	// Runs is the number of runs in each mode. 0 takes the number that finds
	// Smallest with Power where Smallest is stated, made feasible, and DefaultRuns
	// where it is not.
	Runs int
	// Ways is 2 where the runs alternate in direction, turning round after each,
	// and 1 where all go one way. The default is 2.
	Ways     int
	Smallest float64 // s, smallest difference that matters, 0 for none stated
	Power    float64 // default 0.8
	// Scatter is the standard deviation of repeated times, known from past sessions
	// or assumed; nil takes the allowance for a time of Seconds.
	Scatter *Scatter
	// Past says that Scatter is of past sessions and will be used in the comparison.
	Past    bool
	Seconds float64 // s, about what the target takes, default DefaultSeconds
	Target  string  // that decides, "" for the usual one
	From    string  // origin that decides, "" for the usual one
	Seed    uint64  // of the shuffle of modes
}

// PlannedRun is one line of a run list.
type PlannedRun struct {
	Order int // from 1
	Mode  string
	Way   int // 1 or 2
}

// PlanRow is what a number of runs finds.
type PlanRow struct {
	Runs       int     // of each mode
	Detectable float64 // s, difference found with the wanted power, infinite where none is
	Power      float64 // for the smallest difference of interest
	Equal      float64 // chance to find equal modes equal within it, NaN where none is stated
}

// Plan is a counterbalanced run list and what it can find, by sessions simulated
// along it and judged as a comparison judges them, looks included.
type Plan struct {
	Options PlanOptions // with defaults filled in
	Runs    []PlannedRun
	PerMode int
	Chosen  bool // PerMode was asked for
	PlanRow      // of PerMode
	// Rows are other numbers of runs, rising, PerMode among them.
	Rows []PlanRow
	// Needed is the number of runs in each mode that reaches the wanted power; -1
	// where no practical number would.
	Needed int
}

// InfeasibleError is a number of runs that cannot be counterbalanced.
type InfeasibleError struct {
	Runs, Modes, Ways int
	Below, Above      int // nearest feasible numbers; Below is 0 where there is none
}

// Error says why and what would do.
func (e *InfeasibleError) Error() string {
	runs := "runs"
	if e.Runs == 1 {
		runs = "run"
	}
	s := fmt.Sprintf("%d %s of each of %d modes cannot be balanced", e.Runs, runs, e.Modes)
	if e.Ways == 2 {
		s += " over two directions: the number must be even"
	} else {
		s += " over early and late places"
	}
	if e.Below > 0 {
		return s + fmt.Sprintf("; the nearest that can are %d and %d", e.Below, e.Above)
	}
	return s + fmt.Sprintf("; the nearest that can is %d", e.Above)
}

// Ticker is told of each number of runs that is simulated.
type Ticker func(done, all int)

// NewPlan makes a run list in which each mode is driven equally often in each
// direction, and early and late, and says what it can find. tick may be nil.
func NewPlan(o PlanOptions, tick Ticker) (*Plan, error) {
	o.Ways = cmp.Or(o.Ways, 2)
	o.Power, o.Seconds = cmp.Or(o.Power, DefaultPower), cmp.Or(o.Seconds, DefaultSeconds)
	if o.Scatter == nil {
		o.Scatter = &Scatter{SD: Allowance(o.Seconds), From: fmt.Sprintf("common practice for a time of about %s s", trim(o.Seconds))}
	}
	if err := o.check(); err != nil {
		return nil, err
	}
	p := &Plan{Options: o, PerMode: o.Runs, Chosen: o.Runs > 0}
	if p.Chosen && !feasible(o.Runs, len(o.Modes), o.Ways) {
		return nil, infeasible(o.Runs, len(o.Modes), o.Ways)
	}
	p.rows(tick)
	if p.PerMode == 0 {
		switch {
		case o.Smallest == 0:
			p.PerMode = DefaultRuns
		case p.Needed < 0:
			return nil, fmt.Errorf("no practical number of runs finds %s s when runs scatter by %s s; the smallest difference must be larger", trim(o.Smallest), trim(o.Scatter.SD))
		default:
			p.PerMode = p.Needed
		}
	}
	p.PlanRow = p.Rows[slices.IndexFunc(p.Rows, func(r PlanRow) bool { return r.Runs == p.PerMode })]
	p.Runs = p.list(p.PerMode)
	return p, nil
}

func infeasible(n, k, ways int) error {
	e := &InfeasibleError{Runs: n, Modes: k, Ways: ways, Below: n - 1, Above: n + 1}
	for e.Below > 0 && !feasible(e.Below, k, ways) {
		e.Below--
	}
	for !feasible(e.Above, k, ways) {
		e.Above++
	}
	return e
}

// rows simulates the numbers of runs worth knowing: the usual ones, the one asked
// for, and upwards until the smallest difference is found often enough.
func (p *Plan) rows(tick Ticker) {
	o := &p.Options
	var ns []int
	for _, n := range planRuns {
		if feasible(n, len(o.Modes), o.Ways) {
			ns = append(ns, n)
		}
	}
	if p.Chosen && !slices.Contains(ns, p.PerMode) {
		ns = append(ns, p.PerMode)
		slices.Sort(ns)
	}
	p.Needed = -1
	for i := 0; i < len(ns); i++ {
		if tick != nil {
			tick(i, len(ns))
		}
		row := p.row(ns[i])
		p.Rows = append(p.Rows, row)
		if p.Needed < 0 && row.Power >= o.Power {
			p.Needed = row.Runs
		}
		// Needed lies between two of the usual numbers at most, and is found by steps.
		if last := i == len(ns)-1; last && p.Needed < 0 && ns[i] < mostNeeded && o.Smallest > 0 && row.Detectable < hopeless*o.Smallest {
			ns = append(ns, ns[i]+max(2, ns[i]/4/2*2))
		}
	}
}

// row simulates a number of runs.
func (p *Plan) row(n int) PlanRow {
	o := &p.Options
	l := p.layout(p.list(n))
	var past *contrast.Past
	if o.Past {
		past = &contrast.Past{SD: o.Scatter.SD, DF: o.Scatter.DF, Same: o.Scatter.Same}
	}
	sd := slices.Repeat([]float64{o.Scatter.SD}, len(o.Modes))
	sim := contrast.NewCourse(l, past, contrast.Plan{Runs: n}).Simulate(sd, past, contrast.PlanSessions, o.Seed)
	row := PlanRow{Runs: n, Detectable: sim.Worst(o.Power), Power: 1, Equal: math.NaN()}
	for i := range sim.Pairs() {
		row.Power = min(row.Power, sim.Found(i, cmp.Or(o.Smallest, DefaultSmallest)))
	}
	if o.Smallest > 0 {
		row.Equal = sim.Alike(o.Smallest)
	}
	return row
}

// layout is that of a run list.
func (p *Plan) layout(runs []PlannedRun) *contrast.Layout {
	k := len(p.Options.Modes)
	l := &contrast.Layout{Modes: k, Cost: slices.Repeat([]float64{1}, k)}
	for _, r := range runs {
		l.Mode = append(l.Mode, slices.Index(p.Options.Modes, r.Mode))
		l.Way = append(l.Way, float64(r.Way-1)-float64(1)/2)
	}
	return l
}

func (o *PlanOptions) check() error {
	k := len(o.Modes)
	switch {
	case k < 2:
		return fmt.Errorf("a plan compares two modes or more, not %d", k)
	case k > mostModes:
		return fmt.Errorf("%d modes: a plan takes at most %d", k, mostModes)
	case o.Ways != 1 && o.Ways != 2:
		return fmt.Errorf("%d directions: want 1 or 2", o.Ways)
	case o.Runs < 0 || o.Runs > mostRuns:
		return fmt.Errorf("%d runs of each mode: want 1 to %d", o.Runs, mostRuns)
	case o.Smallest < 0 || math.IsNaN(o.Smallest) || math.IsInf(o.Smallest, 0):
		return fmt.Errorf("smallest difference %g s: want a positive number", o.Smallest)
	case !(o.Power > leastPower && o.Power < 1):
		return fmt.Errorf("power %g: want more than %g and less than 1", o.Power, leastPower)
	case !(o.Seconds > 0) || math.IsInf(o.Seconds, 0):
		return fmt.Errorf("time %g s: want a positive number", o.Seconds)
	case !(o.Scatter.SD > 0) || math.IsInf(o.Scatter.SD, 0):
		return fmt.Errorf("scatter %g s: want a positive number", o.Scatter.SD)
	}
	for i, m := range o.Modes {
		if m == "" {
			return fmt.Errorf("a mode has no name")
		}
		if slices.Contains(o.Modes[:i], m) {
			return fmt.Errorf("mode %q is named twice", m)
		}
	}
	return nil
}

// feasible reports whether n runs of k modes can be balanced. Two directions
// need each mode in both equally often. One direction needs mean places within
// one of each other: passes there and back again cancel, and three passes can be
// set against each other; a single pass only spreads two modes by one place.
func feasible(n, k, ways int) bool {
	if n%2 == 0 {
		return n > 0
	}
	return ways == 1 && (n >= 3 || n == 1 && k == 2)
}

// list lays n runs of each mode out, in the first of some random orders that withstands
// correlated scatter, else in the one that does best.
func (p *Plan) list(n int) []PlannedRun {
	rng := rand.New(rand.NewPCG(p.Options.Seed, shuffles))
	var best []PlannedRun
	least := math.Inf(1)
	for range orders {
		runs := p.order(rng, n)
		if strain := contrast.NewDesign(p.layout(runs), 0).Strain(); best == nil || strain < least {
			best, least = runs, strain
		}
		if least == 1 {
			break
		}
	}
	return best
}

// order is one random order. Two passes, there and back, drive every mode at places
// that add up to the same; when runs alternate in direction the same two are driven
// in opposite ones, since the places add up to an odd number. Of four modes or more
// the way back may swap neighbours, which keeps the directions opposite and no mode
// waiting for the turn.
func (p *Plan) order(rng *rand.Rand, left int) []PlannedRun {
	k := len(p.Options.Modes)
	var seq []int
	switch {
	case left == 1:
		seq, left = rng.Perm(k), 0
	case left%2 == 1:
		passes := threePasses(k)
		seq, left = slices.Concat(passes[:]...), left-3
	}
	for ; left > 0; left -= 2 {
		pass := rng.Perm(k)
		seq = append(seq, pass...)
		if k >= swapFrom && rng.IntN(2) == 0 && k%2 == 0 {
			for i := 0; i+1 < k; i += 2 {
				pass[i], pass[i+1] = pass[i+1], pass[i]
			}
		} else {
			slices.Reverse(pass)
		}
		seq = append(seq, pass...)
	}
	var out []PlannedRun
	for i, m := range seq {
		out = append(out, PlannedRun{Order: i + 1, Mode: p.Options.Modes[m], Way: 1 + i%p.Options.Ways})
	}
	return out
}

// threePasses orders k modes three times so that the sums of their places are
// equal for odd k (a Kotzig array) and differ by at most one for even k.
func threePasses(k int) [3][]int {
	at := [3][]int{make([]int, k), make([]int, k), make([]int, k)} // place of each mode
	h := k / 2
	for j := range k {
		at[0][j] = j
		switch {
		case k%2 == 1 && j%2 == 0: // k = 2h+1
			at[1][j], at[2][j] = h-j/2, 2*h-j/2
		case k%2 == 1:
			at[1][j], at[2][j] = 2*h-j/2, h-1-j/2
		case j < h: // k = 2h: sums 3h-2 and 3h-1, in turn
			at[1][j], at[2][j] = h+j, 2*h-1-2*j
		default:
			at[1][j], at[2][j] = j-h, 2*(k-1-j)
		}
	}
	var out [3][]int
	for r := range out {
		out[r] = make([]int, k)
		for m, place := range at[r] {
			out[r][place] = m
		}
	}
	return out
}

package compare

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
)

// PlanOptions says what a session is planned for.
type PlanOptions struct {
	Version string // of the program, for whoever prints the plan
	Modes   []string
	// Runs is the number of runs in each mode. 0 takes the number that finds
	// Smallest with Power when the scatter is Scatter, made feasible.
	Runs int
	// Ways is 2 where the runs alternate in direction, turning round after each,
	// and 1 where all go one way. The default is 2.
	Ways     int
	Smallest float64 // s, smallest difference worth knowing, default 0.05
	Power    float64 // default 0.8
	// Scatter is the standard deviation of repeated times in s, measurement
	// included.
	Scatter float64
	Seed    uint64 // of the shuffle of modes
}

// PlannedRun is one line of a run list.
type PlannedRun struct {
	Order int // from 1
	Mode  string
	Way   int // 1 or 2
}

// Plan is a counterbalanced run list and what it can find.
type Plan struct {
	Options PlanOptions // with defaults filled in
	Runs    []PlannedRun
	PerMode int
	// Needed is the number of runs in each mode that reaches the wanted power; 0
	// where the scatter is not known, -1 where no practical number would.
	Needed int
	Power  float64 // of the plan for the smallest difference, NaN where the scatter is not known
	// Detectable is the difference in s that the plan finds with the wanted
	// power, NaN where the scatter is not known.
	Detectable float64
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

// NewPlan makes a run list in which each mode is driven equally often in each
// direction, and early and late: the mean places of any two modes differ by at
// most one.
func NewPlan(o PlanOptions) (*Plan, error) {
	o.Ways = cmp.Or(o.Ways, 2)
	o.Smallest, o.Power = cmp.Or(o.Smallest, DefaultSmallest), cmp.Or(o.Power, DefaultPower)
	if err := o.check(); err != nil {
		return nil, err
	}
	k := len(o.Modes)
	p := &Plan{Options: o, PerMode: o.Runs, Power: math.NaN(), Detectable: math.NaN()}
	if o.Scatter > 0 {
		n, ok := RunsFor(o.Smallest, o.Scatter, 0, k, o.Power)
		if p.Needed = n; !ok {
			p.Needed = -1
		}
	}
	if o.Runs == 0 {
		if p.Needed < 0 || p.Needed > mostRuns {
			return nil, fmt.Errorf("no practical number of runs finds %g s when runs scatter by %g s; the smallest difference must be larger", o.Smallest, o.Scatter)
		}
		p.PerMode = p.Needed
		for !feasible(p.PerMode, k, o.Ways) {
			p.PerMode++
		}
	}
	if !feasible(p.PerMode, k, o.Ways) {
		e := &InfeasibleError{Runs: p.PerMode, Modes: k, Ways: o.Ways, Below: p.PerMode - 1, Above: p.PerMode + 1}
		for e.Below > 0 && !feasible(e.Below, k, o.Ways) {
			e.Below--
		}
		for !feasible(e.Above, k, o.Ways) {
			e.Above++
		}
		return nil, e
	}
	if o.Scatter > 0 {
		p.Power = PowerOf(o.Smallest, o.Scatter, 0, k, p.PerMode)
		p.Detectable = detectable(o.Scatter, k, p.PerMode, o.Power)
	}
	p.list()
	return p, nil
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
	case !(o.Smallest > 0) || math.IsInf(o.Smallest, 0):
		return fmt.Errorf("smallest difference %g s: want a positive number", o.Smallest)
	case !(o.Power > leastPower && o.Power < 1):
		return fmt.Errorf("power %g: want more than %g and less than 1", o.Power, leastPower)
	case o.Scatter < 0 || math.IsNaN(o.Scatter) || math.IsInf(o.Scatter, 0):
		return fmt.Errorf("scatter %g s: want a positive number", o.Scatter)
	case o.Runs == 0 && o.Scatter == 0:
		return fmt.Errorf("neither a number of runs nor a scatter to work it out from")
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

// list lays the passes out. Two passes, there and back, drive every mode at
// places that add up to the same; when runs alternate in direction the same
// two are driven in opposite ones, since the places add up to an odd number.
func (p *Plan) list() {
	k := len(p.Options.Modes)
	rng := rand.New(rand.NewPCG(p.Options.Seed, shuffles))
	var seq []int
	left := p.PerMode
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
		slices.Reverse(pass)
		seq = append(seq, pass...)
	}
	for i, m := range seq {
		p.Runs = append(p.Runs, PlannedRun{Order: i + 1, Mode: p.Options.Modes[m], Way: 1 + i%p.Options.Ways})
	}
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

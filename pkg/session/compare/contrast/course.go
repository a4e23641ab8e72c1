package contrast

import (
	"math"
	"slices"
)

// Plan is how a session ends.
type Plan struct {
	Runs  int  // planned of each mode, AssumedRuns if 0
	Final bool // the runs at hand are all there will be
}

// Course is a session with its looks: one each time every mode has been driven
// out and back once more, one when every mode has its planned runs, and one at the
// end. They are assumed to be taken whether they are or not, so that what is
// claimed depends on the runs alone.
type Course struct {
	Now   *Design
	Over  bool // the last look has been taken
	Least int  // runs of the least driven mode
	Plan  Plan
	looks []look
	now   *Critical // of a single test, which every claim has to pass as well
	equal *Critical // the same for equality, twice as likely to fail since it fails on one side
}

// look is a test of all pairs on the first runs.
type look struct {
	runs         int
	design       *Design
	level        float64
	differ, same *Critical
}

// NewCourse lays the looks of a session out.
func NewCourse(l *Layout, past *Past, plan Plan) *Course {
	if plan.Runs == 0 {
		plan.Runs = AssumedRuns
	}
	c := &Course{Now: NewDesign(l, past.Weight(l)), Plan: plan}
	c.Least = slices.Min(c.Now.present)
	at, shares := l.rounds(plan)
	c.Over = plan.Final || len(shares) > 0 && shares[len(shares)-1] >= 1
	differ, same := Levels(shares, plan.Final, Alpha), Levels(shares, plan.Final, 2*Alpha)
	for j, n := range at {
		if differ[j] == 0 && same[j] == 0 {
			continue
		}
		d := c.Now
		if n < len(l.Mode) {
			cut := l.upTo(n)
			d = NewDesign(cut, past.Weight(cut))
		}
		if d.DF == 0 {
			continue
		}
		k := look{runs: n, design: d, level: differ[j]}
		if differ[j] > 0 {
			k.differ = CriticalAt(differ[j], l.Modes)
		}
		if same[j] > 0 {
			k.same = CriticalAt(same[j], l.Modes)
		}
		c.looks = append(c.looks, k)
	}
	c.now, c.equal = CriticalAt(Alpha, l.Modes), CriticalAt(2*Alpha, l.Modes)
	return c
}

// rounds are the looks' numbers of runs and shares of the plan.
func (l *Layout) rounds(plan Plan) (at []int, shares []float64) {
	n := make([]int, l.Modes)
	last := 0 // runs of the least driven mode at the last look
	for i, m := range l.Mode {
		n[m]++
		least := slices.Min(n)
		end := plan.Final && i == len(l.Mode)-1
		round := least > last && least <= plan.Runs && (least%2 == 0 || least == plan.Runs)
		if !end && !round {
			continue
		}
		share := float64(least) / float64(plan.Runs)
		if end && len(shares) > 0 && share <= shares[len(shares)-1] {
			// A look that adds little takes the place of the one before.
			at, shares = at[:len(at)-1], shares[:len(shares)-1]
		}
		at, shares = append(at, i+1), append(shares, max(min(share, 1), leastShare))
		last = least
	}
	return at, shares
}

// Claim is what a session says of a pair.
type Claim struct {
	A, B     int
	Estimate         // of the time of A less that of B
	Half     float64 // s, half-width of the 95 % interval that holds for all pairs together, NaN where unknown
	Within   float64 // s, half-width of the interval that equality is judged by, NaN as Half
	Refused  string  // why nothing can be said, "" where it can
	Strain   float64 // by which the order of the runs widens the interval, 1 where it does not
	// Differ and Equal are the runs at which the two were told apart and found
	// equal within the smallest difference of interest, 0 where not.
	Differ, Equal int
	// Level is the nominal level of the last look and Fixed whether the two differ
	// by a single test of all runs.
	Level float64
	Fixed bool
}

// Claims judges every pair; smallest is the smallest difference of interest in s, 0
// for none, which leaves equality unsaid.
func (c *Course) Claims(times []float64, known *Known, smallest float64) []Claim {
	f := c.Now.Fit(times, known, nil)
	out := make([]Claim, len(f.Design.pairs))
	for i, p := range f.Design.pairs {
		k := Claim{A: p.A, B: p.B, Estimate: f.Of(p), Refused: p.Refused, Strain: p.Strain, Half: math.NaN(), Within: math.NaN()}
		if k.SE > 0 {
			k.Half, k.Within = c.now.At(k.DF)*k.SE, c.equal.At(k.DF)*k.SE
		}
		k.Fixed = p.Refused == "" && math.Abs(k.Value) > k.Half
		if n := len(c.looks); n > 0 {
			k.Level = c.looks[n-1].level
		}
		out[i] = k
	}
	c.early(out, times, known, smallest)
	return out
}

// early fills in at which look each pair was decided.
func (c *Course) early(out []Claim, times []float64, known *Known, smallest float64) {
	for _, look := range c.looks {
		f := look.design.Fit(times[:look.runs], known, nil)
		for _, p := range f.Design.pairs {
			k := &out[slices.IndexFunc(out, func(k Claim) bool { return k.A == p.A && k.B == p.B })]
			if p.Refused != "" || k.Refused != "" {
				continue
			}
			e := f.Of(p)
			if k.Differ == 0 && k.Fixed && look.differ != nil && math.Abs(e.Value) > look.differ.At(e.DF)*e.SE && (e.Value > 0) == (k.Value > 0) {
				k.Differ = look.runs
			}
			within := func(e Estimate, t *Critical) bool { return math.Abs(e.Value)+t.At(e.DF)*e.SE < smallest }
			if k.Equal == 0 && look.same != nil && within(e, look.same) && within(k.Estimate, c.equal) {
				k.Equal = look.runs
			}
		}
	}
}

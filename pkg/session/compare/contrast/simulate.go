package contrast

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat/distuv"
)

// Power is what sessions simulated along a course find: for each pair of modes, the
// differences from which on each session claims one, sorted, in s.
type Power struct {
	pairs  [][2]int
	needed [][]float64
	within [][]float64 // the bounds from which on each session claims equality, sorted, in s
}

// Simulate runs sessions along a course in which all modes are equal and scatter
// normally with standard deviations sd, by mode in s, and judges them as Claims
// does. Times to which a difference is added are judged alike, so that one
// simulation holds for every difference.
func (c *Course) Simulate(sd []float64, past *Past, sessions int, seed uint64) *Power {
	rng := rand.New(rand.NewPCG(seed, draws))
	p := &Power{needed: make([][]float64, len(c.Now.pairs)), within: make([][]float64, len(c.Now.pairs))}
	for _, k := range c.Now.pairs {
		p.pairs = append(p.pairs, [2]int{k.A, k.B})
	}
	times := make([]float64, len(c.Now.Mode))
	known := &Known{Past: past}
	now, looks := &Fit{}, make([]*Fit, len(c.looks))
	for i := range looks {
		looks[i] = &Fit{}
	}
	for range sessions {
		for i, m := range c.Now.Mode {
			times[i] = sd[m] * rng.NormFloat64()
		}
		now = c.Now.Fit(times, known, now)
		for j := range c.looks {
			looks[j] = c.looks[j].design.Fit(times[:c.looks[j].runs], known, looks[j])
		}
		for i := range p.pairs {
			differ, equal := c.needed(i, p.pairs[i], now, looks)
			p.needed[i], p.within[i] = append(p.needed[i], differ), append(p.within[i], equal)
		}
	}
	for i := range p.pairs {
		slices.Sort(p.needed[i])
		slices.Sort(p.within[i])
	}
	return p
}

// needed is the difference from which on a session claims one of a pair, and the
// bound from which on it claims that the pair is equal within it.
func (c *Course) needed(i int, pair [2]int, now *Fit, looks []*Fit) (differ, equal float64) {
	k := now.Design.pairs[i]
	e := now.Of(k)
	if k.Refused != "" || math.IsNaN(e.SE) {
		return math.Inf(1), math.Inf(1)
	}
	differ, equal = math.Inf(1), math.Inf(1)
	for j, f := range looks {
		at := slices.IndexFunc(f.Design.pairs, func(k *Contrast) bool { return k.A == pair[0] && k.B == pair[1] && k.Refused == "" })
		if at < 0 {
			continue
		}
		e := f.Of(f.Design.pairs[at])
		if t := c.looks[j].differ; t != nil {
			differ = min(differ, t.At(e.DF)*e.SE-e.Value)
		}
		if t := c.looks[j].same; t != nil {
			equal = min(equal, t.At(e.DF)*e.SE+math.Abs(e.Value))
		}
	}
	return max(differ, c.now.At(e.DF)*e.SE-e.Value, 0), max(equal, c.equal.At(e.DF)*e.SE+math.Abs(e.Value))
}

// Found is the chance that a difference of the i-th pair is found.
func (p *Power) Found(i int, difference float64) float64 {
	n, _ := slices.BinarySearch(p.needed[i], math.Nextafter(difference, math.Inf(1)))
	return float64(n) / float64(len(p.needed[i]))
}

// Alike is the least chance of any pair that equal modes are found equal within a
// bound.
func (p *Power) Alike(bound float64) float64 {
	least := 1.0
	for _, w := range p.within {
		n, _ := slices.BinarySearch(w, bound)
		least = min(least, float64(n)/float64(len(w)))
	}
	return least
}

// Difference is the difference of the i-th pair that is found with a chance,
// infinite where none is.
func (p *Power) Difference(i int, chance float64) float64 {
	n := len(p.needed[i])
	return p.needed[i][min(int(math.Ceil(chance*float64(n)))-1, n-1)]
}

// Pairs are the pairs of modes, in the order of the indices.
func (p *Power) Pairs() [][2]int { return p.pairs }

// Worst is the largest Difference of all pairs.
func (p *Power) Worst(chance float64) float64 {
	worst := 0.0
	for i := range p.pairs {
		worst = max(worst, p.Difference(i, chance))
	}
	return worst
}

// More lays a session out that goes on for n more runs of each mode: there and back
// through the modes, turning round after each run where the session did.
func (l *Layout) More(n int) *Layout {
	out := *l
	out.Extra = nil
	out.Mode, out.Way, out.Block = slices.Clone(l.Mode), slices.Clone(l.Way), slices.Clone(l.Block)
	last := len(l.Mode) - 1
	for pass := range n {
		for i := range l.Modes {
			m := i
			if pass%2 == 1 {
				m = l.Modes - 1 - i
			}
			out.Mode = append(out.Mode, m)
			if l.Way != nil {
				way := out.Way[len(out.Way)-1]
				if l.bothWays() {
					way = -way
				}
				out.Way = append(out.Way, way)
			}
			if l.Block != nil {
				out.Block = append(out.Block, l.Block[last])
			}
		}
	}
	return &out
}

// Ahead looks ahead of a session for what further runs of each mode would find. What
// it simulates it keeps.
type Ahead struct {
	l      *Layout
	sd     []float64
	past   *Past
	powers map[int]*Power
}

// NewAhead looks ahead of a layout whose modes scatter with standard deviations sd, by
// mode in s.
func NewAhead(l *Layout, sd []float64, past *Past) *Ahead {
	return &Ahead{l, sd, past, map[int]*Power{}}
}

// power is what a session of n more runs of each mode finds, judged as at its end and
// not looked at before.
func (a *Ahead) power(n int) *Power {
	p, ok := a.powers[n]
	if !ok {
		more := a.l.More(n)
		c := &Course{Now: NewDesign(more, a.past.Weight(more)), now: CriticalAt(Alpha, more.Modes), equal: CriticalAt(2*Alpha, more.Modes)}
		c.looks = []look{{runs: len(more.Mode), design: c.Now, differ: c.now}}
		p = c.Simulate(a.sd, a.past, neededSessions, uint64(n))
		a.powers[n] = p
	}
	return p
}

// Needed is how many more runs of each mode find a difference of a pair with a wanted
// chance; 0 where no practical number does. e is the pair's estimate now.
func (a *Ahead) Needed(pair [2]int, difference, chance float64, e Estimate) int {
	enough := func(n int) bool {
		p := a.power(n)
		return p.Found(slices.Index(p.pairs, pair), difference) >= chance
	}
	// Standard errors fall as the root of the runs: a guess, and where none can do.
	now := float64(len(a.l.Mode)) / float64(a.l.Modes)
	z := CriticalAt(Alpha, a.l.Modes).At(mostDF) + distuv.UnitNormal.Quantile(chance)
	ratio := e.SE * z / difference
	guess := now*ratio*ratio - now
	if guess > MostMore {
		return 0
	}
	n := min(max(int(math.Ceil(guess)), 1), MostMore)
	for !enough(n) {
		if n++; n > MostMore {
			return 0
		}
	}
	for n > 1 && enough(n-1) {
		n--
	}
	return n
}

// Range is the range of runs in all that holds the number needed 80 times in 100,
// where the scatter was learned from some degrees of freedom and n runs are needed
// if it is as it seems: runs go as the square of the scatter.
func Range(n int, df float64) (lo, hi float64) {
	chi := distuv.ChiSquared{K: max(df, 1)}
	return float64(n) * chi.K / chi.Quantile(0.9), float64(n) * chi.K / chi.Quantile(0.1)
}

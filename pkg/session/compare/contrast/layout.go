package contrast

import (
	"fmt"
	"math"
	"slices"
)

// Layout is what was driven, run by run in the order of the launches, without the
// times. All slices by run have the same length.
type Layout struct {
	Modes  int       // number of modes; each run's mode is less
	Mode   []int     // of each run
	Way    []float64 // -0.5 or 0.5, nil where unknown or all runs went one way
	Block  []int     // stretch of driving without a long gap, from 0; nil where there is one
	Ground []int     // stretch of ground that it began on, from 0; nil where there is one
	// Cost is what a mode's time loses to the same small retarding force, in any
	// unit common to the modes; nil where unknown. It shapes the direction term
	// while the runs are too few to show one for each mode.
	Cost []float64
	// Extra are covariates, each taken in only where the order of the runs keeps
	// it apart from the modes.
	Extra []Covariate
}

// Covariate is a quantity noted for every run.
type Covariate struct {
	Name string
	X    []float64 // by run, in any unit
}

// upTo is the layout of the first n runs.
func (l *Layout) upTo(n int) *Layout {
	cut := *l
	cut.Mode = l.Mode[:n]
	if l.Way != nil {
		cut.Way = l.Way[:n]
	}
	if l.Block != nil {
		cut.Block = l.Block[:n]
	}
	if l.Ground != nil {
		cut.Ground = l.Ground[:n]
	}
	cut.Extra = nil
	for _, x := range l.Extra {
		cut.Extra = append(cut.Extra, Covariate{x.Name, x.X[:n]})
	}
	return &cut
}

// Without is the layout without one run.
func (l *Layout) Without(i int) *Layout {
	cut := *l
	cut.Mode = without(l.Mode, i)
	cut.Way, cut.Block, cut.Ground = without(l.Way, i), without(l.Block, i), without(l.Ground, i)
	cut.Extra = nil
	for _, x := range l.Extra {
		cut.Extra = append(cut.Extra, Covariate{x.Name, without(x.X, i)})
	}
	return &cut
}

// without is a copy of a slice less one element; nil stays nil.
func without[T any](s []T, i int) []T {
	if s == nil {
		return nil
	}
	return slices.Delete(slices.Clone(s), i, i+1)
}

// counts are the runs of each mode, each way: second index 0 for negative Way.
func (l *Layout) counts() [][2]int {
	n := make([][2]int, l.Modes)
	for i, m := range l.Mode {
		k := 0
		if l.Way != nil && l.Way[i] > 0 {
			k = 1
		}
		n[m][k]++
	}
	return n
}

// bothWays reports whether runs went both ways.
func (l *Layout) bothWays() bool {
	return l.Way != nil && slices.Min(l.Way) < 0 && slices.Max(l.Way) > 0
}

// columns are the model's columns under construction, with an orthonormal basis
// of what they span.
type columns struct {
	x, basis       [][]float64
	terms, dropped []string
}

// add takes columns in as one term if they add to the span, and reports it.
func (c *columns) add(term, otherwise string, more ...[]float64) bool {
	basis := slices.Clone(c.basis)
	for _, x := range more {
		r := outside(basis, x)
		if r == nil {
			c.dropped = append(c.dropped, term+": "+otherwise)
			return false
		}
		basis = append(basis, r)
	}
	c.basis, c.x = basis, append(c.x, more...)
	if !slices.Contains(c.terms, term) {
		c.terms = append(c.terms, term)
	}
	return true
}

// outside is the unit vector of the part of x outside an orthonormal basis, nil
// where there is none.
func outside(basis [][]float64, x []float64) []float64 {
	r := slices.Clone(x)
	whole := math.Sqrt(dot(r, r))
	for range 2 { // once more for what rounding left
		for _, b := range basis {
			s := dot(b, r)
			for i := range r {
				r[i] -= s * b[i]
			}
		}
	}
	left := math.Sqrt(dot(r, r))
	if !(left > independent*whole) {
		return nil
	}
	for i := range r {
		r[i] /= left
	}
	return r
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

// free is how many degrees of freedom the columns leave.
func (c *columns) free(runs int) int { return runs - len(c.x) }

// model chooses the columns that the runs support: modes first, each with its own
// direction term if asked, and the drift if asked. The choice knows nothing of the times. wayTerm is the
// index of the first direction column, drift that of the order, -1 where there is
// none.
func (l *Layout) model(each, order bool) (c *columns, wayTerm, drift int) {
	c = &columns{}
	wayTerm, drift = -1, -1
	for m, n := range l.counts() {
		if n[0]+n[1] > 0 {
			c.add("mode", "", l.where(func(i int) float64 { return is(l.Mode[i] == m) }))
		}
	}
	if blocks := l.parted(l.Block); len(blocks) > 0 {
		c.add("session", "the modes were not driven in the same sessions", blocks...)
	}
	if grounds := l.parted(l.Ground); len(grounds) > 0 {
		c.add("stretch", "the modes were not driven on the same stretches", grounds...)
	}
	if before := len(c.x); l.direction(c, each) {
		wayTerm = before
	}
	for _, x := range l.Extra {
		l.covariate(c, x)
	}
	if !order {
		c.dropped = append(c.dropped, "order: it can hardly be told from the directions in these runs")
	} else if c.free(len(l.Mode))-1 < driftDF {
		c.dropped = append(c.dropped, "order: too few runs to spend one on a drift")
	} else if c.add("order", "it cannot be told from the other terms in these runs", l.places()) {
		drift = len(c.x) - 1
	}
	return c, wayTerm, drift
}

// canEach reports whether each mode has runs enough both ways to show what the
// direction costs it.
func (l *Layout) canEach() bool {
	if !l.bothWays() {
		return false
	}
	for _, n := range l.counts() {
		if n[0]+n[1] > 0 && (n[0] < eachWay || n[1] < eachWay) {
			return false
		}
	}
	return true
}

// direction takes in the direction: a term for each mode, or one shaped by the
// modes' costs, or where those are unknown one for all.
func (l *Layout) direction(c *columns, each bool) bool {
	switch {
	case l.Way == nil:
		c.dropped = append(c.dropped, "direction: it is not known, or there were more than two")
		return false
	case !l.bothWays():
		c.dropped = append(c.dropped, "direction: all runs went one way")
		return false
	case each:
		var own [][]float64
		for m, n := range l.counts() {
			if n[0]+n[1] > 0 {
				own = append(own, l.where(func(i int) float64 { return is(l.Mode[i] == m) * l.Way[i] }))
			}
		}
		return c.add("direction (separately in each mode)", "it cannot be told from the other terms in these runs", own...)
	case l.Cost != nil:
		return c.add("direction (scaled by mode)", "it cannot be told from the modes in these runs",
			l.where(func(i int) float64 { return l.Cost[l.Mode[i]] * l.Way[i] }))
	}
	return c.add("direction", "it cannot be told from the modes in these runs", l.Way)
}

// covariate takes a covariate in where it varies, leaves degrees of freedom and
// widens no pair's standard error by much.
func (l *Layout) covariate(c *columns, x Covariate) {
	with := &columns{x: slices.Clone(c.x), basis: slices.Clone(c.basis)}
	if c.free(len(l.Mode))-1 < extraDF {
		c.dropped = append(c.dropped, x.Name+": too few runs to spend one on it")
		return
	}
	if !with.add(x.Name, "", x.X) {
		c.dropped = append(c.dropped, x.Name+": it cannot be told from the other terms in these runs")
		return
	}
	was, now := contrastsOf(c.x, l), contrastsOf(with.x, l)
	for p := range was {
		if dot(now[p], now[p]) > mostConfused*mostConfused*dot(was[p], was[p]) {
			c.dropped = append(c.dropped, fmt.Sprintf("%s: it went with the modes in these runs", x.Name))
			return
		}
	}
	c.add(x.Name, "", x.X)
}

// where is a column by run.
func (l *Layout) where(f func(i int) float64) []float64 {
	x := make([]float64, len(l.Mode))
	for i := range x {
		x[i] = f(i)
	}
	return x
}

func is(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// block is the stretch of a run.
func (l *Layout) block(i int) int {
	if l.Block == nil {
		return 0
	}
	return l.Block[i]
}

// parted are the columns of the parts that runs fall into, all but the first, centred, so
// that the modes' terms stay means over them.
func (l *Layout) parted(part []int) [][]float64 {
	var cols [][]float64
	for b := 1; part != nil && b <= slices.Max(part); b++ {
		x := l.where(func(i int) float64 { return is(part[i] == b) })
		mean := sum(x) / float64(len(x))
		if mean == 0 {
			continue
		}
		for i := range x {
			x[i] -= mean
		}
		cols = append(cols, x)
	}
	return cols
}

func sum(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v
	}
	return s
}

// places are the places of the runs in their stretch less the mean place.
func (l *Layout) places() []float64 {
	n, total := map[int]float64{}, map[int]float64{}
	x := l.where(func(i int) float64 {
		b := l.block(i)
		n[b]++
		total[b] += n[b]
		return n[b]
	})
	for i := range x {
		x[i] -= total[l.block(i)] / n[l.block(i)]
	}
	return x
}

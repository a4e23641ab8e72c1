package compare

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/stats"
)

// contrasts is the covariance of the modes' means, and tests on it.
type contrasts struct {
	beta []float64
	cov  *mat.SymDense // s²
	df   float64
}

func (d *data) contrasts(f *fit, v *variance) *contrasts {
	k := len(d.names)
	c := &contrasts{beta: f.beta[:k], cov: mat.NewSymDense(k, nil), df: v.df}
	for i := range k {
		for j := i; j < k; j++ {
			x := v.s2 * f.cov.At(i, j)
			if i == j {
				x += v.shared[i] * v.shared[i]
			}
			c.cov.SetSym(i, j, x)
		}
	}
	return c
}

// pair returns the difference of two modes with its standard error.
func (c *contrasts) pair(i, j int) (diff, se float64) {
	return c.beta[i] - c.beta[j], math.Sqrt(c.cov.At(i, i) + c.cov.At(j, j) - 2*c.cov.At(i, j))
}

// groupP tests that modes with the same group number have the same mean, and
// returns p and the number of equalities tested.
func (c *contrasts) groupP(group []int) (p float64, r int) {
	var rows [][2]int
	first := map[int]int{}
	for m, g := range group {
		if f, ok := first[g]; ok {
			rows = append(rows, [2]int{f, m})
		} else {
			first[g] = m
		}
	}
	r = len(rows)
	dv := mat.NewVecDense(r, nil)
	cv := mat.NewSymDense(r, nil)
	for a, x := range rows {
		dv.SetVec(a, c.beta[x[0]]-c.beta[x[1]])
		for b := a; b < r; b++ {
			y := rows[b]
			cv.SetSym(a, b, c.cov.At(x[0], y[0])-c.cov.At(x[0], y[1])-c.cov.At(x[1], y[0])+c.cov.At(x[1], y[1]))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(cv) {
		return math.NaN(), r
	}
	var sol mat.VecDense
	if err := chol.SolveVecTo(&sol, dv); err != nil {
		return math.NaN(), r
	}
	return stats.FP(mat.Dot(dv, &sol)/float64(r), float64(r), c.df), r
}

// closed is the outcome of closed testing for one pair.
type closed struct {
	p    float64 // the largest p of all hypotheses that hold the pair equal
	rank int     // fewest equalities of a hypothesis that was not rejected, 0 where all were
}

// closedTests does closed testing for every pair i < j.
func (c *contrasts) closedTests() map[[2]int]closed {
	k := len(c.beta)
	out := map[[2]int]closed{}
	groupings(k, func(group []int) {
		p, r := c.groupP(group)
		for i := range k {
			for j := i + 1; j < k; j++ {
				if group[i] != group[j] {
					continue
				}
				o := out[[2]int{i, j}]
				o.p = max(o.p, p)
				if !(p <= Alpha) && (o.rank == 0 || r < o.rank) {
					o.rank = r
				}
				out[[2]int{i, j}] = o
			}
		}
	})
	return out
}

// groupings calls f with every way to group k modes, except each by itself.
func groupings(k int, f func(group []int)) {
	g := make([]int, k)
	var rec func(i, used int)
	rec = func(i, used int) {
		if i == k {
			if used < k {
				f(g)
			}
			return
		}
		for x := 0; x <= used; x++ {
			g[i] = x
			rec(i+1, max(used, x+1))
		}
	}
	rec(0, 0)
}

// pairs tests every pair of modes.
func (d *data) pairs(f *fit, v *variance, opts *Options) []Pair {
	k := len(d.names)
	if k < 2 {
		return nil
	}
	c := d.contrasts(f, v)
	var out []Pair
	known := v.df > 0 && v.s2 > 0
	var tests map[[2]int]closed
	tukey := math.NaN()
	switch {
	case known && k <= maxClosed:
		tests = c.closedTests()
	case known:
		tukey = stats.TukeyQuantile(Alpha, k, v.df) / math.Sqrt2
	}
	needed := d.runsNeeded(v, opts)
	for i := range k {
		for j := i + 1; j < k; j++ {
			diff, se := c.pair(i, j)
			p := Pair{A: d.names[i], B: d.names[j], Difference: diff, SE: se, Raw: d.mean(i) - d.mean(j),
				Lo: math.NaN(), Hi: math.NaN(), P: math.NaN(), PAdjusted: math.NaN(), Verdict: NotTold, RunsNeeded: needed}
			if known {
				p.P = stats.TP(diff/se, v.df)
				mult := v.t()
				if o := tests[[2]int{i, j}]; tests == nil {
					p.PAdjusted = stats.TukeyP(math.Abs(diff/se)*math.Sqrt2, k, v.df)
					mult = tukey
				} else if p.PAdjusted = o.p; o.rank > 1 {
					mult = math.Sqrt(float64(o.rank) * stats.FQuantile(Alpha, float64(o.rank), v.df))
				}
				p.Lo, p.Hi = diff-mult*se, diff+mult*se
				p.judge()
			}
			out = append(out, p)
		}
	}
	return out
}

// judge sets the verdict: a difference where both the family's test and the
// interval say so, which agree but for rounding.
func (p *Pair) judge() {
	switch {
	case p.PAdjusted <= Alpha && p.Hi < 0:
		p.Verdict, p.RunsNeeded = AQuicker, 0
	case p.PAdjusted <= Alpha && p.Lo > 0:
		p.Verdict, p.RunsNeeded = BQuicker, 0
	}
}

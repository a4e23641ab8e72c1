package contrast

import (
	"math"
	"sync"
	"sync/atomic"

	"fromrest/pkg/stats"
)

// dfGrid are the degrees of freedom that critical values are tabulated at.
var dfGrid = func() []float64 {
	var g []float64
	for d := leastDF; d < 6; d += 0.25 {
		g = append(g, d)
	}
	for d := 6.0; d < 30; d += 2 {
		g = append(g, d)
	}
	return append(g, 30, 40, 60, 100, 200, mostDF)
}()

// Critical are the critical values of |difference| over its standard error for the
// pairs of some modes at one level: all pairs together keep it.
type Critical struct {
	level float64
	modes int
	log   []atomic.Uint64 // bits of their logarithms at dfGrid, 0 where not asked for yet
}

var criticals sync.Map // of criticalKey to *Critical: a plan asks for the same ones again and again

type criticalKey struct {
	modes int
	level float64
}

// CriticalAt are the critical values at a level. At common levels they are of the
// studentised range; far out in its tail by Bonferroni's inequality.
func CriticalAt(level float64, modes int) *Critical {
	c, _ := criticals.LoadOrStore(criticalKey{modes, level}, &Critical{level: level, modes: modes, log: make([]atomic.Uint64, len(dfGrid))})
	return c.(*Critical)
}

// logAt is the logarithm of a critical value at a place of dfGrid.
func (c *Critical) logAt(i int) float64 {
	if bits := c.log[i].Load(); bits != 0 {
		return math.Float64frombits(bits)
	}
	df := dfGrid[i]
	q := stats.TQuantile(1-c.level/float64(c.modes*(c.modes-1)/2), df)
	if c.modes > 2 && c.level >= rangeFrom {
		q = min(q, rangeAt(c.level, c.modes, df))
	}
	x := math.Log(q)
	c.log[i].Store(math.Float64bits(x))
	return x
}

// rangeAt is a quantile of the studentised range over the root of two. Below one
// degree of freedom it is taken in proportion to Student's.
func rangeAt(level float64, modes int, df float64) float64 {
	q := stats.TukeyQuantile(level, modes, max(df, 1)) / math.Sqrt2
	if df < 1 {
		q *= stats.TQuantile(1-level, df) / stats.TQuantile(1-level, 1)
	}
	return q
}

// At is the critical value at some degrees of freedom, infinite at none.
func (c *Critical) At(df float64) float64 {
	if !(df > 0) {
		return math.Inf(1)
	}
	df = min(max(df, leastDF), mostDF)
	i := index(df)
	lo, hi := dfGrid[i], dfGrid[i+1]
	w := math.Log(df/lo) / math.Log(hi/lo)
	a := c.logAt(i)
	return math.Exp(a + w*(c.logAt(i+1)-a))
}

// index is the place in dfGrid of the last entry not above df but the last.
func index(df float64) int {
	lo, hi := 0, len(dfGrid)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; dfGrid[mid] <= df {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

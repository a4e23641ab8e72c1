package contrast

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// spent is the share of alpha that may be spent when a share of the planned runs
// is in: O'Brien and Fleming's form of Lan and DeMets (Biometrika 70, 1983,
// 659-663), half on each side.
func spent(share, alpha float64) float64 {
	if share >= 1 {
		return alpha
	}
	z := distuv.UnitNormal.Quantile(1 - alpha/4)
	return 4 * distuv.UnitNormal.Survival(z/math.Sqrt(share))
}

// Levels are the nominal two-sided levels of looks at some shares of the planned
// runs, rising: a test at each, whatever the looks before said, claims with chance
// alpha at most in all. The last look spends what is left where final is set.
// A level of 0 is a look that cannot claim.
func Levels(shares []float64, final bool, alpha float64) []float64 {
	key := fmt.Sprint(shares, final, alpha)
	if l, ok := levels.Load(key); ok {
		return l.([]float64)
	}
	l := spend(shares, final, alpha)
	levels.Store(key, l)
	return l
}

var levels sync.Map // of the arguments of Levels to its result: the places of a session share their looks

func spend(shares []float64, final bool, alpha float64) []float64 {
	out := make([]float64, len(shares))
	p := &paths{}
	total := 0.0
	for j, t := range shares {
		upTo := spent(t, alpha)
		if final && j == len(shares)-1 {
			upTo = alpha
		}
		if spend := upTo - total; spend > worthALook {
			b := p.boundary(t, spend)
			out[j] = 2 * distuv.UnitNormal.Survival(b/math.Sqrt(t))
			p.advance(t, b)
			total = upTo
		}
	}
	return out
}

// paths is the density of Brownian motion at a time, of the paths that have not
// left the boundaries, on an even grid from -reach to reach.
type paths struct {
	time, reach float64
	density     []float64 // nil at time 0, when all are at 0
}

// leaving is the chance to be outside ±b at time t.
func (p *paths) leaving(t, b float64) float64 {
	sd := math.Sqrt(t - p.time)
	out := func(x float64) float64 {
		return distuv.UnitNormal.Survival((b-x)/sd) + distuv.UnitNormal.Survival((b+x)/sd)
	}
	if p.density == nil {
		return out(0)
	}
	return p.integrate(out)
}

// integrate integrates f over the density by Simpson's rule.
func (p *paths) integrate(f func(x float64) float64) float64 {
	h := 2 * p.reach / gridSteps
	s := 0.0
	for i, d := range p.density {
		w := 2.0
		switch {
		case i == 0 || i == gridSteps:
			w = 1
		case i%2 == 1:
			w = 4
		}
		s += w * d * f(-p.reach+float64(i)*h)
	}
	return s * h / 3
}

// boundary is where a chance is left behind at time t.
func (p *paths) boundary(t, chance float64) float64 {
	lo, hi := 0.0, farOut*math.Sqrt(t)
	for range bisections {
		if mid := (lo + hi) / 2; p.leaving(t, mid) > chance {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// advance moves the paths on to time t, within ±b.
func (p *paths) advance(t, b float64) {
	next := &paths{time: t, reach: b, density: make([]float64, gridSteps+1)}
	sd := math.Sqrt(t - p.time)
	for i := range next.density {
		x := -b + float64(i)*2*b/gridSteps
		step := func(from float64) float64 { return distuv.UnitNormal.Prob((x-from)/sd) / sd }
		if p.density == nil {
			next.density[i] = step(0)
		} else {
			next.density[i] = p.integrate(step)
		}
	}
	*p = *next
}

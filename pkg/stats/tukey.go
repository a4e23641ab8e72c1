package stats

import (
	"math"
	"sync"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// How the studentized range and the noncentral t are computed. The widths and
// orders leave an absolute error of the probabilities below 1e-7, measured
// against the tables in the tests.
const (
	normalReach = 8   // standard deviations beyond which a normal density is nothing
	chiReach    = 9   // the same for that of a standard deviation
	chiLeast    = 0.5 // reach upward at least, relative: with few degrees of freedom the tail is long

	rangeReach = 24 // range of standard normal values beyond which there is none
	rangeSteps = 64 // steps of its table to one

	manyDFRange  = 1e5   // degrees of freedom from which the scatter is taken as known
	mostRange    = 1e6   // studentized range beyond which none is looked for
	mostSteps    = 60    // steps of a root search at most
	rootAccuracy = 1e-10 // of the probability, and relative of the range
)

// TukeyP returns the upper tail of the studentized range of k means with df
// degrees of freedom, by integrating the range's distribution over that of the
// standard deviation. Absolute error is below 1e-7.
func TukeyP(q float64, k int, df float64) float64 {
	if q <= 0 || k < 2 {
		return 1
	}
	if df > manyDFRange {
		return 1 - rangeCDF(q, k)
	}
	t := rangeTableOf(k)
	return max(1-overSD(df, func(w float64) float64 { return t.at(q * w) }), 0)
}

// TukeyQuantile returns the studentized range that is exceeded with probability
// alpha.
func TukeyQuantile(alpha float64, k int, df float64) float64 {
	lo, hi := 0.0, 2.0
	for TukeyP(hi, k, df) > alpha && hi < mostRange {
		lo, hi = hi, 2*hi
	}
	// False position with the Illinois rule: the tail is smooth and falling.
	flo, fhi := TukeyP(lo, k, df)-alpha, TukeyP(hi, k, df)-alpha
	for range mostSteps {
		mid := (lo*fhi - hi*flo) / (fhi - flo)
		f := TukeyP(mid, k, df) - alpha
		switch {
		case math.Abs(f) < rootAccuracy || hi-lo < rootAccuracy*hi:
			return mid
		case f > 0:
			lo, flo, fhi = mid, f, fhi/2
		default:
			hi, fhi, flo = mid, f, flo/2
		}
	}
	return (lo + hi) / 2
}

// rangeCDF is the distribution of the range of k standard normal values.
func rangeCDF(w float64, k int) float64 {
	f := func(z float64) float64 { // z is the largest of the values
		d := distuv.UnitNormal.CDF(z) - distuv.UnitNormal.CDF(z-w)
		return distuv.UnitNormal.Prob(z) * math.Pow(d, float64(k-1))
	}
	return min(float64(k)*normalRule.integrate(f, -normalReach, normalReach), 1)
}

// rangeTable is the distribution of the range at even steps from minus one step on,
// since an integral over it asks for hundreds of values.
type rangeTable []float64

var rangeTables sync.Map // of the number of values to rangeTable

func rangeTableOf(k int) rangeTable {
	if t, ok := rangeTables.Load(k); ok {
		return t.(rangeTable)
	}
	t := make(rangeTable, rangeReach*rangeSteps+4)
	for i := range t {
		t[i] = rangeCDF(float64(max(i-1, 0))/rangeSteps, k)
	}
	rangeTables.Store(k, t)
	return t
}

// at interpolates by the cubic through four neighbours.
func (t rangeTable) at(w float64) float64 {
	if w >= rangeReach {
		return 1
	}
	i := int(w * rangeSteps)
	u := w*rangeSteps - float64(i)
	a, b, c, d := t[i], t[i+1], t[i+2], t[i+3]
	return -u*(u-1)*(u-2)/6*a + (u+1)*(u-1)*(u-2)/2*b - (u+1)*u*(u-2)/2*c + (u+1)*u*(u-1)/6*d
}

// overSD integrates f(w) over the density of w = s/sigma with df degrees of
// freedom.
func overSD(df float64, f func(w float64) float64) float64 {
	lg, _ := math.Lgamma(df / 2)
	c := math.Ln2 + df/2*math.Log(df/2) - lg
	g := func(w float64) float64 {
		if w <= 0 {
			return 0
		}
		return math.Exp(c+(df-1)*math.Log(w)-df*w*w/2) * f(w)
	}
	sd := 1 / math.Sqrt(2*df)
	return chiRule.integrate(g, max(0, 1-chiReach*sd), 1+max(chiReach*sd, chiLeast))
}

// rule is a Gauss-Legendre rule on equal panels.
type rule struct {
	panels int
	x, w   []float64 // nodes and weights on (-1, 1)
}

// The rules in use, by the density they integrate over.
var (
	normalRule = newRule(8, 12)
	chiRule    = newRule(16, 16)
)

func newRule(panels, order int) rule {
	r := rule{panels, make([]float64, order), make([]float64, order)}
	quad.Legendre{}.FixedLocations(r.x, r.w, -1, 1)
	return r
}

// integrate integrates f from a to b.
func (r *rule) integrate(f func(float64) float64, a, b float64) float64 {
	sum, h := 0.0, (b-a)/float64(2*r.panels)
	for i := range r.panels {
		mid := a + float64(2*i+1)*h
		for k, x := range r.x {
			sum += r.w[k] * f(mid+x*h)
		}
	}
	return sum * h
}

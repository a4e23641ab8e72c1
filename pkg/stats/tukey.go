package stats

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// TukeyP returns the upper tail of the studentized range of k means with df
// degrees of freedom, by integrating the range's distribution over that of the
// standard deviation. Absolute error is below 1e-7.
func TukeyP(q float64, k int, df float64) float64 {
	if q <= 0 || k < 2 {
		return 1
	}
	if math.IsInf(df, 1) || df > 1e5 {
		return 1 - rangeCDF(q, k)
	}
	return max(1-overSD(df, func(w float64) float64 { return rangeCDF(q*w, k) }), 0)
}

// TukeyQuantile returns the studentized range that is exceeded with probability
// alpha.
func TukeyQuantile(alpha float64, k int, df float64) float64 {
	lo, hi := 0.0, 2.0
	for TukeyP(hi, k, df) > alpha && hi < 1e6 {
		lo, hi = hi, 2*hi
	}
	// False position with the Illinois rule: the tail is smooth and falling.
	flo, fhi := TukeyP(lo, k, df)-alpha, TukeyP(hi, k, df)-alpha
	for range 60 {
		mid := (lo*fhi - hi*flo) / (fhi - flo)
		f := TukeyP(mid, k, df) - alpha
		switch {
		case math.Abs(f) < 1e-10 || hi-lo < 1e-10*hi:
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
	f := func(z float64) float64 {
		d := distuv.UnitNormal.CDF(z) - distuv.UnitNormal.CDF(z-w)
		return distuv.UnitNormal.Prob(z) * math.Pow(d, float64(k-1))
	}
	// z is the largest of the values: beyond 8 its density is nothing.
	return min(float64(k)*panels(f, -8, 8, 8, 12), 1)
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
	return panels(g, max(0, 1-9*sd), 1+max(9*sd, 0.5), 16, 16)
}

// nodes are the points and weights of Gauss-Legendre on (-1, 1), by order.
var nodes = map[int][2][]float64{}

func init() {
	for _, order := range []int{12, 16} {
		x, w := make([]float64, order), make([]float64, order)
		quad.Legendre{}.FixedLocations(x, w, -1, 1)
		nodes[order] = [2][]float64{x, w}
	}
}

// panels integrates by Gauss-Legendre on equal panels; the order is 12 or 16.
func panels(f func(float64) float64, a, b float64, n, order int) float64 {
	xw := nodes[order]
	sum, h := 0.0, (b-a)/float64(2*n)
	for i := range n {
		mid := a + float64(2*i+1)*h
		for k, x := range xw[0] {
			sum += xw[1][k] * f(mid+x*h)
		}
	}
	return sum * h
}

package stats

import (
	"math"
	"slices"
)

// Summary is what a t test needs to know of a sample.
type Summary struct {
	N        int
	Mean, SD float64 // SD with n-1; NaN for fewer than two values
}

// SE returns the standard error of the mean, NaN for fewer than two values.
func (s Summary) SE() float64 { return s.SD / math.Sqrt(float64(s.N)) }

// Var returns the variance with n-1, NaN for fewer than two values.
func (s Summary) Var() float64 { return s.SD * s.SD }

// Describe summarises x in two passes with the correction term of Chan, Golub
// and LeVeque (The American Statistician 37, 1983, 242-247), which keeps all the
// digits the input has: a sum of squares would lose them for times with a
// large common part.
func Describe(x []float64) Summary {
	n := len(x)
	if n == 0 {
		return Summary{Mean: math.NaN(), SD: math.NaN()}
	}
	// The mean of deviations from the first value, so that a large common part
	// does not cost digits in the sum.
	d := 0.0
	for _, v := range x {
		d += v - x[0]
	}
	mean := x[0] + d/float64(n)
	ss, comp := 0.0, 0.0
	for _, v := range x {
		e := v - mean
		ss += e * e
		comp += e
	}
	sd := math.NaN()
	if n > 1 {
		sd = math.Sqrt(max(ss-comp*comp/float64(n), 0) / float64(n-1))
	}
	return Summary{N: n, Mean: mean, SD: sd}
}

// Running accumulates mean and deviation one value at a time (Welford,
// Technometrics 4, 1962, 419-420). The zero value is empty.
type Running struct {
	n        int
	mean, m2 float64
}

// Add takes one more value.
func (r *Running) Add(x float64) {
	r.n++
	d := x - r.mean
	r.mean += d / float64(r.n)
	r.m2 += d * (x - r.mean)
}

// Summary returns what was accumulated.
func (r *Running) Summary() Summary {
	s := Summary{N: r.n, Mean: r.mean, SD: math.NaN()}
	if r.n == 0 {
		s.Mean = math.NaN()
	}
	if r.n > 1 {
		s.SD = math.Sqrt(r.m2 / float64(r.n-1))
	}
	return s
}

// Median returns the median of x, NaN for none.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	slices.Sort(s)
	m := len(s) / 2
	if len(s)%2 == 1 {
		return s[m]
	}
	return (s[m-1] + s[m]) / 2
}

// Lag1 returns the lag-one autocorrelation of x, as NIST's reference data sets
// define it: the sum of products of neighbouring deviations over the sum of
// squares.
func Lag1(x []float64) float64 {
	m := Describe(x).Mean
	num, den := 0.0, 0.0
	for i, v := range x {
		den += (v - m) * (v - m)
		if i > 0 {
			num += (v - m) * (x[i-1] - m)
		}
	}
	return num / den
}

// Unbias returns c4, the factor by which a standard deviation of n normal
// values falls short on the mean: E(s) = c4·sigma.
func Unbias(n int) float64 {
	if n < 2 {
		return math.NaN()
	}
	a, _ := math.Lgamma(float64(n) / 2)
	b, _ := math.Lgamma(float64(n-1) / 2)
	return math.Sqrt(2/float64(n-1)) * math.Exp(a-b)
}

// finite reports whether every value is a number.
func finite(xs ...[]float64) bool {
	for _, x := range xs {
		for _, v := range x {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return false
			}
		}
	}
	return true
}

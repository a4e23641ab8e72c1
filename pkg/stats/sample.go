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

// Median returns the middle value of x, of an even number of values the mean of
// the two in the middle; NaN for none. It leaves x in its order.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(x))
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}

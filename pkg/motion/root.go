package motion

import "math"

// Root is where f, which is continuous and changes sign between lo and hi, is 0, to
// within tol: false position with the stagnant end's value halved
// (Dowell and Jarratt, BIT 11 (1971) 168), which takes some eight calls where halving
// takes fifty. Where f does not change sign it is the end at which f is nearer to 0.
func Root(lo, hi, tol float64, f func(float64) float64) float64 {
	a, b := f(lo), f(hi)
	if a*b > 0 {
		if math.Abs(a) < math.Abs(b) {
			return lo
		}
		return hi
	}
	for range mostRootSteps {
		if a == b || math.Abs(hi-lo) <= tol {
			break
		}
		x := hi - b*(hi-lo)/(b-a)
		y := f(x)
		if y == 0 {
			return x
		}
		if (y < 0) != (b < 0) {
			lo, a = hi, b
		} else {
			a /= 2
		}
		hi, b = x, y
	}
	return hi
}

package stats

import "slices"

// Middle returns the upper median of x, the value with half of the others or one
// more below it, and 0 for none. It puts x in order.
func Middle(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	return x[len(x)/2]
}

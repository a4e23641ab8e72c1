package stats

import (
	"cmp"
	"math"
	"slices"
)

// Holm adjusts p values so that rejecting those at most alpha keeps the chance
// of any false rejection at alpha (Scand. J. Statist. 6, 1979, 65-70). A NaN is a
// test that was not made: it stays NaN and is not counted.
func Holm(p []float64) []float64 {
	out := slices.Clone(p)
	var made []int
	for i, v := range p {
		if !math.IsNaN(v) {
			made = append(made, i)
		}
	}
	slices.SortStableFunc(made, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	run := 0.0
	for k, i := range made {
		run = max(run, min(p[i]*float64(len(made)-k), 1))
		out[i] = run
	}
	return out
}

package stats

import (
	"math"
	"slices"
)

// Bonferroni multiplies each p by their number.
func Bonferroni(p []float64) []float64 {
	out := make([]float64, len(p))
	for i, v := range p {
		out[i] = min(v*float64(len(p)), 1)
	}
	return out
}

// Holm adjusts p values so that rejecting those at most alpha keeps the chance
// of any false rejection at alpha (Scand. J. Statist. 6, 1979, 65-70). A NaN is a
// test that was not made: it stays NaN and is not counted.
func Holm(p []float64) []float64 {
	idx := order(p)
	out := nans(len(p))
	m, run := len(idx), 0.0
	for k, i := range idx {
		run = max(run, min(p[i]*float64(m-k), 1))
		out[i] = run
	}
	return out
}

// BenjaminiHochberg adjusts p values so that rejecting those at most q keeps the
// expected share of false rejections at q (J. R. Stat. Soc. B 57, 1995, 289-300).
// A NaN stays NaN and is not counted.
func BenjaminiHochberg(p []float64) []float64 {
	idx := order(p)
	out := nans(len(p))
	m, run := len(idx), 1.0
	for k := m - 1; k >= 0; k-- {
		i := idx[k]
		run = min(run, p[i]*float64(m)/float64(k+1))
		out[i] = run
	}
	return out
}

func order(p []float64) []int {
	var idx []int
	for i, v := range p {
		if !math.IsNaN(v) {
			idx = append(idx, i)
		}
	}
	slices.SortStableFunc(idx, func(a, b int) int {
		switch {
		case p[a] < p[b]:
			return -1
		case p[a] > p[b]:
			return 1
		}
		return 0
	})
	return idx
}

func nans(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.NaN()
	}
	return out
}

package stats

import "gonum.org/v1/gonum/stat/distuv"

// FQuantile returns the value that F exceeds with probability alpha.
func FQuantile(alpha, df1, df2 float64) float64 {
	if df2 > manyDF {
		return distuv.ChiSquared{K: df1}.Quantile(1-alpha) / df1
	}
	return distuv.F{D1: df1, D2: df2}.Quantile(1 - alpha)
}

package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// FP returns the upper tail of the F distribution: the p value of f. Infinite
// df2 gives the chi-squared tail.
func FP(f, df1, df2 float64) float64 {
	switch {
	case math.IsNaN(f):
		return math.NaN()
	case math.IsInf(f, 1):
		return 0
	case f <= 0:
		return 1
	case df2 > manyDF:
		return distuv.ChiSquared{K: df1}.Survival(f * df1)
	}
	return distuv.F{D1: df1, D2: df2}.Survival(f)
}

// FQuantile returns the value that F exceeds with probability alpha.
func FQuantile(alpha, df1, df2 float64) float64 {
	if df2 > manyDF {
		return distuv.ChiSquared{K: df1}.Quantile(1-alpha) / df1
	}
	return distuv.F{D1: df1, D2: df2}.Quantile(1 - alpha)
}

// Of the Poisson mixture of a noncentral F.
const (
	mostTerms    = 10000 // terms added up at most
	weightMissed = 1e-13 // weight of the terms left out
)

// NoncentralFSurvival returns P(F > f) of the noncentral F with noncentrality
// lambda, as a Poisson mixture of central distributions.
func NoncentralFSurvival(f, df1, df2, lambda float64) float64 {
	sum, weight := 0.0, 0.0
	logp := -lambda / 2 // log of the Poisson probability of j
	for j := range mostTerms {
		if j > 0 {
			logp += math.Log(lambda/2) - math.Log(float64(j))
		}
		p := math.Exp(logp)
		weight += p
		d1 := df1 + 2*float64(j)
		sum += p * FP(f*df1/d1, d1, df2)
		if lambda == 0 || (float64(j) > lambda/2 && 1-weight < weightMissed) {
			break
		}
	}
	return min(sum, 1)
}

// PowerT is the power of a two-sided t test at level alpha with df degrees of
// freedom, where the true difference is ncp standard errors. Both tails are
// counted, so that no difference gives alpha.
func PowerT(ncp, df, alpha float64) float64 {
	tc := TQuantile(1-alpha, df)
	// The noncentral t, integrated over the distribution of the standard deviation.
	below := func(t float64) float64 {
		return overSD(df, func(w float64) float64 { return distuv.UnitNormal.CDF(t*w - math.Abs(ncp)) })
	}
	return 1 - below(tc) + below(-tc)
}

package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// NoncentralTCDF returns P(T <= t) of the noncentral t with noncentrality delta,
// integrating over the distribution of the standard deviation.
func NoncentralTCDF(t, df, delta float64) float64 {
	if math.IsInf(df, 1) || df > 1e6 {
		return distuv.UnitNormal.CDF(t - delta)
	}
	return overSD(df, func(w float64) float64 { return distuv.UnitNormal.CDF(t*w - delta) })
}

// NoncentralFSurvival returns P(F > f) of the noncentral F with noncentrality
// lambda, as a Poisson mixture of central distributions.
func NoncentralFSurvival(f, df1, df2, lambda float64) float64 {
	sum, weight := 0.0, 0.0
	logp := -lambda / 2 // log of the Poisson probability of j
	for j := 0; j < 10000; j++ {
		if j > 0 {
			logp += math.Log(lambda/2) - math.Log(float64(j))
		}
		p := math.Exp(logp)
		weight += p
		d1 := df1 + 2*float64(j)
		sum += p * FP(f*df1/d1, d1, df2)
		if lambda == 0 || (float64(j) > lambda/2 && 1-weight < 1e-13) {
			break
		}
	}
	return min(sum, 1)
}

// Design says what kind of t test a power is wanted for.
type Design int

// The designs.
const (
	TwoSample  Design = iota // n runs in each of two modes
	PairedRuns               // n pairs; sd is that of the differences
	OneMode                  // n runs against a fixed value
)

// terms returns the degrees of freedom and the factor of the noncentrality.
func (d Design) terms(n float64) (df, factor float64) {
	if d == TwoSample {
		return 2*n - 2, math.Sqrt(n / 2)
	}
	return n - 1, math.Sqrt(n)
}

// Power returns the chance that a two-sided t test at level alpha finds a true
// difference delta when the standard deviation is sd. Both tails are counted,
// so that no difference gives alpha. n may be a fraction.
func Power(design Design, n, delta, sd, alpha float64) float64 {
	df, f := design.terms(n)
	if df <= 0 {
		return 0
	}
	return powerT(f*math.Abs(delta)/sd, df, alpha)
}

// powerT is the two-sided power at noncentrality ncp.
func powerT(ncp, df, alpha float64) float64 {
	tc := TQuantile(1-alpha, df)
	return 1 - NoncentralTCDF(tc, df, ncp) + NoncentralTCDF(-tc, df, ncp)
}

// PowerT is the power of a two-sided t test at level alpha with df degrees of
// freedom, where the true difference is ncp standard errors.
func PowerT(ncp, df, alpha float64) float64 { return powerT(math.Abs(ncp), df, alpha) }

// PowerOneSided is Power for a one-sided test.
func PowerOneSided(design Design, n, delta, sd, alpha float64) float64 {
	df, f := design.terms(n)
	if df <= 0 {
		return 0
	}
	return 1 - NoncentralTCDF(TQuantile(1-2*alpha, df), df, f*delta/sd)
}

// SampleSize returns the number of runs a mode, as a fraction, at which the
// power is reached; +Inf where no number below a million does.
func SampleSize(design Design, delta, sd, alpha, power float64) float64 {
	return solveN(power, func(n float64) float64 { return Power(design, n, delta, sd, alpha) })
}

// SampleSizeOneSided is SampleSize for a one-sided test.
func SampleSizeOneSided(design Design, delta, sd, alpha, power float64) float64 {
	return solveN(power, func(n float64) float64 { return PowerOneSided(design, n, delta, sd, alpha) })
}

func solveN(power float64, f func(n float64) float64) float64 {
	lo, hi := 1.01, 2.0
	for f(hi) < power {
		lo, hi = hi, 2*hi
		if hi > 1e6 {
			return math.Inf(1)
		}
	}
	for range 60 {
		mid := (lo + hi) / 2
		if f(mid) < power {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// Detectable returns the smallest true difference that n runs find with the
// given power.
func Detectable(design Design, n, sd, alpha, power float64) float64 {
	df, f := design.terms(n)
	if df <= 0 {
		return math.Inf(1)
	}
	lo, hi := 0.0, 1.0
	for powerT(hi, df, alpha) < power && hi < 1e6 {
		lo, hi = hi, 2*hi
	}
	for range 60 {
		mid := (lo + hi) / 2
		if powerT(mid, df, alpha) < power {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi / f * sd
}

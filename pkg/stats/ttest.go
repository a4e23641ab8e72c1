package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// TTest is the result of a t test.
type TTest struct {
	Difference float64 // of the means
	SE         float64 // standard error of Difference
	T, DF      float64
	P          float64 // two-sided
}

// student is Student's t with df degrees of freedom, the normal distribution
// where there are very many.
func student(df float64) interface {
	CDF(float64) float64
	Quantile(float64) float64
} {
	if df > manyDF {
		return distuv.UnitNormal
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}
}

// TQuantile returns the two-sided quantile of Student's t: the half-width in
// standard errors of an interval with the given confidence. Infinite degrees
// of freedom give the normal quantile.
func TQuantile(confidence, df float64) float64 {
	return student(df).Quantile(0.5 + confidence/2)
}

// TP returns the two-sided p value of t with df degrees of freedom, NaN where
// either is NaN.
func TP(t, df float64) float64 {
	switch {
	case math.IsNaN(t) || math.IsNaN(df):
		return math.NaN()
	case math.IsInf(t, 0):
		return 0
	}
	return 2 * student(df).CDF(-math.Abs(t))
}

// Welch is the two-sample test without a common variance (Welch, Biometrika 34,
// 1947, 28-35), degrees of freedom by Satterthwaite. It returns ErrTooFew where
// a sample has fewer than two values.
func Welch(a, b Summary) (TTest, error) {
	if a.N < 2 || b.N < 2 {
		return TTest{}, ErrTooFew
	}
	va, vb := a.Var()/float64(a.N), b.Var()/float64(b.N)
	r := TTest{Difference: a.Mean - b.Mean, SE: math.Sqrt(va + vb)}
	r.DF = (va + vb) * (va + vb) / (va*va/float64(a.N-1) + vb*vb/float64(b.N-1))
	if va+vb == 0 {
		r.DF = float64(a.N + b.N - 2)
	}
	if r.Difference != 0 || r.SE != 0 {
		r.T = r.Difference / r.SE
	}
	r.P = TP(r.T, r.DF)
	return r, nil
}

package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// TTest is the result of a t test with its interval.
type TTest struct {
	Difference float64 // of the means, or mean minus the hypothesis
	SE         float64 // standard error of Difference
	T, DF      float64
	P          float64 // two-sided
}

// Interval returns the two-sided interval of the difference with the given
// confidence, such as 0.95.
func (t TTest) Interval(confidence float64) (lo, hi float64) {
	h := TQuantile(confidence, t.DF) * t.SE
	return t.Difference - h, t.Difference + h
}

// TQuantile returns the two-sided quantile of Student's t: the half-width in
// standard errors of an interval with the given confidence. Infinite degrees
// of freedom give the normal quantile.
func TQuantile(confidence, df float64) float64 {
	p := 0.5 + confidence/2
	if math.IsInf(df, 1) || df > 1e7 {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.Quantile(p)
}

// TP returns the two-sided p value of t with df degrees of freedom.
func TP(t, df float64) float64 {
	t = math.Abs(t)
	if math.IsNaN(t) || math.IsNaN(df) {
		return math.NaN()
	}
	if math.IsInf(t, 1) {
		return 0
	}
	if math.IsInf(df, 1) || df > 1e7 {
		return 2 * distuv.UnitNormal.CDF(-t)
	}
	return 2 * distuv.StudentsT{Mu: 0, Sigma: 1, Nu: df}.CDF(-t)
}

func newTTest(diff, se, df float64) TTest {
	t := diff / se
	if diff == 0 && se == 0 {
		t = 0
	}
	return TTest{Difference: diff, SE: se, T: t, DF: df, P: TP(t, df)}
}

// OneSample tests whether the mean of a sample differs from mu.
func OneSample(s Summary, mu float64) (TTest, error) {
	if s.N < 2 {
		return TTest{}, ErrTooFew
	}
	return newTTest(s.Mean-mu, s.SE(), float64(s.N-1)), nil
}

// Pooled is Student's two-sample test: the samples are taken to have one
// variance.
func Pooled(a, b Summary) (TTest, error) {
	df := float64(a.N + b.N - 2)
	if a.N < 1 || b.N < 1 || df < 1 {
		return TTest{}, ErrTooFew
	}
	ss := 0.0
	for _, s := range []Summary{a, b} {
		if s.N > 1 {
			ss += s.Var() * float64(s.N-1)
		}
	}
	se := math.Sqrt(ss / df * (1/float64(a.N) + 1/float64(b.N)))
	return newTTest(a.Mean-b.Mean, se, df), nil
}

// Welch is the two-sample test without a common variance (Welch, Biometrika 34,
// 1947, 28-35), degrees of freedom by Satterthwaite.
func Welch(a, b Summary) (TTest, error) {
	if a.N < 2 || b.N < 2 {
		return TTest{}, ErrTooFew
	}
	va, vb := a.Var()/float64(a.N), b.Var()/float64(b.N)
	df := (va + vb) * (va + vb) / (va*va/float64(a.N-1) + vb*vb/float64(b.N-1))
	if va+vb == 0 {
		df = float64(a.N + b.N - 2)
	}
	return newTTest(a.Mean-b.Mean, math.Sqrt(va+vb), df), nil
}

// Paired tests the mean of the differences a[i]-b[i].
func Paired(a, b []float64) (TTest, error) {
	if len(a) != len(b) || len(a) < 2 {
		return TTest{}, ErrTooFew
	}
	d := make([]float64, len(a))
	for i := range a {
		d[i] = a[i] - b[i]
	}
	if !finite(d) {
		return TTest{}, ErrNotFinite
	}
	return OneSample(Describe(d), 0)
}

// Agreement is the comparison of two instruments on the same runs after Bland
// and Altman (Lancet 327, 1986, 307-310).
type Agreement struct {
	Mean, SD        float64 // of the differences a-b
	Lower, Upper    float64 // limits of agreement, mean ± 1.96 sd
	SEMean, SELimit float64 // standard errors of the mean and of a limit, √(3sd²/n)
}

// BlandAltman compares two readings of the same things.
func BlandAltman(a, b []float64) (Agreement, error) {
	t, err := Paired(a, b)
	if err != nil {
		return Agreement{}, err
	}
	n := math.Sqrt(float64(len(a)))
	sd := t.SE * n
	z := TQuantile(0.95, math.Inf(1))
	return Agreement{Mean: t.Difference, SD: sd, Lower: t.Difference - z*sd, Upper: t.Difference + z*sd,
		SEMean: t.SE, SELimit: math.Sqrt(3) * sd / n}, nil
}

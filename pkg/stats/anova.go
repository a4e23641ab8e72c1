package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ANOVA is a one-way analysis of variance.
type ANOVA struct {
	Groups, N           int
	SSBetween, SSWithin float64
	DFBetween, DFWithin float64
	MSBetween, MSWithin float64
	F, P                float64
}

// OneWay analyses the variance of groups of values. Empty groups are left out.
func OneWay(groups ...[]float64) (ANOVA, error) {
	var a ANOVA
	var all []float64
	for _, g := range groups {
		if !finite(g) {
			return a, ErrNotFinite
		}
		if len(g) > 0 {
			a.Groups++
			all = append(all, g...)
		}
	}
	a.N = len(all)
	a.DFBetween, a.DFWithin = float64(a.Groups-1), float64(a.N-a.Groups)
	if a.DFBetween < 1 || a.DFWithin < 1 {
		return a, ErrTooFew
	}
	grand := Describe(all).Mean
	for _, g := range groups {
		if len(g) == 0 {
			continue
		}
		s := Describe(g)
		a.SSBetween += float64(s.N) * (s.Mean - grand) * (s.Mean - grand)
		if s.N > 1 {
			a.SSWithin += s.Var() * float64(s.N-1)
		}
	}
	a.MSBetween, a.MSWithin = a.SSBetween/a.DFBetween, a.SSWithin/a.DFWithin
	a.F = a.MSBetween / a.MSWithin
	a.P = FP(a.F, a.DFBetween, a.DFWithin)
	return a, nil
}

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
	case math.IsInf(df2, 1) || df2 > 1e7:
		return distuv.ChiSquared{K: df1}.Survival(f * df1)
	}
	return distuv.F{D1: df1, D2: df2}.Survival(f)
}

// FQuantile returns the value that F exceeds with probability alpha.
func FQuantile(alpha, df1, df2 float64) float64 {
	if math.IsInf(df2, 1) || df2 > 1e7 {
		return distuv.ChiSquared{K: df1}.Quantile(1-alpha) / df1
	}
	return distuv.F{D1: df1, D2: df2}.Quantile(1 - alpha)
}

// Repeatability is the scatter within and between sessions as ISO 5725 names
// it, from a one-way analysis of variance.
type Repeatability struct {
	SR, SL, SRepro float64 // standard deviations: repeatability, between sessions, reproducibility
	Limit          float64 // repeatability limit: 95 % of differences of two runs are below it
	LimitRepro     float64
	DF             float64 // of SR
}

// RepeatabilityOf computes repeatability from groups of runs. A between-session
// variance that comes out negative is taken as zero, as ISO 5725-2 does.
func RepeatabilityOf(groups ...[]float64) (Repeatability, error) {
	a, err := OneWay(groups...)
	if err != nil {
		return Repeatability{}, err
	}
	sq := 0.0
	for _, g := range groups {
		sq += float64(len(g)) * float64(len(g))
	}
	n0 := (float64(a.N) - sq/float64(a.N)) / a.DFBetween // mean group size, ISO 5725-2
	vl := max((a.MSBetween-a.MSWithin)/n0, 0)
	f := TQuantile(0.95, math.Inf(1)) * math.Sqrt2
	r := Repeatability{SR: math.Sqrt(a.MSWithin), SL: math.Sqrt(vl), SRepro: math.Sqrt(a.MSWithin + vl), DF: a.DFWithin}
	r.Limit, r.LimitRepro = f*r.SR, f*r.SRepro
	return r, nil
}

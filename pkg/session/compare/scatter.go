package compare

import (
	"fmt"
	"math"

	"fromrest/pkg/stats"
)

// Allowance returns the standard deviation allowed for run-to-run scatter of a
// time of the given length, both in s.
func Allowance(seconds float64) float64 { return max(AllowanceShare*seconds, AllowanceLeast) }

// variance is the scatter that a verdict rests on.
type variance struct {
	s2       float64 // s²
	df       float64
	from     string
	shared   []float64 // s, of each mode's mean
	warnings []string
}

// t is the two-sided 95 % quantile.
func (v *variance) t() float64 {
	if !(v.df > 0) {
		return math.NaN()
	}
	return stats.TQuantile(1-Alpha, v.df)
}

// variance joins the scatter of the runs with what is known or allowed.
func (d *data) variance(f *fit, opts *Options) *variance {
	v := &variance{s2: math.NaN(), shared: make([]float64, len(d.names))}
	u2, mean := 0.0, 0.0
	for i, r := range d.runs {
		u2 += r.U * r.U / float64(len(d.runs))
		mean += r.Seconds / float64(len(d.runs))
		v.shared[d.mode[i]] = max(v.shared[d.mode[i]], r.Shared)
	}
	own := math.NaN()
	if f.df > 0 {
		own = f.rss / float64(f.df)
		v.s2, v.df, v.from = own, float64(f.df), "these runs"
	}
	switch {
	case opts.OwnScatter:
		if f.df == 0 {
			v.from = "nothing: these runs cannot show their scatter"
			v.warnings = append(v.warnings, "These runs cannot show their own scatter, and no other was to be used: nothing can be told apart.")
		}
	case opts.Past != nil && opts.Past.SD > 0 && opts.Past.DF > 0:
		v.join(opts.Past.SD*opts.Past.SD, opts.Past.DF, opts.Past.From, own, float64(f.df), dropPast)
	case f.df < enoughDF:
		a := Allowance(mean)
		total := a*a + u2
		// The measurement's part is known: only the allowance's is uncertain
		// (Welch-Satterthwaite).
		df := min(AllowanceDF*(total/(a*a))*(total/(a*a)), mostKnownDF)
		v.join(total, df, fmt.Sprintf("an allowance of %.3f s for run-to-run scatter (common practice)", a), own, float64(f.df), dropAllowance)
	}
	if v.s2 < u2 {
		v.s2 = u2
		v.warnings = append(v.warnings, "The times scatter less than the measurement alone would make them: the measurement's own uncertainty is used.")
	}
	return v
}

// join pools a variance known from elsewhere with that of the runs, unless the
// runs scatter more than it can explain.
func (v *variance) join(s2, df float64, from string, own, ownDF, rarely float64) {
	if ownDF == 0 {
		v.s2, v.df, v.from = s2, df, from
		return
	}
	if own > s2*stats.FQuantile(rarely, ownDF, df) {
		v.warnings = append(v.warnings, fmt.Sprintf(
			"These runs scatter by %.3f s, more than %s can explain: their own scatter is used.", math.Sqrt(own), from))
		return
	}
	v.s2 = (df*s2 + ownDF*own) / (df + ownDF)
	v.df, v.from = df+ownDF, "these runs joined with "+from
}

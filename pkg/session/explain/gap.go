package explain

import (
	"math"

	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

// Gap is the difference of modes a and b in the time from one speed in m/s to
// another, 0 being rest, over their runs' traces, in s. Where both were driven
// both ways the direction is taken out; U95 is Student's. It is false where the
// runs are too few.
func (t *Traced) Gap(a, b string, from, to float64) (uncert.Value, bool) {
	took := t.took(a, b, from, to)
	d, v, rss, n := 0.0, 0.0, 0.0, 0
	for _, w := range took {
		if len(w[0]) == 0 || len(w[1]) == 0 { // driven one way only
			t, err := stats.Welch(stats.Describe(append(took[0][0], took[1][0]...)), stats.Describe(append(took[0][1], took[1][1]...)))
			if err != nil {
				return uncert.Value{}, false
			}
			return uncert.Value{X: t.Difference, U: t.SE * stats.TQuantile(uncert.Level, t.DF) / uncert.Z95}, true
		}
		x, y := stats.Describe(w[0]), stats.Describe(w[1])
		d += (x.Mean - y.Mean) / 2
		v += (1/float64(x.N) + 1/float64(y.N)) / 4
		for _, s := range []stats.Summary{x, y} {
			if s.N > 1 {
				rss += s.Var() * float64(s.N-1)
			}
			n += s.N - 1
		}
	}
	if n < 1 {
		return uncert.Value{}, false
	}
	return uncert.Value{X: d, U: math.Sqrt(rss/float64(n)*v) * stats.TQuantile(uncert.Level, float64(n)) / uncert.Z95}, true
}

// took are the times in s that the runs of modes a and b take from one speed to
// another, by direction and then by mode.
func (t *Traced) took(a, b string, from, to float64) (took [2][2][]float64) {
	head, first := 0.0, true
	for i := range t.Runs {
		r := t.Runs[i].Run
		s := reachTime(r, to) - reachTime(r, from)
		if r.Mode != a && r.Mode != b || math.IsNaN(s) {
			continue
		}
		if first {
			head, first = r.HeadingDeg, false
		}
		mode := 0
		if r.Mode == b {
			mode = 1
		}
		cell := &took[session.Way(r.HeadingDeg, head)][mode]
		*cell = append(*cell, s)
	}
	return took
}

// reachTime is when a run's trace first reaches a speed, in s since the launch.
func reachTime(r *session.TimedRun, v float64) float64 {
	if v <= 0 {
		return 0
	}
	t, _ := passes(&r.Trace, v, math.Inf(1))
	return t
}

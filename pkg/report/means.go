package report

import (
	"math"

	"fromrest/pkg/analysis"
	"fromrest/pkg/stats"
	"fromrest/pkg/timing"
	"fromrest/pkg/uncert"
)

// Mean is the mean of the counted runs of one group for one target.
type Mean struct {
	X   float64 // s
	U95 float64 // s, half-width of the 95 % interval; NaN where unknown
	N   int     // runs in it
	// OneWay is set when all runs with a known heading went the same way, so
	// that grade and wind are in the mean.
	OneWay bool
}

// MeanOf is the mean of a target over the counted runs among those given, and
// false where none has it. Its interval is the wider of two: Student's interval
// of the runs' scatter, and what the uncertainties of the single times alone
// leave. With one run there is no scatter to see and the second remains.
func MeanOf(runs []*analysis.TimedRun, target string, from timing.Origin) (Mean, bool) {
	var x []float64
	var used []*analysis.TimedRun
	u2 := 0.0
	for _, r := range runs {
		t, ok := r.Time(target, from)
		if !r.Counted || !ok || math.IsNaN(t.Seconds) {
			continue
		}
		x = append(x, t.Seconds)
		used = append(used, r)
		u2 += (t.U95 / uncert.Z95) * (t.U95 / uncert.Z95)
	}
	n := float64(len(x))
	if n == 0 {
		return Mean{}, false
	}
	sum, ss := 0.0, 0.0
	for _, v := range x {
		sum += v
	}
	m := Mean{X: sum / n, N: len(x), OneWay: oneWay(used)}
	m.U95 = uncert.Z95 * math.Sqrt(u2) / n
	if len(x) > 1 {
		for _, v := range x {
			ss += (v - m.X) * (v - m.X)
		}
		scatter := stats.TQuantile(0.95, n-1) * math.Sqrt(ss/(n-1)/n)
		if scatter > m.U95 || math.IsNaN(m.U95) {
			m.U95 = scatter
		}
	}
	return m, true
}

// oneWay reports whether the known headings all lie on one side.
func oneWay(runs []*analysis.TimedRun) bool {
	first := math.NaN()
	for _, r := range runs {
		if math.IsNaN(r.HeadingDeg) {
			continue
		}
		if math.IsNaN(first) {
			first = r.HeadingDeg
		}
		if math.Cos((r.HeadingDeg-first)*math.Pi/180) < 0 {
			return false
		}
	}
	return !math.IsNaN(first)
}

// Group is the runs that belong together: of one mode, or of one log where no
// mode was given.
type Group struct {
	Name string
	Runs []*analysis.TimedRun
}

// Groups brings standing starts and pulls of one mode together, in the order
// their first run appears.
func Groups(runs []*analysis.TimedRun) []Group {
	var out []Group
	index := map[string]int{}
	for _, r := range runs {
		name := r.Mode
		if name == "" && r.Log != nil {
			name = r.Log.Name
		}
		i, ok := index[name]
		if !ok {
			i = len(out)
			index[name] = i
			out = append(out, Group{Name: name})
		}
		out[i].Runs = append(out[i].Runs, r)
	}
	return out
}

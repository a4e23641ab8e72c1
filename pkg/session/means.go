package session

import (
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

// Mean is the mean of the counted runs of one group for one target.
type Mean struct {
	X   float64 // s
	U95 float64 // s, half-width of the 95 % interval
	N   int     // runs in it
	// TwoWay is set when both directions were driven: X is then the mean of the
	// means of the two.
	TwoWay bool
	// OneWay is set when all headings are known and lie on one side, so that
	// grade and wind are in the mean.
	OneWay bool
}

// Means are the means of each group for a target, in the order of the groups; N
// is 0 where a group has no counted run that reached it. With two groups or
// more the scatter is that of all runs about their groups, as in a comparison;
// with one it is the group's own. Either is joined with an allowance while the
// runs are too few to show it, see package compare.
func Means(groups []Group, target string, from timing.Origin) []Mean {
	out := make([]Mean, len(groups))
	var runs []compare.Run
	some := 0
	for i, g := range groups {
		rs := g.runsAt(target, from)
		for _, r := range rs {
			if r.Counted {
				out[i].N++
			}
		}
		if out[i].N > 0 {
			some++
			out[i] = ownMean(rs)
		}
		runs = append(runs, rs...)
	}
	if some < 2 || some > MostLogs {
		return out // alone, or a heap of logs without modes
	}
	t, err := compare.At(target, string(from), runs, compare.Options{})
	if err != nil {
		return out
	}
	for i, g := range groups {
		for _, m := range t.Modes {
			if m.Name != g.Name || m.N == 0 {
				continue
			}
			out[i].X, out[i].U95, out[i].TwoWay = m.Mean, m.U95, false
			if !math.IsNaN(m.TwoWay) {
				out[i].X, out[i].U95, out[i].TwoWay = m.TwoWay, m.TwoWayU95, true
			}
		}
	}
	return out
}

// runsAt is a group's runs at a target as a comparison takes them, on one day. A
// time that a flag of its run touches is not counted.
func (g Group) runsAt(target string, from timing.Origin) []compare.Run {
	place := g.order
	if place == nil {
		place = LaunchOrder(g.Runs)
	}
	out := compareRuns(g.Runs, place, target, from, false)
	for i := range out {
		out[i].Mode, out[i].Block = g.Name, ""
	}
	return out
}

// ownMean is the mean of one group on its own scatter about the mean of each
// direction, joined with the allowance that package compare states.
func ownMean(runs []compare.Run) Mean {
	var way [2][]float64
	u2, shared, first := 0.0, 0.0, math.NaN()
	known := true
	for _, r := range runs {
		if !r.Counted {
			continue
		}
		if math.IsNaN(first) {
			first = r.Heading
		}
		known = known && !math.IsNaN(r.Heading)
		k := Way(r.Heading, first)
		way[k] = append(way[k], r.Seconds)
		u2 += r.U * r.U
		shared = max(shared, r.Shared)
	}
	if !known {
		way[0], way[1] = append(way[0], way[1]...), nil
	}
	n := float64(len(way[0]) + len(way[1]))
	m := Mean{N: int(n), TwoWay: len(way[1]) > 0, OneWay: known && len(way[1]) == 0}
	rss, df, weight, ways := 0.0, 0.0, 0.0, 0.0
	for _, x := range way {
		if len(x) == 0 {
			continue
		}
		d := stats.Describe(x)
		for _, v := range x {
			rss += (v - d.Mean) * (v - d.Mean)
		}
		df += float64(len(x) - 1)
		weight += 1 / float64(len(x))
		m.X += d.Mean
		ways++
	}
	m.X /= ways
	u2 /= n
	var s2 float64
	if df < enoughRuns {
		a := compare.Allowance(m.X)
		s2 = (rss + compare.AllowanceDF*(a*a+u2)) / (df + compare.AllowanceDF)
		df += compare.AllowanceDF
	} else {
		s2 = rss / df
	}
	m.U95 = stats.TQuantile(uncert.Level, df) * math.Sqrt(math.Max(s2, u2)*weight/(ways*ways)+shared*shared)
	return m
}

// Group is the runs that belong together: of one mode, or of one log where no
// mode was given.
type Group struct {
	Name  string
	Runs  []*TimedRun
	order []int // place of each run among all launches, from 1
}

// Groups brings standing starts and pulls of one mode together, in the order
// their first run appears.
func Groups(runs []*TimedRun) []Group {
	var out []Group
	place := LaunchOrder(runs)
	for k, r := range runs {
		name := r.Mode
		if name == "" && r.Log != nil {
			name = r.Log.Name
		}
		i := slices.IndexFunc(out, func(g Group) bool { return g.Name == name })
		if i < 0 {
			i, out = len(out), append(out, Group{Name: name})
		}
		out[i].Runs = append(out[i].Runs, r)
		out[i].order = append(out[i].order, place[k])
	}
	return out
}

// Ways counts the counted runs of a group by direction: those towards the heading
// of the first one that has any, in degrees, and those the other way. The heading
// is NaN where none is known; all count as one way then.
func (g Group) Ways() (heading float64, same, other int) {
	heading = math.NaN()
	var n [2]int
	for _, r := range g.Runs {
		if !r.Counted {
			continue
		}
		if math.IsNaN(heading) {
			heading = r.HeadingDeg
		}
		n[Way(r.HeadingDeg, heading)]++
	}
	return heading, n[0], n[1]
}

// Way is 0 for a heading that goes the same way as a first one and 1 for one that
// lies on the other side of the compass, both in degrees; 0 for unknown ones.
func Way(heading, first float64) int {
	if math.Cos((heading-first)*math.Pi/180) < 0 {
		return 1
	}
	return 0
}

// Counted is how many runs of a group count.
func (g Group) Counted() int {
	_, same, other := g.Ways()
	return same + other
}

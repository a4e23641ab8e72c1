package session

import (
	"cmp"
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
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

// Means are the means of the groups at a target, in their order: those of the
// comparison. N is 0 where a group has no counted run that reached it.
func (r *Result) Means(groups []Group, target string, from timing.Origin) []Mean {
	out := make([]Mean, len(groups))
	t := r.At(target, from)
	if t == nil {
		return out
	}
	for i, g := range groups {
		k := slices.IndexFunc(t.Modes, func(m compare.Mode) bool { return m.Name == g.Name })
		if k < 0 || g.Name == "" {
			continue
		}
		m := &t.Modes[k]
		out[i] = Mean{X: m.Mean, U95: m.U95, N: m.N, OneWay: len(m.Directions) == 1}
		if !math.IsNaN(m.TwoWay) {
			out[i].X, out[i].U95, out[i].TwoWay = m.TwoWay, m.TwoWayU95, true
		}
	}
	return out
}

// Group is the runs that belong together: of one mode, or of one log where no
// run has a mode.
type Group struct {
	Name string // "" for the runs without a mode where others have one: they are in no mean
	Runs []*TimedRun
}

// Called is what a reader is shown as the name of the group.
func (g Group) Called() string { return Called(g.Name) }

// Called is what a reader is shown as the name of a mode, which may be "".
func Called(mode string) string { return cmp.Or(mode, "no mode") }

// Groups are the standing starts by mode, in the order of ModeNames.
func (r *Result) Groups() []Group {
	starts := r.StandingStarts()
	names, byLog := r.modeNames(starts)
	out := make([]Group, 0, len(names)+1)
	for _, name := range append(names, "") {
		g := Group{Name: name}
		for _, run := range starts {
			if modeOf(run, byLog) == name {
				g.Runs = append(g.Runs, run)
			}
		}
		if len(g.Runs) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// modeOf is what a run is compared as: its mode, or its log where logs stand for modes.
func modeOf(r *TimedRun, byLog bool) string {
	if r.WitnessOf != nil {
		return modeOf(r.WitnessOf, byLog)
	}
	if byLog && r.Log != nil {
		return r.Log.Name
	}
	return r.Mode
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

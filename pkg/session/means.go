package session

import (
	"cmp"
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
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

// Means are the means of the groups at a target, in their order: those of the
// comparison. N is 0 where a group has no counted run that reached it.
func (r *Result) Means(groups []Group, target string, from timing.Origin) []Mean {
	out := make([]Mean, len(groups))
	if t := r.At(target, from); t != nil {
		fillMeans(out, groups, t)
	}
	return out
}

// Quantity is something of a run that is averaged beside its times: its value with its
// half-width in SI, and whether it counts; NaN where it is not known.
type Quantity func(*TimedRun) (x, u95 float64, counts bool)

// TrapSpeed is the mean speed in m/s over the last 66 ft before a distance, with rollout.
func TrapSpeed(target string) Quantity {
	return ofTime(target, func(t *timing.Time) (float64, float64) { return t.TrapSpeed, t.TrapU95 })
}

// EndSpeed is the speed in m/s at a distance, with rollout.
func EndSpeed(target string) Quantity {
	return ofTime(target, func(t *timing.Time) (float64, float64) { return t.EndSpeed, t.EndU95 })
}

func ofTime(target string, of func(*timing.Time) (x, u95 float64)) Quantity {
	return func(r *TimedRun) (x, u95 float64, counts bool) {
		t, ok := r.Time(target, timing.FromRollout)
		if !ok {
			return math.NaN(), math.NaN(), false
		}
		x, u95 = of(&t)
		return x, u95, r.Counts(&t)
	}
}

// Pull is the time in s from one speed to another.
func Pull(target string) Quantity {
	return func(r *TimedRun) (x, u95 float64, counts bool) {
		for _, t := range r.Pulls {
			if t.Name == target {
				return t.Seconds, t.U95, r.Counts(&t)
			}
		}
		return math.NaN(), math.NaN(), false
	}
}

// PeakAcceleration is the highest acceleration of a run in m/s².
func PeakAcceleration(r *TimedRun) (x, u95 float64, counts bool) {
	return r.PeakAccel, r.PeakAccelU95, r.Counted
}

// MeansOf are the means of the groups for each quantity, by quantity and group: made as
// those of times are. N is 0 where a group has no counted run with it.
func (r *Result) MeansOf(groups []Group, quantities ...Quantity) [][]Mean {
	out := make([][]Mean, len(quantities))
	starts := r.StandingStarts()
	names, byLog := r.modeNames(starts)
	order, blocks := LaunchOrder(starts), stretches(starts)
	places := make([]compare.Place, len(quantities))
	for k, of := range quantities {
		out[k] = make([]Mean, len(groups))
		for i, run := range starts {
			x, u95, counts := of(run)
			if !(x > 0) { // NaN, or not known
				continue
			}
			places[k].Runs = append(places[k].Runs, compare.Run{ID: run.ID, Mode: modeOf(run, byLog), Heading: run.HeadingDeg, Order: order[i], Block: blocks[i],
				Seconds: x, U: u95 / uncert.Z95, Cost: math.NaN(), Counted: counts})
		}
	}
	co := r.compareOptions(&CompareOptions{})
	co.Past = nil // is of times
	for k, t := range together(places, names, byLog, co) {
		if t != nil {
			fillMeans(out[k], groups, t)
		}
	}
	return out
}

// fillMeans takes the means of groups from a target.
func fillMeans(out []Mean, groups []Group, t *compare.Target) {
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

// FirstHeading is that of the first counted standing start that has one, in degrees, which
// Way holds all others against; NaN where none has.
func (r *Result) FirstHeading() float64 {
	for _, run := range r.StandingStarts() {
		if run.Counted && !math.IsNaN(run.HeadingDeg) {
			return run.HeadingDeg
		}
	}
	return math.NaN()
}

// Counted is how many runs of a group count.
func (g Group) Counted() int {
	_, same, other := g.Ways()
	return same + other
}

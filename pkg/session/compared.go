package session

import (
	"cmp"
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
)

// compareRuns is every run that reached a target, as package compare takes them.
func compareRuns(runs []*TimedRun, order []int, at place, byLog bool, targets map[string]timing.Target) []compare.Run {
	var out []compare.Run
	blocks, gaps := stretches(runs), Gaps(runs)
	for i, r := range runs {
		t, ok := r.Time(at.name, at.from)
		if !ok || math.IsNaN(t.Seconds) {
			continue
		}
		c := compare.Run{ID: r.ID, Mode: modeOf(r, byLog), Heading: r.HeadingDeg, Order: order[i], Block: blocks[i], Stretch: r.Stretch, Gap: gaps[i],
			Seconds: t.Seconds, U: t.U95 / uncert.Z95, Cost: r.cost(&t, targets), Noted: r.Noted, Said: r.Said, Counted: r.Counted, Why: r.Excluded}
		c.Shared = min(t.Common, c.U)
		c.U = math.Sqrt(c.U*c.U - c.Shared*c.Shared)
		if c.Counted && !r.Counts(&t) {
			c.Counted, c.Why = false, t.Doubt
		}
		for _, f := range r.Flags {
			if slices.Contains(t.Flags, f.Code) {
				c.Trace = f.Text
				break
			}
		}
		out = append(out, c)
	}
	return out
}

// stretches are the stretches of driving that runs belong to, from 0: a new one begins
// after a long gap, whatever the date.
func stretches(runs []*TimedRun) []int {
	out := make([]int, len(runs))
	var dated []int
	for i, r := range runs {
		if r.Log != nil && r.Log.dated() {
			dated = append(dated, i)
		}
	}
	slices.SortStableFunc(dated, func(a, b int) int { return runs[a].Launch.Compare(runs[b].Launch) })
	for k, i := range dated {
		if k == 0 {
			continue
		}
		before := dated[k-1]
		out[i] = out[before]
		if runs[i].Launch.Sub(runs[before].Launch).Seconds() > longestPause {
			out[i]++
		}
	}
	return out
}

// cost is what a time loses to a small retarding force, in s for each m/s² that
// acceleration loses: over a speed target the integral of dt²/dv, taken over the
// speeds that the run was timed to, and over a distance t³/3d, which is in proportion
// to it for launches of one shape. NaN without any.
func (r *TimedRun) cost(t *timing.Time, targets map[string]timing.Target) float64 {
	target, ok := targets[t.Name]
	if !ok || target.IsPull() {
		return math.NaN()
	}
	if target.IsDistance() {
		return t.Seconds * t.Seconds * t.Seconds / (3 * target.Distance)
	}
	type mark struct{ v, t float64 }
	marks := []mark{{}, {target.To, t.Seconds}}
	for _, o := range r.Times {
		if at, ok := targets[o.Name]; ok && o.From == t.From && o.Reason == "" && !at.IsDistance() && !at.IsPull() && at.To < target.To {
			marks = append(marks, mark{at.To, o.Seconds})
		}
	}
	slices.SortFunc(marks, func(a, b mark) int { return cmp.Compare(a.v, b.v) })
	sum := 0.0
	for i, m := range marks[1:] {
		if before := marks[i]; m.v > before.v {
			sum += (m.t - before.t) * (m.t - before.t) / (m.v - before.v)
		}
	}
	return sum
}

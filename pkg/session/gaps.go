package session

import (
	"fmt"
	"slices"

	"fromrest/pkg/motion/segment"
)

// Gaps are how long before each of some runs the start before it was, in s from launch to launch;
// 0 for the first of a stretch of driving and where a log has no date.
func Gaps(runs []*TimedRun) []float64 {
	out, blocks := make([]float64, len(runs)), stretches(runs)
	var dated []int
	for i, r := range runs {
		if r.Log != nil && r.Log.dated() && r.WitnessOf == nil {
			dated = append(dated, i)
		}
	}
	slices.SortStableFunc(dated, func(a, b int) int { return runs[a].Launch.Compare(runs[b].Launch) })
	for k, i := range dated {
		if k > 0 && blocks[i] == blocks[dated[k-1]] {
			out[i] = runs[i].Launch.Sub(runs[dated[k-1]].Launch).Seconds()
		}
	}
	return out
}

// coolDown flags the starts that came sooner after the one before than the sheet asks for.
func (r *Result) coolDown() {
	if r.Sheet == nil || r.Sheet.Plan.CoolDown == 0 {
		return
	}
	starts := r.StandingStarts()
	for i, gap := range Gaps(starts) {
		if want := r.Sheet.Plan.CoolDown; gap > 0 && gap < want {
			starts[i].Flags = append(slices.Clone(starts[i].Flags), segment.Flag{Code: segment.FlagCoolDown,
				Text: fmt.Sprintf("it began %.0f s after the start before it, and the sheet asks for %g s", gap, want)})
		}
	}
}

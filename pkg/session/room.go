package session

import (
	"math"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Room is the straight that a run of a mode needs: from the launch to the end of the target that
// lies farthest on, from there to standstill, and a margin. It is never less than what is known,
// and nothing shortens it for want of room.
type Room struct {
	Mode     string
	Target   string  // that lies farthest on; "" where nothing is known
	Distance float64 // m from the launch to its end, the mean of the runs
	Stop     float64 // m from there to standstill, the mean of the runs or the tester's entry
	Margin   float64 // m, as stated
	U95      float64 // m, half of the 95 % interval of what the next run takes; NaN where one run cannot show it
	Runs     int     // whose way to the target it is
	Entered  bool    // Stop is the tester's entry
	Unknown  string  // why it is not known, "" where it is
}

// Need is the straight in m that the next run needs, margin and interval included; NaN where it is
// not known.
func (r *Room) Need() float64 {
	if r.Unknown != "" {
		return math.NaN()
	}
	need := r.Distance + r.Stop + r.Margin
	if r.U95 > 0 {
		need += r.U95
	}
	return need
}

// Rooms is the straight that each mode needs, by the runs of a result and the tester's entries in a
// plan. A result of nil is one without runs: a target that is a distance needs none where the
// stopping distance is entered.
func Rooms(res *Result, plan *sheet.Plan, modes []string) []Room {
	out := make([]Room, len(modes))
	for i, m := range modes {
		out[i] = room(res, plan, m)
	}
	return out
}

func room(res *Result, plan *sheet.Plan, mode string) Room {
	best := Room{Mode: mode, Margin: roomMargin, Entered: plan.Stopping > 0}
	if plan.Margin > 0 {
		best.Margin = plan.Margin
	}
	if res != nil {
		for _, name := range res.Settings.Rows {
			if r, ok := best.over(res, plan, name); ok && r.Distance > best.Distance {
				best = r
			}
		}
	}
	if best.Target != "" {
		return best
	}
	if t, err := timing.ParseTarget(plan.Target); err == nil && t.IsDistance() && best.Entered {
		best.Target, best.Distance, best.Stop = t.Name, t.Distance+unit.Rollout, plan.Stopping
		best.U95 = 0 // a distance is what it is, and the entry the tester's
		return best
	}
	best.U95 = math.NaN()
	best.Unknown = "it takes two runs of the mode that show their stops, or the stopping distance in the sheet"
	return best
}

// over is the room to a target: each run's way to it and its own stop from there. A stop is shorter
// from a lower speed, by its square where the brakes hold alike; here it is taken as in proportion
// to the speed, which is on the safe side.
func (r Room) over(res *Result, plan *sheet.Plan, name string) (Room, bool) {
	var ways, stops, all []float64
	target, err := timing.ParseTarget(name)
	if err != nil {
		return r, false
	}
	for _, run := range res.StandingStarts() {
		t, ok := run.Time(name, timing.FromRollout)
		if run.Mode != r.Mode || run.WitnessOf != nil || !ok || math.IsNaN(t.Distance) {
			continue
		}
		way, stop := t.Distance+unit.Rollout, plan.Stopping
		if !r.Entered {
			if run.Halt.End == 0 {
				continue
			}
			end := target.To
			if target.IsDistance() {
				end = t.EndSpeed
			}
			if !(end > 0) {
				end = run.Halt.Speed // not known: as from its highest
			}
			stop = run.Halt.After * min(1, end/run.Halt.Speed)
		}
		ways, stops, all = append(ways, way), append(stops, stop), append(all, way+stop)
	}
	if len(all) < roomRuns && (!r.Entered || len(all) == 0) {
		return r, false
	}
	n := float64(len(all))
	r.Target, r.Runs = name, len(all)
	r.Distance, r.Stop = stats.Describe(ways).Mean, stats.Describe(stops).Mean
	if r.U95 = math.NaN(); len(all) >= roomRuns {
		r.U95 = stats.TQuantile(uncert.Level, n-1) * stats.Describe(all).SD * math.Sqrt(1+1/n)
	}
	return r, true
}

package session

import (
	"math"
	"slices"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// Lift is a stretch of a run without thrust, longer or deeper than most shifts.
type Lift struct {
	Speed   float64 // m/s at which it begins
	Seconds float64 // s
}

// shifts takes back the lifts that are shifts: no longer than the sheet's shift_s allows,
// or at the same speed and as long in most runs that pass it, as no foot lifts.
func (r *Result) shifts(sh *sheet.Sheet) {
	longest := 0.0
	if sh != nil {
		longest = shiftSlack * sh.Vehicle.ShiftTime
	}
	starts := r.StandingStarts()
	var shifting []*TimedRun
	for _, run := range starts {
		foreign := func(l Lift) bool { return l.Seconds > longest && !regular(starts, l) }
		if len(run.Lifts) > 0 && !flagged(run, segment.FlagTurn) && !slices.ContainsFunc(run.Lifts, foreign) {
			shifting = append(shifting, run)
		}
	}
	for _, run := range shifting { // after all are judged: regular looks at each
		run.shiftedOnly()
	}
}

// flagged reports whether a run has a flag.
func flagged(r *TimedRun, code string) bool {
	return slices.ContainsFunc(r.Flags, func(f segment.Flag) bool { return f.Code == code })
}

// regular reports whether most runs that pass the speed of a lift show one like it.
func regular(runs []*TimedRun, l Lift) bool {
	if l.Seconds > regularLongest {
		return false
	}
	passed, alike := 0, 0
	for _, r := range runs {
		if r.MaxSpeed < l.Speed*(1+regularSpeed) {
			continue
		}
		passed++
		if slices.ContainsFunc(r.Lifts, func(o Lift) bool {
			return math.Abs(o.Speed/l.Speed-1) < regularSpeed && math.Abs(math.Log(o.Seconds/l.Seconds)) < regularTime
		}) {
			alike++
		}
	}
	return alike >= regularRuns && float64(alike) >= regularShare*float64(passed)
}

// shiftedOnly takes the lifts of a run for shifts.
func (r *TimedRun) shiftedOnly() {
	lift := func(code string) bool { return code == segment.FlagLift }
	r.Lifts = nil
	r.Flags = slices.DeleteFunc(slices.Clone(r.Flags), func(f segment.Flag) bool { return lift(f.Code) })
	r.Times, r.Pulls = slices.Clone(r.Times), slices.Clone(r.Pulls)
	for _, times := range []*[]timing.Time{&r.Times, &r.Pulls} {
		for i := range *times {
			t := &(*times)[i]
			t.Flags = slices.DeleteFunc(slices.Clone(t.Flags), lift)
			if t.Doubt == segment.FlagLift {
				t.Doubt = ""
				if k := slices.IndexFunc(t.Flags, func(c string) bool { return slices.Contains(spoils, c) }); k >= 0 {
					t.Doubt = t.Flags[k]
				}
			}
		}
	}
	r.Counted, r.Excluded = false, ""
	r.count()
}

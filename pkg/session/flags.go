package session

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/unit"
)

// flags takes over the segment's flags, adds those that the estimate shows, and
// marks the times they touch.
func (r *TimedRun) flags(sg *segment.Segment, s *estimate.Samples, e *estimate.Estimate, at float64) {
	fl := slices.Clone(sg.Flags)
	if sg.Kind == segment.StandingStart && !has(sg, segment.FlagLift) {
		fl = append(fl, lifts(r, at)...)
	}
	if b := e.Before; b.Kind != estimate.Still && !has(sg, segment.FlagCreep) {
		fl = append(fl, foregoing(b))
	}
	if e.SetAside > 0 {
		fl = append(fl, segment.TimedFlag{Flag: segment.Flag{Code: segment.FlagOutlier,
			Text: plural(e.SetAside, "sample") + " far off the others set aside"}, Begin: math.Inf(1)})
	}
	if s.HeldFor > 0 {
		fl = append(fl, segment.TimedFlag{Flag: segment.Flag{Code: segment.FlagHeld,
			Text: fmt.Sprintf("speed values are refreshed only about every %.2g s", s.HeldFor)}, Begin: math.Inf(1)})
	}
	slices.SortStableFunc(fl, func(a, b segment.TimedFlag) int { return cmp.Compare(a.Begin, b.Begin) })
	seen := map[string]bool{}
	for _, f := range fl {
		if !seen[f.Code] {
			r.Flags = append(r.Flags, f.Flag)
		}
		seen[f.Code] = true
		for i := range r.Times {
			touch(&r.Times[i], &f, at, true)
		}
		for i := range r.Pulls {
			t := &r.Pulls[i]
			touch(t, &f, at, t.End-t.Seconds < f.End-at)
		}
	}
}

// touch marks a time that a flag lies before the end of, and within as far as it is said:
// what spoils a run spoils no time that ended before it.
func touch(t *timing.Time, f *segment.TimedFlag, at float64, within bool) {
	if !within || t.End <= f.Begin-at {
		return
	}
	if !slices.Contains(t.Flags, f.Code) {
		t.Flags = append(t.Flags, f.Code)
	}
	if t.Doubt == "" && slices.Contains(spoils, f.Code) {
		t.Doubt = f.Code
	}
}

// spoils are the flags that a time which ended before them does not mind.
var spoils = []string{segment.FlagLift, segment.FlagTurn, segment.FlagGap}

// foregoing is the flag of motion about the launch.
func foregoing(b estimate.Foregoing) segment.TimedFlag {
	f := segment.TimedFlag{Begin: b.From, End: b.To}
	switch span := b.To - b.From; b.Kind {
	case estimate.RollBack:
		f.Flag = segment.Flag{Code: segment.FlagRollBack, Text: fmt.Sprintf("it rolled back at %.2f m/s for %.1f s before it went", -b.Speed, span)}
	case estimate.Step:
		f.Flag = segment.Flag{Code: segment.FlagTwoStep, Text: fmt.Sprintf("it moved at %.2f m/s and stood again before it went", b.Speed)}
	default:
		f.Flag = segment.Flag{Code: segment.FlagCreep, Text: fmt.Sprintf("it moved at %.2f m/s before it went", b.Speed)}
	}
	return f
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// lifts looks for thrust taken away and given again: loss of speed longer or
// deeper than a shift, or a speed held, with more speed after it.
func lifts(r *TimedRun, at float64) (out []segment.TimedFlag) {
	tr := &r.Trace
	for i := 0; i < tr.Len(); i++ {
		if tr.T[i] < liftEarliest || tr.V[i] < liftSlowest || tr.A[i] > liftThrust {
			continue
		}
		j := i
		for j+1 < tr.Len() && tr.A[j+1] <= liftThrust {
			j++
		}
		later := max(0, slices.Max(tr.V[j:]))
		loss, span := tr.V[i]-tr.V[j], tr.T[j]-tr.T[i]
		sure := loss > liftSure*(tr.SV[i]+tr.SV[j])
		if later > tr.V[j]+goesOn && (span > liftSeconds && loss > liftSome && sure || loss > liftLoss && sure || span > idleSeconds) {
			out = append(out, segment.TimedFlag{Flag: segment.Flag{Code: segment.FlagLift,
				Text: fmt.Sprintf("no tractive force for %.1f s at %.0f mph", span, tr.V[i]/unit.MPH)}, Begin: at + tr.T[i], End: at + tr.T[j]})
			r.Lifts = append(r.Lifts, Lift{Speed: tr.V[i], Seconds: span})
		}
		i = j
	}
	return out
}

// count decides whether a run takes part in means: a standing start with nothing that
// spoils it, or nothing before the end of its first times.
func (r *TimedRun) count() {
	r.Counted = r.Kind == segment.StandingStart
	if !r.Counted {
		r.Excluded = "not a standing start"
		return
	}
	for i := range r.Flags {
		f := &r.Flags[i]
		switch f.Code {
		case segment.FlagRollingStart, segment.FlagLogStart, segment.FlagShort, segment.FlagCreep, segment.FlagRollBack:
			r.Counted, r.Excluded = false, f.Text
			return
		case segment.FlagLift, segment.FlagTurn:
			last, all := r.upTo(f.Code)
			if last == "" {
				r.Counted, r.Excluded = false, f.Text
				return
			}
			if !all {
				f.Text += "; times up to " + last + " ended before"
			}
		}
	}
}

// upTo is the target of the last time that a flag does not spoil, "" where it spoils all,
// and whether it spoils none.
func (r *TimedRun) upTo(code string) (last string, all bool) {
	all = true
	end := 0.0
	for _, t := range r.Times {
		switch {
		case t.Doubt == code:
			all = false
		case t.Doubt == "" && t.From == timing.FromRest && t.End > end:
			last, end = t.Name, t.End
		}
	}
	return last, all
}

// Counts reports whether a time of the run takes part in means.
func (r *TimedRun) Counts(t *timing.Time) bool {
	return r.Counted && t.Reason == "" && (t.Doubt == "" || r.Kept)
}

// leaveOut takes the times from a target on out of the means, for a reason of the sheet's.
func (r *TimedRun) leaveOut(target, reason string) {
	from := math.Inf(1)
	for _, t := range slices.Concat(r.Times, r.Pulls) {
		if t.Name == target {
			from = min(from, t.End)
		}
	}
	r.Times, r.Pulls = slices.Clone(r.Times), slices.Clone(r.Pulls)
	for _, list := range [][]timing.Time{r.Times, r.Pulls} {
		for i := range list {
			if list[i].End >= from {
				list[i].Doubt = reason
			}
		}
	}
}

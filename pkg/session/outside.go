package session

import (
	"cmp"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/outside"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

// Outside is a time of the sheet that was not measured by a log, beside what a log's run
// shows of it.
type Outside struct {
	Sheet  sheet.OutsideTime
	Run    *TimedRun
	Target string // its name
	outside.Time
	Reason string // why the two cannot be compared, "" where they can
}

// OutsideClock is what the times of one outside clock say of a log, and of themselves.
type OutsideClock struct {
	Log    *Log
	Origin outside.Origin
	By     string // as the sheet has it
	outside.Verdict
}

// Outside are the outside times of the sheet beside the runs of these logs: those of a
// drive that several logs recorded stand beside each of its runs. They are worked out anew
// at every call, and need the runs' traces.
func (r *Result) Outside() []Outside {
	var out []Outside
	for _, o := range r.outside {
		drive := cmp.Or(o.run.WitnessOf, o.run)
		for _, run := range r.Runs {
			if run == drive || run.WitnessOf == drive {
				out = append(out, run.beside(o.sheet))
			}
		}
	}
	return out
}

// outsideTime is a [[witness]] of the sheet and the run that it names.
type outsideTime struct {
	sheet sheet.OutsideTime
	run   *TimedRun
}

// takeOutside finds the runs of the outside times, and the mistakes among these.
func (r *Result) takeOutside(sh *sheet.Sheet, found *sheet.Resolved) (errs []error) {
	r.outside = nil
	for i, o := range sh.Outside {
		t, err := timing.ParseTarget(o.Target)
		switch {
		case err != nil || !slices.Contains(r.Settings.Targets, t.Name):
			errs = append(errs, sh.OutsideError(i, "runs are timed to no %q: add it to targets", o.Target))
		case found.Outside[i] >= 0:
			o.Target = t.Name
			r.outside = append(r.outside, outsideTime{o, r.Runs[found.Outside[i]]})
		}
	}
	return errs
}

// beside holds a run against an outside time of its drive.
func (r *TimedRun) beside(o sheet.OutsideTime) Outside {
	out := Outside{Sheet: o, Run: r, Target: o.Target}
	value := func(t timing.Time) uncert.Value { return uncert.Value{X: t.Seconds, U: t.U95 / uncert.Z95} }
	rest, ok := r.Time(o.Target, timing.FromRest)
	rolled, too := r.Time(o.Target, timing.FromRollout)
	switch {
	case !too || !ok && o.Origin == string(outside.Rest):
		out.Reason = "the log has no such time"
	case r.Trace.Len() < 2 || !(r.Rollout > 0):
		out.Reason = "the log shows no launch"
	}
	if out.Reason != "" {
		return out
	}
	out.Time = outside.Time{Run: cmp.Or(r.WitnessOf, r).ID, Seconds: uncert.Value{X: o.Seconds, U: o.U95 / uncert.Z95}, Origin: outside.Origin(o.Origin), Start: o.Start,
		Rest: value(rest), Rolled: value(rolled), Foot: uncert.Value{X: r.Rollout, U: r.RolloutU95 / uncert.Z95}, Trace: &r.Trace}
	if t, err := timing.ParseTarget(o.Target); err == nil && t.IsDistance() {
		out.End = rolled.EndSpeed
	}
	return out
}

// OutsideClocks are what the outside times say of each log, a clock and an origin at a time.
func (r *Result) OutsideClocks() []OutsideClock {
	type key struct {
		log    *Log
		origin outside.Origin
		by     string
	}
	groups := map[key][]outside.Time{}
	var order []key
	for _, o := range r.Outside() {
		if o.Reason != "" {
			continue
		}
		k := key{o.Run.Log, o.Origin, o.Sheet.By}
		if groups[k] == nil {
			order = append(order, k)
		}
		groups[k] = append(groups[k], o.Time)
	}
	var out []OutsideClock
	for _, k := range order {
		out = append(out, OutsideClock{k.log, k.origin, k.by, outside.Judge(groups[k])})
	}
	return out
}

package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// gather puts the outcomes together.
func (p *pipeline) gather(ctx context.Context, inputs []Input, done []outcome) *Result {
	res := &Result{Settings: p.settings()}
	for i := range done {
		switch err := done[i].err; {
		case err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()):
			res.Undone = append(res.Undone, cmp.Or(inputs[i].shown, inputs[i].Path))
		case err != nil:
			res.Failed = append(res.Failed, &InputError{Path: inputs[i].Path, Shown: inputs[i].shown, Err: err})
		default:
			res.Logs = append(res.Logs, done[i].log)
			res.Runs = append(res.Runs, done[i].runs...)
		}
	}
	if n := len(res.Undone); n > 0 {
		res.Warnings = append(res.Warnings, fmt.Sprintf("Interrupted: %d of %d logs were not analysed.", n, len(inputs)))
	}
	return res
}

// Merge puts the results of separate calls together into what one call over all their
// inputs with these options would have given. The parts were made with the Reading of
// the options. They are not changed and share their traces with the result.
func Merge(opts Options, parts ...*Result) *Result {
	read, err := opts.Reading()
	res := &Result{Settings: settings(&read, targets(read.Targets))}
	for _, p := range parts {
		res.Failed = append(res.Failed, p.Failed...)
		logs := map[*Log]*Log{}
		for _, l := range p.Logs {
			k := *l
			logs[l] = &k
			res.Logs = append(res.Logs, &k)
		}
		for _, r := range p.Runs {
			k := *r
			k.Log, k.ID = logs[r.Log], r.tail()
			res.Runs = append(res.Runs, &k)
		}
	}
	res.assemble(&opts)
	res.SheetError = errors.Join(err, res.SheetError)
	return res
}

// assemble makes one answer of what the logs gave, each by itself, and of the sheet.
// What is no drive of its own is found first, since it must not count twice; names
// come before the sheet, which knows logs and runs by what they are and then gives
// them its own names.
func (r *Result) assemble(o *Options) {
	r.compared = &comparison{opts: o.Compare}
	r.dropCopies()
	r.nameLogs()
	r.sort()
	r.nameRuns(nil)
	r.shifts(o.Sheet)
	r.drive(o.Sheet)
	r.learn()
	r.disagree()
	r.locate()
	r.coolDown()
	r.warn()
}

// warn collects what concerns the whole result.
func (r *Result) warn() {
	for _, l := range r.Logs {
		q := &l.Quality
		for _, w := range []struct {
			holds bool
			text  string
		}{
			{l.Undated, "has a time of day but no date."},
			{q.Source == recording.Position, "has no speed: it was taken from successive positions."},
			{cutOff(l), "is a compressed log that is cut off: what came after is lost."},
			{q.InertialOnly, "has no speed: its times are from the accelerometer alone, integrated between standstills."},
			{q.Source == recording.Wheel, "gives wheel speed: 1 % is allowed for the rolling radius, and wheel spin reads as speed."},
			{q.Rate > 0 && q.Rate < slowRate && !q.Fused(), fmt.Sprintf("is sampled at %.2g Hz: its times from rest depend on an assumed build-up of tractive force.", q.Rate)},
		} {
			if w.holds {
				r.Warnings = append(r.Warnings, l.Name+" "+w.text)
			}
		}
	}
	starts := r.StandingStarts()
	if _, byLog := r.modeNames(starts); byLog {
		return
	}
	n := 0
	for _, run := range starts {
		if run.Mode == "" && run.Counted {
			n++
		}
	}
	switch {
	case n == 1:
		r.Warnings = append(r.Warnings, "1 run without a mode is in no mean.")
	case n > 1:
		r.Warnings = append(r.Warnings, fmt.Sprintf("%d runs without a mode are in no mean.", n))
	}
}

// cutOff reports whether a log was compressed and lacks its end.
func cutOff(l *Log) bool {
	return l.Problems != nil && slices.ContainsFunc(l.Problems.Groups(), func(g *diag.Group) bool { return g.Kind == diag.CutOff })
}

// Only leaves nothing but some runs in a result, and their logs, or all where none is
// named. The error names the first that is not in it; nothing is changed then. Lineup
// stays.
func (r *Result) Only(ids ...string) error {
	if len(ids) == 0 {
		return nil
	}
	for _, id := range ids {
		if !slices.ContainsFunc(r.Runs, func(r *TimedRun) bool { return r.ID == id }) {
			return fmt.Errorf("%s: no such run in these logs", id)
		}
	}
	r.lineup = r.Lineup()
	r.Runs = slices.DeleteFunc(r.Runs, func(r *TimedRun) bool { return !slices.Contains(ids, r.ID) })
	r.site = r.site.only(r.Runs)
	r.Logs = slices.DeleteFunc(r.Logs, func(l *Log) bool {
		return !slices.ContainsFunc(r.Runs, func(r *TimedRun) bool { return r.Log == l })
	})
	if r.compared != nil {
		r.compared = &comparison{opts: r.compared.opts}
	}
	return nil
}

// tail is what follows the log's name in the identity of a run.
func (r *TimedRun) tail() string { return r.ID[strings.LastIndexByte(r.ID, '#')+1:] }

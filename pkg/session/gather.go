package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// gather puts the outcomes together in the order of the inputs.
func (p *pipeline) gather(ctx context.Context, inputs []Input, done []outcome) *Result {
	res := &Result{Settings: p.settings()}
	for i := range done {
		switch err := done[i].err; {
		case err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()):
			res.Undone = append(res.Undone, inputs[i].Path)
		case err != nil:
			res.Failed = append(res.Failed, &InputError{Path: inputs[i].Path, Err: err})
		default:
			res.Logs = append(res.Logs, done[i].log)
			res.Runs = append(res.Runs, done[i].runs...)
		}
	}
	nameLogs(res)
	warn(res)
	if n := len(res.Undone); n > 0 {
		res.Warnings = append(res.Warnings, fmt.Sprintf("Interrupted: %d of %d logs were not analysed.", n, len(inputs)))
	}
	return res
}

// nameLogs gives every log a short name of its own and the runs their ids.
func nameLogs(res *Result) {
	used := map[string]int{}
	for _, l := range res.Logs {
		name := stem(l.Path)
		if used[name] > 0 {
			if dir := filepath.Base(filepath.Dir(l.Path)); dir != "." && dir != string(filepath.Separator) {
				name = dir + "/" + name
			}
		}
		base := name
		for n := 2; used[name] > 0; n++ {
			name = fmt.Sprintf("%s(%d)", base, n)
		}
		used[name]++
		l.Name = name
	}
	for _, r := range res.Runs {
		r.ID = r.Log.Name + "#" + r.ID
	}
}

// stem is a path's last element without its ending.
func stem(path string) string {
	b := filepath.Base(path)
	return cmp.Or(strings.TrimSuffix(b, filepath.Ext(b)), b)
}

// warn collects what concerns the whole result.
func warn(res *Result) {
	for _, l := range res.Logs {
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
			{q.Rate > 0 && q.Rate < slowRate && !q.Fused(), fmt.Sprintf("has %.2g samples a second: its times from rest depend on an assumed build-up of thrust.", q.Rate)},
		} {
			if w.holds {
				res.Warnings = append(res.Warnings, l.Name+" "+w.text)
			}
		}
	}
}

// cutOff reports whether a log was compressed and lacks its end.
func cutOff(l *Log) bool {
	return l.Problems != nil && slices.ContainsFunc(l.Problems.Groups(), func(g *diag.Group) bool { return g.Kind == diag.CutOff })
}

// Copy copies a result with its logs and runs so far that a sheet can be applied
// to the copy; both share their traces.
func (r *Result) Copy() *Result {
	c := *r
	c.Logs, c.Runs = nil, nil
	logs := map[*Log]*Log{}
	for _, l := range r.Logs {
		k := *l
		logs[l] = &k
		c.Logs = append(c.Logs, &k)
	}
	for _, run := range r.Runs {
		k := *run
		k.Log = logs[run.Log]
		c.Runs = append(c.Runs, &k)
	}
	return &c
}

// Merge puts the results of separate calls together into what one call over all
// their inputs, in that order, would have given: names of logs and identities of
// runs are made unique anew and the warnings collected again. The parts are not
// changed and share their traces with the result.
func Merge(parts ...*Result) *Result {
	res := &Result{Settings: Settings{Model: ModelRevision}}
	for i, p := range parts {
		if i == 0 {
			res.Settings = p.Settings
		}
		c := p.Copy()
		for _, r := range c.Runs {
			r.ID = r.ID[strings.LastIndexByte(r.ID, '#')+1:]
		}
		res.Failed = append(res.Failed, c.Failed...)
		res.Logs = append(res.Logs, c.Logs...)
		res.Runs = append(res.Runs, c.Runs...)
	}
	nameLogs(res)
	warn(res)
	return res
}

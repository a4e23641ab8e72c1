package session

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

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
	if s := strings.TrimSuffix(b, filepath.Ext(b)); s != "" {
		return s
	}
	return b
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

// Merge puts the results of separate calls together into what one call over all
// their inputs, in that order, would have given: names of logs and identities of
// runs are made unique anew and the warnings collected again. The parts are not
// changed and share their traces with the result.
func Merge(parts ...*Result) *Result {
	res := &Result{}
	for i, p := range parts {
		if i == 0 {
			res.Settings = p.Settings
		}
		res.Failed = append(res.Failed, p.Failed...)
		logs := map[*Log]*Log{}
		for _, l := range p.Logs {
			c := *l
			logs[l] = &c
			res.Logs = append(res.Logs, &c)
		}
		for _, r := range p.Runs {
			c := *r
			c.Log = logs[r.Log]
			c.ID = r.ID[strings.LastIndexByte(r.ID, '#')+1:]
			res.Runs = append(res.Runs, &c)
		}
	}
	nameLogs(res)
	warn(res)
	return res
}

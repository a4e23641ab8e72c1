package session

import (
	"errors"
	"fmt"
	"slices"
	"time"
)

// Together puts the results of several sessions of one vehicle, each with its own sheet
// applied, into one whose modes can be compared: each stretch of driving has a term of its
// own there, so that a mode's day does not pass for the mode. Runs that stand for another
// run are left behind. The sheets' plans stand where they agree. The error is for a session
// without runs or dates, which no term can tell from another.
func Together(parts ...*Result) (*Result, error) { return ofDays(parts, false) }

// DayByDay is Together with the runs of each mode of each session as a mode of their own,
// called after the mode and the day. What the vehicle and what the day did are one there:
// the comparison says so of every pair of two days.
func DayByDay(parts ...*Result) (*Result, error) { return ofDays(parts, true) }

func ofDays(parts []*Result, apart bool) (*Result, error) {
	res := &Result{Settings: parts[0].Settings, compared: &comparison{opts: agreed(parts)}}
	for _, p := range parts {
		day, err := p.day()
		if err != nil {
			return nil, err
		}
		logs := map[*Log]*Log{}
		for _, l := range p.Logs {
			k := *l
			logs[l] = &k
			res.Logs = append(res.Logs, &k)
		}
		for _, r := range p.Runs {
			if r.WitnessOf != nil {
				continue
			}
			k := *r
			k.Log, k.ID = logs[r.Log], r.tail()
			if apart && k.Mode != "" {
				k.Mode += ", " + day
			}
			res.Runs = append(res.Runs, &k)
		}
		for _, w := range p.Warnings {
			if !slices.Contains(res.Warnings, w) {
				res.Warnings = append(res.Warnings, w)
			}
		}
	}
	res.dropCopies()
	res.nameLogs()
	res.sort()
	res.nameRuns(nil)
	res.Warnings = append(res.Warnings, differing(parts)...)
	return res, nil
}

// day is when a session was driven.
func (r *Result) day() (string, error) {
	starts := r.StandingStarts()
	if len(starts) == 0 {
		return "", errors.New("a session has no standing starts")
	}
	first := starts[0].Launch
	for _, s := range starts {
		if !s.Log.dated() {
			return "", fmt.Errorf("%s has no date: nothing tells its day from another", s.Log.Name)
		}
		if s.Launch.Before(first) {
			first = s.Launch
		}
	}
	return first.UTC().Format(time.DateOnly), nil
}

// agreed is how the modes of several sessions are held against each other: as every sheet says.
func agreed(parts []*Result) CompareOptions {
	var out CompareOptions
	for i, p := range parts {
		o := CompareOptions{}
		if p.compared != nil {
			o = p.compared.opts
		}
		if p.Sheet != nil && o.Target == "" && p.Sheet.Plan.Target != "" {
			name, from, _ := p.Primary()
			o.Target, o.From = name, from
		}
		if p.Sheet != nil && o.Smallest == 0 {
			o.Smallest = p.Sheet.Plan.Smallest
		}
		switch {
		case i == 0:
			out = o
		case o.Target != out.Target || o.From != out.From:
			out.Target, out.From = "", ""
		}
		if o.Smallest != out.Smallest {
			out.Smallest = 0
		}
	}
	return out
}

// differing says in what sessions that are held against each other are not alike.
func differing(parts []*Result) []string {
	var names []string
	for _, p := range parts {
		if v := p.vehicle(); v != "" && !slices.Contains(names, v) {
			names = append(names, v)
		}
	}
	if len(names) < 2 {
		return nil
	}
	return []string{fmt.Sprintf("The sheets name different vehicles, %q and %q: what differs between the days may be the vehicle's.", names[0], names[1])}
}

package session

import (
	"cmp"
	"errors"
	"slices"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// drive finds which runs are one drive and gives each the mode that the sheet says it
// was driven in, and whether it counts and why not. What the sheet does not speak of
// stays as it was.
func (r *Result) drive(sh *sheet.Sheet) {
	if sh == nil {
		r.join(r.ofOneMode(r.sameDrives(nil), nil), nil)
		return
	}
	r.Sheet = sh
	found, err := sh.Resolve(r.sheetLogs(), r.sheetRuns())
	marks := r.sheetMarks()
	r.takeNames(sh, found)
	drives := r.sameDrives(found)
	says, wrong := found.Assign(r.places(drives, found), marks)
	if one := r.ofOneMode(drives, says); len(one) < len(drives) {
		drives = one
		says, wrong = found.Assign(r.places(drives, found), marks)
	}
	errs := []error{err, wrong}
	for i, a := range says {
		if a.Keep && r.Runs[i].Kind != segment.StandingStart {
			errs = append(errs, sh.ErrorAt(a.Line, "run %q is no standing start: keep cannot count it", r.Runs[i].ID))
			says[i].Keep = false
		}
	}
	for i, a := range says {
		r.Runs[i].take(a)
		for _, p := range a.Parts {
			t, err := timing.ParseTarget(p.Target)
			if err != nil || !slices.Contains(r.Settings.Targets, t.Name) {
				errs = append(errs, sh.ErrorAt(p.Line, "run %q is timed to no %q: nothing of it is left out", r.Runs[i].ID, p.Target))
				continue
			}
			r.Runs[i].leaveOut(t.Name, p.Reason)
		}
	}
	errs = append(errs, r.takeOutside(sh, found)...)
	r.SheetError = errors.Join(errs...)
	r.join(drives, says)
	for _, l := range r.Logs {
		if l.Mode == "" {
			l.Mode = modeOfAll(r, l)
		}
	}
}

// take gives a run what the sheet says of it.
func (r *TimedRun) take(a sheet.Assignment) {
	r.Mode = cmp.Or(a.Mode, r.Mode, a.Planned)
	r.Noted, r.Said = a.Noted.Quantities(), a.Noted.Words()
	switch {
	case a.Excluded != "":
		r.Counted, r.Excluded = false, a.Excluded
	case a.Keep:
		r.Counted, r.Kept, r.Excluded = true, true, ""
	}
}

// takeNames gives logs and runs the names that the sheet has for them. Those that it
// does not know keep out of its way.
func (r *Result) takeNames(sh *sheet.Sheet, found *sheet.Resolved) {
	taken := map[string]bool{}
	for _, e := range sh.Logs {
		taken[e.Name] = true
	}
	var clash []*Log
	for i, l := range r.Logs {
		switch name := found.Logs[i]; {
		case name != "":
			l.Name = name
		case taken[l.Name]:
			clash = append(clash, l)
		default:
			taken[l.Name] = true
		}
	}
	nameApart(clash, taken)
	r.nameRuns(found.Runs)
}

// modeOfAll is the mode that all runs of a log have, "" where they differ.
func modeOfAll(res *Result, l *Log) string {
	mode, first := "", true
	for _, r := range res.Runs {
		if r.Log != l {
			continue
		}
		if !first && r.Mode != mode {
			return ""
		}
		mode, first = r.Mode, false
	}
	return mode
}

// sheetLogs describes the logs of a result as a session sheet knows them.
func (r *Result) sheetLogs() []sheet.Log {
	out := make([]sheet.Log, len(r.Logs))
	for i, l := range r.Logs {
		out[i] = sheet.Log{Name: l.Name, Path: l.given(), SHA256: l.Content, Bytes: l.ContentBytes, Prefix: l.prefix, Also: r.alsoCalled(l)}
	}
	return out
}

// sheetRuns describes the runs of a result as a session sheet knows them, in the
// order of the result.
func (r *Result) sheetRuns() []sheet.Run {
	out := make([]sheet.Run, len(r.Runs))
	for i, run := range r.Runs {
		out[i] = sheet.Run{ID: run.ID, Log: slices.Index(r.Logs, run.Log), Launch: run.Launch}
	}
	return out
}

// sheetMarks are the marks of a result's logs as a session sheet knows them.
func (r *Result) sheetMarks() []sheet.Mark {
	var out []sheet.Mark
	for _, l := range r.Logs {
		for _, m := range l.Marks {
			out = append(out, sheet.Mark{Log: l.Name, Time: m.Time, Text: cmp.Or(m.Text, m.Kind)})
		}
	}
	return out
}

// parseTargets reads the targets under a key of a sheet. The error names the line of
// those that are none; the others are returned beside it.
func parseTargets(sh *sheet.Sheet, key string, texts []string) ([]timing.Target, error) {
	var out []timing.Target
	var errs []error
	for _, text := range texts {
		t, err := timing.ParseTarget(text)
		if err != nil {
			errs = append(errs, sh.Errorf(key, "%v", err))
			continue
		}
		out = append(out, t)
	}
	return out, errors.Join(errs...)
}

package session

import (
	"cmp"
	"errors"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
)

// ApplySheet gives each run the mode that the session sheet says it was driven
// in, and sets which runs count and why not. What the sheet does not speak of
// stays as it was. An error names every mistake of the sheet in a line of its
// own, and nothing is changed then.
func ApplySheet(res *Result, sh *sheet.Sheet) error {
	if sh == nil {
		return errors.New("no session sheet given")
	}
	found, err := sh.Resolve(SheetLogs(res), SheetRuns(res))
	if err != nil {
		return err
	}
	as, err := found.Assign(LaunchOrder(res.Runs), SheetMarks(res))
	if err != nil {
		return err
	}
	for i, a := range as {
		r := res.Runs[i]
		if a.Mode != "" {
			r.Mode = a.Mode
		}
		switch {
		case a.Excluded != "":
			r.Counted, r.Excluded = false, a.Excluded
		case a.Keep:
			r.Counted, r.Excluded = true, ""
		}
	}
	for _, l := range res.Logs {
		if l.Mode == "" {
			l.Mode = modeOfAll(res, l)
		}
	}
	res.Sheet = sh
	return nil
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

// SheetLogs describes the logs of a result as a session sheet knows them.
func SheetLogs(res *Result) []sheet.Log {
	out := make([]sheet.Log, len(res.Logs))
	for i, l := range res.Logs {
		out[i] = sheet.Log{Name: l.Name, Path: l.Path, SHA256: l.SHA256, Bytes: l.Bytes}
	}
	return out
}

// SheetRuns describes the runs of a result as a session sheet knows them, in the
// order of the result.
func SheetRuns(res *Result) []sheet.Run {
	out := make([]sheet.Run, len(res.Runs))
	for i, r := range res.Runs {
		out[i] = sheet.Run{ID: r.ID, Log: slices.Index(res.Logs, r.Log), Launch: r.Launch}
	}
	return out
}

// SheetMarks are the marks of a result's logs as a session sheet knows them.
func SheetMarks(res *Result) []sheet.Mark {
	var out []sheet.Mark
	for _, l := range res.Logs {
		for _, m := range l.Marks {
			out = append(out, sheet.Mark{Log: l.Name, Time: m.Time, Text: cmp.Or(m.Text, m.Kind)})
		}
	}
	return out
}

// LaunchOrder is each run's place by its launch, from 1; by the order given
// where a log's clock has an arbitrary zero.
func LaunchOrder(runs []*TimedRun) []int {
	index := make([]int, len(runs))
	elapsed := false
	for i, r := range runs {
		index[i] = i
		elapsed = elapsed || r.Log == nil || r.Log.Clock == "elapsed"
	}
	if !elapsed {
		slices.SortStableFunc(index, func(a, b int) int { return runs[a].Launch.Compare(runs[b].Launch) })
	}
	place := make([]int, len(runs))
	for k, i := range index {
		place[i] = k + 1
	}
	return place
}

// SheetTargets returns the targets that a sheet adds to the usual ones. The error
// names the line of those that are none; the others are returned beside it.
func SheetTargets(sh *sheet.Sheet) ([]timing.Target, error) {
	var out []timing.Target
	var errs []error
	for _, text := range sh.Targets {
		t, err := timing.ParseTarget(text)
		if err != nil {
			errs = append(errs, sh.Errorf("targets", "%v", err))
			continue
		}
		out = append(out, t)
	}
	return out, errors.Join(errs...)
}

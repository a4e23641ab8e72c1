package session

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// DraftSheet is the text of a sheet for a result: that of its own sheet byte for byte
// with what it lacks added, or a new one with every run listed, under a title. What was
// left undone for a reason is in the error, beside a text that is usable.
func (r *Result) DraftSheet(title string) (string, error) {
	in := r.draft()
	if r.Sheet != nil {
		return r.Sheet.Redraft(in)
	}
	in.Title = title
	var b strings.Builder
	err := sheet.Draft(&b, in)
	return b.String(), err
}

// IdentifyRuns is the text of the result's sheet with an entry for each of some runs,
// and the identities by which it has them.
func (r *Result) IdentifyRuns(ids ...string) (text string, is []string, err error) {
	return r.Sheet.Identify(r.draft(), ids...)
}

// draft describes a result for the draft of its sheet.
func (r *Result) draft() sheet.DraftInput {
	in := sheet.DraftInput{Units: r.Settings.Units, Logs: r.sheetLogs(), Marks: r.sheetMarks()}
	place := LaunchOrder(r.Runs)
	speed := unit.ShownIn(r.Settings.Units)
	for i, run := range r.sheetRuns() {
		tr := r.Runs[i]
		d := sheet.DraftRun{Run: run, Order: place[i], Mode: tr.Mode, Note: fmt.Sprintf("to %s %s", uncert.RoundHalfUp(tr.MaxSpeed/speed.SpeedPer, 0), speed.Speed)}
		if !math.IsNaN(tr.HeadingDeg) {
			d.Note = "heading " + unit.Heading(tr.HeadingDeg) + ", " + d.Note
		}
		if !tr.Counted {
			d.Doubt = tr.Excluded
		}
		if tr.WitnessOf != nil {
			d.Mode = "" // it is said of the drive
		}
		in.Runs = append(in.Runs, d)
		if in.Date.IsZero() && tr.Log.dated() {
			in.Date = tr.Launch
		}
	}
	slices.SortStableFunc(in.Runs, func(a, b sheet.DraftRun) int { return a.Order - b.Order })
	in.Modes = sheet.ModesOf(in.Runs)
	return in
}

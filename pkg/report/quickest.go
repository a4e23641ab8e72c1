package report

import (
	"slices"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// What stands beneath a table in which the quickest mode is marked.
const (
	quickestNote = "Quicker than every other mode, as these runs show."
	unmarkedNote = "Where no mode is marked as the quickest, the runs cannot tell."
	untestedNote = "Only times from rest and with rollout are marked; the other rows are not compared."
)

// markQuickest marks in each row of times of a ModeTable the mode that the comparison tells
// to be quicker than every other, and says so beneath.
func markQuickest(t *document.Table, res *session.Result) {
	unmarked, untested := false, false
	for k := range t.Rows {
		r := &t.Rows[k]
		i := slices.IndexFunc(origins, func(o origin) bool { return o.section == r.Section })
		if i < 0 {
			untested = untested || r.Section != SectionRun
			continue
		}
		mode := quickest(res, r.Name, origins[i].from)
		at := slices.IndexFunc(t.Columns, func(c document.Column) bool { return c.Of == mode })
		if mode == "" || at < 0 {
			unmarked = true
			continue
		}
		c := &r.Cells[at]
		c.Strong, c.Notes = true, append(c.Notes, t.Footnote(quickestNote))
	}
	if unmarked {
		t.Footnote(unmarkedNote)
	}
	if untested {
		t.Footnote(untestedNote)
	}
}

// quickest is the mode that is told to be the quickest to a target, "" for none.
func quickest(res *session.Result, target string, from timing.Origin) string {
	if at := res.At(target, from); at != nil {
		return at.Quickest()
	}
	return ""
}

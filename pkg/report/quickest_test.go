package report_test

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// TestQuickestIsMarked checks on the demonstration that a mode is marked at exactly the
// targets where every pair of it is decided for it, and the same in every form.
func TestQuickestIsMarked(t *testing.T) {
	if testing.Short() {
		t.Skip("the demonstration takes seconds")
	}
	res := demoExplained(t, func(s string) string { return s }).Result
	table := report.QuickestTable(res)
	marked, unmarked := 0, 0
	for _, r := range table.Rows {
		from, timed := map[string]timing.Origin{report.SectionRest: timing.FromRest, report.SectionRollout: timing.FromRollout}[r.Section]
		for k, c := range r.Cells {
			want := timed && wins(res, r.Name, from, table.Columns[k].Of)
			if c.Strong != want {
				t.Errorf("%s %s of %s is marked: %v", r.Name, r.Section, table.Columns[k].Name, c.Strong)
			}
			if c.Strong {
				marked++
			} else if timed {
				unmarked++
			}
		}
	}
	if marked == 0 || unmarked == 0 {
		t.Fatalf("%d cells are marked and %d are not: this tells nothing", marked, unmarked)
	}
	var md, tex bytes.Buffer
	if err := document.Markdown(&md, table); err != nil {
		t.Fatal(err)
	}
	if err := document.LaTeX(&tex, table); err != nil {
		t.Fatal(err)
	}
	html := document.Fragment(table)
	for form, n := range map[string]int{"Markdown": strings.Count(md.String(), "**["), "HTML": strings.Count(html, "<b>"), "LaTeX": strings.Count(tex.String(), "& \\textbf{")} {
		if n != marked {
			t.Errorf("%s has %d marks, want %d", form, n, marked)
		}
	}
	for _, want := range []string{"Quicker than every other mode, as these runs show.", "Where no mode is marked as the quickest, the runs cannot tell."} {
		if !slices.Contains(table.Notes, want) {
			t.Errorf("no note says %q", want)
		}
	}
	if plain := report.ModeTable(res); slices.ContainsFunc(plain.Rows, func(r document.Row) bool {
		return slices.ContainsFunc(r.Cells, func(c document.Cell) bool { return c.Strong })
	}) {
		t.Error("a mode is marked unasked")
	}
}

// wins reports whether all pairs of a mode with others are decided for it.
func wins(res *session.Result, target string, from timing.Origin, mode string) bool {
	at := res.At(target, from)
	if at == nil {
		return false
	}
	n := 0
	for _, p := range at.Pairs {
		if p.A != mode && p.B != mode {
			continue
		}
		if n++; p.A == mode && p.Verdict != compare.AQuicker || p.B == mode && p.Verdict != compare.BQuicker {
			return false
		}
	}
	return n > 0 && n == len(at.Modes)-1
}

package report

import (
	"fmt"
	"io"
	"strings"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// TextWidth is how many columns of a terminal the text forms keep within.
const TextWidth = 80

// RunsText writes the timing table for a terminal, with what was flagged and
// warned of beneath it.
func RunsText(w io.Writer, res *session.Result) error {
	var b strings.Builder
	for _, l := range res.Logs {
		fmt.Fprintln(&b, logLine(l, res.Runs))
	}
	if len(res.Logs) > 0 {
		b.WriteString("\n")
	}
	tt := TimingTable(res)
	if len(tt.Columns) > 0 {
		b.WriteString(TableText(tt, TextWidth))
	}
	brakingText(&b, res)
	shortText(&b, res)
	if len(res.Runs) == 0 && len(res.Logs) > 0 {
		b.WriteString("No run was found.\n")
	}
	writeList(&b, "Flags", flagLines(res))
	writeList(&b, "Warnings", res.Warnings)
	if len(res.Runs) > 0 {
		b.WriteString("\n" + wrap("± is half of the 95 % interval. With rollout, time and distance count from the instant 1 ft (0.3048 m) has been covered. Trap speed is the mean over the last 66 ft.", TextWidth, "") + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// logLine is one log in one line: what it is and what was found in it.
func logLine(l *session.Log, runs []*session.TimedRun) string {
	n := map[segment.Kind]int{}
	for _, r := range runs {
		if r.Log == l {
			n[r.Kind]++
		}
	}
	s := fmt.Sprintf("%s: %s, %s Hz, %s", l.Path, strings.ToUpper(l.Format), trimZeros(l.Quality.Rate, 1), plural(n[segment.StandingStart], "standing start"))
	if n[segment.Rolling] > 0 {
		s += ", " + plural(n[segment.Rolling], "rolling pull")
	}
	if n[segment.Braking] > 0 {
		s += ", " + plural(n[segment.Braking], "braking")
	}
	if note := ClockNote(l); note != "" {
		s += " (" + note + ")"
	}
	return s
}

// shortText ends a table of several runs with the few targets most asked for, a
// run a line, which is what stays on the screen.
func shortText(b *strings.Builder, res *session.Result) {
	targets := headlineTargets(res, nil)
	var starts []*session.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.StandingStart && reaches(r, targets) {
			starts = append(starts, r)
		}
	}
	if len(starts) < 2 || len(targets) == 0 {
		return
	}
	columns := [][]string{{""}}
	for _, r := range starts {
		name := r.ID
		if !r.Counted {
			name += " (no)"
		}
		columns[0] = append(columns[0], name)
	}
	words := func(head string, f func(*session.TimedRun) string) {
		col := []string{head}
		for _, r := range starts {
			col = append(col, f(r))
		}
		if strings.TrimSpace(strings.Join(col[1:], "")) != "" {
			columns = append(columns, col)
		}
	}
	words("mode", func(r *session.TimedRun) string { return r.Mode })
	words("head", func(r *session.TimedRun) string { return heading(r.HeadingDeg) })
	for _, target := range targets {
		t := &Table{Columns: []Column{{Name: target}}}
		for _, r := range starts {
			t.Rows = append(t.Rows, Row{Unit: "s", Cells: []Cell{t.timeCell(r, target, timing.FromRollout)}})
		}
		col := columnText(t, 0)
		for i := range col[1:] {
			col[i+1] = stripMark(col[i+1])
		}
		columns = append(columns, col)
	}
	b.WriteString("\nIn short, with rollout\n" + sideBySide(columns, TextWidth))
}

func reaches(r *session.TimedRun, targets []string) bool {
	for _, t := range targets {
		if _, ok := r.Time(t, timing.FromRollout); ok {
			return true
		}
	}
	return false
}

// stripMark takes footnote marks off a printed cell.
func stripMark(s string) string {
	s, _, _ = strings.Cut(s, "[")
	return s
}

func brakingText(b *strings.Builder, res *session.Result) {
	t := BrakingTable(res)
	if len(t.Columns) == 0 {
		return
	}
	b.WriteString("\nBraking\n" + TableText(t, TextWidth))
}

// flagLines lists every flag of every run, a line each.
func flagLines(res *session.Result) []string {
	var out []string
	for _, r := range res.Runs {
		for _, f := range r.Flags {
			out = append(out, fmt.Sprintf("%s, %s: %s", r.ID, f.Code, f.Text))
		}
	}
	return out
}

func writeList(b *strings.Builder, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	b.WriteString("\n" + title + "\n")
	for _, l := range lines {
		b.WriteString(wrap("- "+l, TextWidth, "  ") + "\n")
	}
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

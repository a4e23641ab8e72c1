package report

import (
	"strings"
	"unicode/utf8"
)

// tableView is a timing table cut to a width that fits a page, cells ready to
// print.
type tableView struct {
	Logs    []logSpan
	Columns []runHead
	Rows    []rowView
	Notes   []noteView
}

// logSpan is the name of a log above its runs' columns.
type logSpan struct {
	Name string
	Span int
}

// runHead is a run's number above its column.
type runHead struct {
	Number string
	Struck bool
}

type rowView struct {
	Section, Name string // Section only on the first row of one
	Words         bool
	Cells         []cellView
}

type cellView struct {
	Pad, Value, Half string // padded with figure spaces to align on the point
	Notes            []string
	Struck           bool
}

type noteView struct{ Mark, Text string }

// tableColumns is how many runs stand side by side in the report.
const tableColumns = 6

func tableViews(t *Table) []tableView {
	var out []tableView
	for from := 0; from < len(t.Columns); from += tableColumns {
		to := min(from+tableColumns, len(t.Columns))
		v := tableView{}
		for _, c := range t.Columns[from:to] {
			log, number := splitID(c.Name)
			if n := len(v.Logs); n > 0 && v.Logs[n-1].Name == log {
				v.Logs[n-1].Span++
			} else {
				v.Logs = append(v.Logs, logSpan{log, 1})
			}
			v.Columns = append(v.Columns, runHead{number, c.Struck})
		}
		section := SectionRun
		used := map[int]bool{}
		for _, r := range t.Rows {
			row := rowView{Name: r.Label(), Words: r.Unit == ""}
			for _, c := range r.Cells[from:to] {
				cv := cellView{Struck: c.Struck}
				cv.Value, cv.Half = c.Printed()
				for _, n := range c.Notes {
					cv.Notes = append(cv.Notes, strings.Trim(noteMark(n), "[]"))
					used[n] = true
				}
				row.Cells = append(row.Cells, cv)
			}
			if emptyCells(row.Cells) {
				continue
			}
			if r.Section != section {
				section = r.Section
				row.Section = section
			}
			v.Rows = append(v.Rows, row)
		}
		alignRows(v.Rows, to-from)
		for i, n := range t.Notes {
			if used[i] {
				v.Notes = append(v.Notes, noteView{strings.Trim(noteMark(i), "[]"), n})
			}
		}
		out = append(out, v)
	}
	return out
}

func emptyCells(cells []cellView) bool {
	for _, c := range cells {
		if c.Value != "" {
			return false
		}
	}
	return true
}

// alignRows pads the numbers of each column with figure spaces, so that their
// points stand beneath each other in digits of one width.
func alignRows(rows []rowView, columns int) {
	for col := range columns {
		var at []*cellView
		for i := range rows {
			if !rows[i].Words && rows[i].Cells[col].Value != "" {
				at = append(at, &rows[i].Cells[col])
			}
		}
		alignPoint(at)
	}
}

const figureSpace = "\u2007"

func alignPoint(cells []*cellView) {
	whole, frac, half := 0, 0, 0
	for _, c := range cells {
		a, b, _ := strings.Cut(c.Value, ".")
		whole, frac, half = max(whole, len(a)), max(frac, len(b)), max(half, utf8.RuneCountInString(c.Half))
	}
	for _, c := range cells {
		a, b, dot := strings.Cut(c.Value, ".")
		c.Pad = strings.Repeat(figureSpace, whole-len(a))
		if frac > 0 && !dot {
			c.Value += "\u2008" // as wide as a point
		}
		c.Value += strings.Repeat(figureSpace, frac-len(b))
		if c.Half != "" {
			c.Half += strings.Repeat(figureSpace, half-utf8.RuneCountInString(c.Half))
		}
	}
}

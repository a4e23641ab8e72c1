package report

import (
	"strings"
	"unicode/utf8"

	"github.com/jedib0t/go-pretty/v6/table"
)

// TableText lays a table out for a terminal of the given width: as many columns
// side by side as fit, the rest beneath. Numbers are aligned on the decimal
// point, half-widths behind them. A mark points to the footnotes.
func TableText(t *Table, width int) string {
	label := 0
	for _, r := range t.Rows {
		label = max(label, utf8.RuneCountInString(rowLabel(r)))
	}
	var b strings.Builder
	for from := 0; from < len(t.Columns); {
		to, used := from, label
		var cols [][]string
		var widths []int
		for to < len(t.Columns) {
			col := columnText(t, to)
			w := 0
			for _, s := range col {
				w = max(w, utf8.RuneCountInString(s))
			}
			if to > from && used+columnGap+w > width {
				break
			}
			used += columnGap + w
			cols, widths = append(cols, col), append(widths, w)
			to++
		}
		if from > 0 {
			b.WriteString("\n")
		}
		b.WriteString(logHeader(t.Columns[from:to], label, widths, width))
		b.WriteString(blockText(t, cols, label))
		from = to
	}
	for i, n := range t.Notes {
		b.WriteString(wrap(noteMark(i)+" "+n, width, "    ") + "\n")
	}
	return b.String()
}

// columnGap is how many spaces stand between columns.
const columnGap = 2

// splitID parts a run's ID into the name of its log and its number.
func splitID(id string) (log, number string) {
	if i := strings.LastIndexByte(id, '#'); i > 0 {
		return id[:i], id[i:]
	}
	return "", id
}

// logHeader is a line with the name of each log above its runs, cut to the width
// of their columns; the last name may run on to the edge.
func logHeader(cols []Column, label int, widths []int, width int) string {
	line := strings.Repeat(" ", label)
	at := label
	for i := 0; i < len(cols); {
		log, _ := splitID(cols[i].Name)
		j, span := i, 0
		for ; j < len(cols); j++ {
			if l, _ := splitID(cols[j].Name); l != log {
				break
			}
			span += columnGap + widths[j]
		}
		at += span
		room := span - columnGap
		if j == len(cols) {
			room = max(room, width-(at-span)-columnGap)
		}
		if r := []rune(log); len(r) > room {
			log = string(r[:max(0, room-1)]) + "…"
		}
		line += strings.Repeat(" ", columnGap) + log
		if pad := at - utf8.RuneCountInString(line); pad > 0 && j < len(cols) {
			line += strings.Repeat(" ", pad)
		}
		i = j
	}
	if line = strings.TrimRight(line, " "); line == "" {
		return ""
	}
	return line + "\n"
}

// blockText sets some columns of a table beside their row names.
func blockText(t *Table, cols [][]string, label int) string {
	tw := table.NewWriter()
	style := table.StyleDefault
	style.Options = table.OptionsNoBordersAndSeparators
	style.Box.PaddingLeft, style.Box.PaddingRight = "", strings.Repeat(" ", columnGap)
	tw.SetStyle(style)
	tw.SetColumnConfigs([]table.ColumnConfig{{Number: 1, WidthMin: label}})
	head := table.Row{""}
	for _, c := range cols {
		head = append(head, c[0])
	}
	tw.AppendRow(head)
	section := SectionRun
	before := map[int]string{} // headings, which must not widen the first column
	n := 1
	for i, r := range t.Rows {
		if emptyRow(cols, i) {
			continue
		}
		if r.Section != section {
			section = r.Section
			before[n] = "\n" + section + "\n"
		}
		n++
		line := table.Row{rowLabel(r)}
		for _, c := range cols {
			line = append(line, c[i+1])
		}
		tw.AppendRow(line)
	}
	var b strings.Builder
	for i, line := range strings.Split(tw.Render(), "\n") {
		b.WriteString(before[i] + strings.TrimRight(line, " ") + "\n")
	}
	return b.String()
}

func emptyRow(cols [][]string, row int) bool {
	for _, c := range cols {
		if strings.TrimSpace(c[row+1]) != "" {
			return false
		}
	}
	return true
}

func rowLabel(r Row) string {
	s := r.Label()
	if r.Section != SectionRun {
		s = "  " + s
	}
	return s
}

// columnText is a column's name and cells, numbers padded so that their points
// stand beneath each other.
func columnText(t *Table, col int) []string {
	_, name := splitID(t.Columns[col].Name)
	out := []string{name}
	whole, frac := 0, 0
	for _, r := range t.Rows {
		v, _ := r.Cells[col].Printed()
		if r.Unit == "" {
			continue
		}
		a, b, _ := strings.Cut(v, ".")
		whole, frac = max(whole, len(a)), max(frac, len(b))
	}
	for _, r := range t.Rows {
		c := r.Cells[col]
		v, h := c.Printed()
		if r.Unit != "" && v != "" {
			a, b, dot := strings.Cut(v, ".")
			v = strings.Repeat(" ", whole-len(a)) + a
			if dot {
				v += "." + b
			}
			v += strings.Repeat(" ", 1+whole+frac-utf8.RuneCountInString(v))
			if h != "" {
				v += " ±" + h
			} else {
				v += " ±?"
			}
		}
		for _, n := range c.Notes {
			v += noteMark(n)
		}
		out = append(out, v)
	}
	return out
}

// noteMark is the mark of footnote i: a, b, ... z, aa, ab.
func noteMark(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('a'+(i-1)%26)) + s
	}
	return "[" + s + "]"
}

// sideBySide sets columns beside each other, cutting the first where the whole
// would be wider than allowed.
func sideBySide(columns [][]string, width int) string {
	widths := make([]int, len(columns))
	total := -columnGap
	for i, col := range columns {
		for _, s := range col {
			widths[i] = max(widths[i], utf8.RuneCountInString(s))
		}
		total += widths[i] + columnGap
	}
	if total > width {
		widths[0] = max(8, widths[0]-(total-width))
	}
	var b strings.Builder
	for row := range columns[0] {
		line := ""
		for i, col := range columns {
			r := []rune(col[row])
			if len(r) > widths[i] { // the end of a name tells runs apart
				r = append([]rune("…"), r[len(r)-widths[i]+1:]...)
			}
			line += string(r) + strings.Repeat(" ", widths[i]-len(r)+columnGap)
		}
		b.WriteString(strings.TrimRight(line, " ") + "\n")
	}
	return b.String()
}

// wrap breaks a text at spaces so that no line is longer than width; lines
// after the first begin with indent.
func wrap(s string, width int, indent string) string {
	return wrapAfter("", s, width, indent)
}

// wrapAfter is wrap for a text whose first line begins with the given label.
func wrapAfter(label, s string, width int, indent string) string {
	var lines []string
	line, empty := label, true
	for _, word := range strings.Fields(s) {
		switch {
		case empty:
			line, empty = line+word, false
		case utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width:
			lines = append(lines, line)
			line = indent + word
		default:
			line += " " + word
		}
	}
	return strings.Join(append(lines, line), "\n")
}

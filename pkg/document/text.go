package document

import (
	"cmp"
	"io"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/unit"
)

// TextWidth is how many columns of a terminal the text form keeps within where nothing is
// known of it, and at least.
const TextWidth = 80

// mostProse is how wide lines of running text are set in a terminal that is wider.
const mostProse = 100

// columnGap is how many spaces stand between columns.
const columnGap = 2

// Text writes a document for a terminal. A writer that has a method Columns, of a
// terminal's width, is given tables as wide as it is.
func Text(w io.Writer, blocks ...Block) error {
	t := textWriter{width: TextWidth}
	if s, ok := w.(interface{ Columns() int }); ok {
		t.width = max(t.width, s.Columns())
	}
	for _, b := range blocks {
		b.text(&t)
	}
	_, err := io.WriteString(w, unit.Printed(t.String()))
	return err
}

// textWriter is a text being written.
type textWriter struct {
	strings.Builder
	beneath bool // the last block was a heading
	width   int  // columns of tables
}

// prose is how wide running text is set.
func (w *textWriter) prose() int { return min(w.width, mostProse) }

// begin ends what stands before with a blank line where one belongs.
func (w *textWriter) begin(close bool) {
	if w.Len() > 0 && !w.beneath && !close {
		w.WriteString("\n")
	}
	w.beneath = false
}

func (h Heading) text(w *textWriter) {
	w.beneath = false
	w.begin(h.Close)
	s := h.Text
	if h.Note != "" {
		s += ", " + h.Note
	}
	w.WriteString(strings.Repeat(" ", h.Indent) + s + "\n")
	w.beneath = true
}

func (p Paragraph) text(w *textWriter) {
	w.begin(p.Close)
	label, indent := strings.Repeat(" ", p.Indent), strings.Repeat(" ", p.Indent+p.Hang)
	if p.Kind == Warning {
		label += "! "
	}
	w.WriteString(wrap(label, p.Text, w.prose(), indent) + "\n")
}

func (l List) text(w *textWriter) {
	if len(l.Items) == 0 {
		return
	}
	w.begin(l.Close)
	indent := strings.Repeat(" ", l.Indent)
	label := indent + "- "
	if l.Unmarked {
		label = indent
	}
	for _, s := range l.Items {
		w.WriteString(wrap(label, s, w.prose(), indent+"  ") + "\n")
	}
}

func (t Terms) text(w *textWriter) {
	w.begin(t.Close)
	indent := strings.Repeat(" ", t.Indent)
	for _, it := range t.Items {
		w.WriteString(wrap(indent+pad(it.Name, t.Width)+" ", it.Text, w.prose(), indent+strings.Repeat(" ", t.Width+1)) + "\n")
	}
}

func (l Lines) text(w *textWriter) {
	if len(l) == 0 {
		return
	}
	w.begin(false)
	for _, s := range l {
		w.WriteString(s + "\n")
	}
}

func (Markup) text(*textWriter) {}

func (t *Table) text(w *textWriter) {
	if t.Look == Titled && t.Title != "" {
		w.beneath = false
	}
	w.begin(false)
	switch t.Look {
	case Titled:
		if t.Title != "" {
			w.WriteString("  " + t.Title + "\n")
		}
		t.blocks(w, 2)
		if t.Note != "" {
			w.WriteString(wrap("  ", t.Note, w.prose(), "  ") + "\n")
		}
	case Whole:
		t.block(w, 0, 0, 2)
	case Summary:
		t.block(w, 0, w.width, 0)
	default:
		t.blocks(w, 0)
		var general []string
		for i, n := range t.Notes {
			if !t.marked(i) {
				general = append(general, n)
				continue
			}
			w.WriteString(wrap("["+mark(i)+"] ", n, w.prose(), "    ") + "\n")
		}
		if len(general) > 0 {
			w.WriteString("\n")
		}
		for _, n := range general {
			w.WriteString(wrap("", n, w.prose(), "") + "\n")
		}
	}
}

// blocks sets as many columns side by side as fit, the rest beneath.
func (t *Table) blocks(w *textWriter, indent int) {
	room, label := w.width-indent, widest(t.labels())
	for from := 0; from < len(t.Columns); {
		used, to := label, from
		for ; to < len(t.Columns); to++ {
			n := columnGap + widest(t.column(to))
			if to > from && used+n > room {
				break
			}
			used += n
		}
		if from > 0 {
			w.WriteString("\n")
		}
		t.Cut(from, to).block(w, label, room, indent)
		from = to
	}
}

// block sets the columns beside the names of the rows, which take a label's width
// at least and are cut where the whole would be wider than the room, 0 for any.
func (t *Table) block(w *textWriter, label, room, indent int) {
	columns := [][]string{t.labels()}
	columns[0][0] = pad(t.Corner, label)
	for i := range t.Columns {
		columns = append(columns, t.column(i))
	}
	lines, widths := sideBySide(columns, room)
	w.WriteString(t.groupLine(widths, w.width))
	if t.Look == Titled && len(t.Rows) > 0 && t.Rows[0].Section != "" {
		indent += 2
	}
	margin := strings.Repeat(" ", indent)
	w.WriteString(strings.TrimRight(margin+lines[0], " ") + "\n")
	i := 0
	t.sections(func(section string, _ Row) {
		i++
		switch {
		case section == "":
		case t.Look == Titled:
			w.WriteString(wrap("  ", section, w.prose(), "  ") + "\n")
		default:
			w.WriteString("\n" + section + "\n")
		}
		w.WriteString(strings.TrimRight(margin+lines[i], " ") + "\n")
	})
}

// labels are the corner and the names of the rows.
func (t *Table) labels() []string {
	out := []string{t.Corner}
	for _, r := range t.Rows {
		s := t.label(r)
		if t.Look == Numbers && r.Section != t.Rows[0].Section {
			s = "  " + s
		}
		out = append(out, s)
	}
	return out
}

// column is a column's name and its cells, numbers padded so that their points
// stand beneath each other.
func (t *Table) column(col int) []string {
	out := []string{t.Columns[col].short()}
	d := t.digits(col, false)
	for _, r := range t.Rows {
		c := r.Cells[col]
		v, h := c.Printed()
		if c.numeric() && !c.Whole && (t.Look == Numbers || t.Look == Summary) {
			whole, _, _ := strings.Cut(v, ".")
			v = pad(strings.Repeat(" ", d.whole-len(whole))+v, 1+d.whole+d.frac)
			v += " ±" + cmp.Or(h, "?")
		}
		if t.Look == Numbers {
			v += c.marks("[", "]")
		}
		out = append(out, v)
	}
	return out
}

// groupLine is a line with the name of each group above its columns, cut to their
// width; the last name may run on to the edge. It is empty without groups.
func (t *Table) groupLine(widths []int, width int) string {
	names, spans := t.groups()
	line := strings.Repeat(" ", widths[0])
	at, col := widths[0], 1
	for i, name := range names {
		span := 0
		for range spans[i] {
			span += columnGap + widths[col]
			col++
		}
		room := span - columnGap
		if i == len(names)-1 {
			room = max(room, width-at-columnGap)
		}
		if r := []rune(name); len(r) > room {
			name = string(r[:max(0, room-1)]) + "…"
		}
		at += span
		line = pad(line+strings.Repeat(" ", columnGap)+name, at)
	}
	if line = strings.TrimRight(line, " "); line == "" {
		return ""
	}
	return line + "\n"
}

// sideBySide sets columns of cells beside each other. Where the lines would be
// wider than the room, which is 0 for any, the first column is cut.
func sideBySide(columns [][]string, room int) (lines []string, widths []int) {
	total := -columnGap
	for _, c := range columns {
		widths = append(widths, widest(c))
		total += widest(c) + columnGap
	}
	if room > 0 && total > room {
		widths[0] = max(leastLabel, widths[0]-(total-room))
	}
	for row := range columns[0] {
		line := ""
		for i, c := range columns {
			s := c[row]
			if r := []rune(s); len(r) > widths[i] { // the end of a name tells rows apart
				s = "…" + string(r[len(r)-widths[i]+1:])
			}
			line += pad(s, widths[i]+columnGap)
		}
		lines = append(lines, strings.TrimRight(line, " "))
	}
	return lines, widths
}

// leastLabel is how wide the names of rows are left, at least.
const leastLabel = 8

func widest(cells []string) int {
	n := 0
	for _, s := range cells {
		n = max(n, utf8.RuneCountInString(s))
	}
	return n
}

// pad fills a text with spaces to a width.
func pad(s string, width int) string {
	return s + strings.Repeat(" ", max(0, width-utf8.RuneCountInString(s)))
}

// wrap breaks a text at spaces so that no line is longer than width. The first
// line begins with a label, those after it with indent.
func wrap(label, s string, width int, indent string) string {
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

package document

import (
	"io"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/unit"
)

// Markdown writes a document as Markdown with tables of bars.
func Markdown(w io.Writer, blocks ...Block) error {
	var m markdownWriter
	for _, b := range blocks {
		b.markdown(&m)
	}
	_, err := io.WriteString(w, unit.Printed(m.String()))
	return err
}

// markdownWriter is a Markdown text being written.
type markdownWriter struct {
	strings.Builder
	near bool // the last block was a heading with its list right beneath
}

func (w *markdownWriter) begin() {
	if w.Len() > 0 {
		w.WriteString("\n")
	}
	w.near = false
}

func (h Heading) markdown(w *markdownWriter) {
	w.begin()
	s := h.Text
	if h.Note != "" {
		s += ", " + h.Note
	}
	if h.Level == 0 {
		w.WriteString("**" + s + "**\n")
		return
	}
	w.WriteString(strings.Repeat("#", h.Level) + " " + s + "\n")
	w.near = h.Near
}

func (p Paragraph) markdown(w *markdownWriter) {
	w.begin()
	if p.Kind == Warning {
		w.WriteString("> ")
	}
	w.WriteString(escapeMarkdown(p.Text) + "\n")
}

func (l List) markdown(w *markdownWriter) {
	if len(l.Items) == 0 {
		return
	}
	if !w.near {
		w.begin()
	}
	w.near = false
	for _, s := range l.Items {
		if l.Broken {
			w.WriteString(wrap("- ", s, TextWidth, "    ") + "\n")
			continue
		}
		w.WriteString("- " + escapeMarkdown(s) + "\n")
	}
}

func (Terms) markdown(*markdownWriter) {}

func (l Lines) markdown(w *markdownWriter) {
	for _, s := range l {
		w.begin()
		w.WriteString(s + "\n")
	}
}

func (Markup) markdown(*markdownWriter) {}

func (t *Table) markdown(w *markdownWriter) {
	w.begin()
	if t.Look == Titled {
		w.WriteString(t.Title + "\n\n")
	}
	lines := [][]string{{escapeMarkdown(t.Corner)}, nil}
	for _, c := range t.Columns {
		lines[0] = append(lines[0], struckOut(escapeMarkdown(c.Name), c.Struck, "~~", "~~"))
	}
	number := t.numbersMarkdown()
	t.sections(func(section string, r Row) {
		if section != "" {
			lines = append(lines, append([]string{"**" + section + "**"}, make([]string, len(t.Columns))...))
		}
		line := []string{escapeMarkdown(t.label(r))}
		for i, c := range r.Cells {
			line = append(line, number(i, &c))
		}
		lines = append(lines, line)
	})
	t.barsMarkdown(w, lines)
	if len(t.Notes) > 0 || t.Note != "" {
		w.WriteString("\n")
	}
	for i, n := range t.Notes {
		n = escapeMarkdown(n)
		if t.marked(i) {
			n = "[" + mark(i) + "] " + n
		}
		w.WriteString(n + "  \n")
	}
	if t.Note != "" {
		w.WriteString(t.Note + "\n")
	}
}

// numbersMarkdown returns how the cell of a column is set: numbers on their points, by spaces
// as wide as a digit, which a reader of Markdown keeps.
func (t *Table) numbersMarkdown() func(col int, c *Cell) string {
	on := make([]digits, len(t.Columns))
	marked := make([]int, len(t.Columns)) // letters of the longest marks
	for i := range t.Columns {
		on[i] = t.digits(i, false)
		for _, r := range t.Rows {
			marked[i] = max(marked[i], len(r.Cells[i].marks("[", "]")))
		}
	}
	return func(i int, c *Cell) string {
		v, h := c.Printed()
		marks := c.marks("[", "]")
		if t.Look == Numbers && c.numeric() && !c.Whole {
			v = c.padded(v, on[i])
			if h != "" {
				v += " ±" + h
			}
			marks += strings.Repeat(figureSpace, on[i].half-len(h)+marked[i]-len(marks))
		} else if v = escapeMarkdown(v); h != "" {
			v += " ±" + h
		}
		before := v[:len(v)-len(strings.TrimLeft(v, figureSpace))] // emphasis begins at a letter
		return before + c.stoodOut(struckOut(strings.TrimPrefix(v, before), c.Struck, "~~", "~~"), "**", "**") + marks
	}
}

// barsMarkdown writes the lines of a table, the second of which is the rule beneath the head.
// A table of numbers stands in columns as text too.
func (t *Table) barsMarkdown(w *markdownWriter, lines [][]string) {
	widths := make([]int, len(lines[0]))
	for _, line := range lines {
		for i, s := range line {
			if t.Look == Numbers {
				widths[i] = max(widths[i], utf8.RuneCountInString(s), 3)
			}
		}
	}
	for k, line := range lines {
		if k == 1 {
			w.WriteString(t.ruleMarkdown(widths))
			continue
		}
		for i, s := range line {
			if fill := strings.Repeat(" ", max(0, widths[i]-utf8.RuneCountInString(s))); i == 0 {
				s += fill
			} else {
				s = fill + s
			}
			if s != "" {
				s = " " + s
			}
			w.WriteString("|" + s + " ")
		}
		w.WriteString("|\n")
	}
}

// ruleMarkdown is the rule beneath the head of a table.
func (t *Table) ruleMarkdown(widths []int) string {
	if t.Look == Titled {
		return strings.Repeat("| --- ", len(widths)) + "|\n"
	}
	s := "|:" + strings.Repeat("-", max(2, widths[0]+1))
	for _, n := range widths[1:] {
		s += "|" + strings.Repeat("-", max(2, n+1)) + ":"
	}
	return s + "|\n"
}

var markdownEscaper = strings.NewReplacer(`\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`, "<", "&lt;", "`", "\\`", "~", `\~`, "\n", " ")

func escapeMarkdown(s string) string { return markdownEscaper.Replace(s) }

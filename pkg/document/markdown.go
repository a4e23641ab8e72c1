package document

import (
	"io"
	"strings"

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
	rule := "|:--" + strings.Repeat("|--:", len(t.Columns)) + "|\n"
	if t.Look == Titled {
		rule = strings.Repeat("| --- ", 1+len(t.Columns)) + "|\n"
	}
	w.WriteString(strings.TrimSuffix("| "+escapeMarkdown(t.Corner), " ") + " |")
	for _, c := range t.Columns {
		w.WriteString(" " + struckOut(escapeMarkdown(c.Name), c.Struck, "~~", "~~") + " |")
	}
	w.WriteString("\n" + rule)
	t.sections(func(section string, r Row) {
		if section != "" {
			w.WriteString("| **" + section + "** |" + strings.Repeat(" |", len(t.Columns)) + "\n")
		}
		w.WriteString("| " + escapeMarkdown(t.label(r)) + " |")
		for _, c := range r.Cells {
			v, h := c.Printed()
			v = escapeMarkdown(v)
			if h != "" {
				v += " ±" + h
			}
			w.WriteString(" " + c.stoodOut(struckOut(v, c.Struck, "~~", "~~"), "**", "**") + c.marks("[", "]") + " |")
		}
		w.WriteString("\n")
	})
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

var markdownEscaper = strings.NewReplacer(`\`, `\\`, "|", `\|`, "*", `\*`, "_", `\_`, "<", "&lt;", "`", "\\`", "~", `\~`, "\n", " ")

func escapeMarkdown(s string) string { return markdownEscaper.Replace(s) }

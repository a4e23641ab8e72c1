package document

import (
	"cmp"
	"fmt"
	"html"
	"io"
	"strings"

	"fromrest/pkg/unit"
)

// HTML writes a document as a piece of HTML that goes into a page or pastes into
// another document.
func HTML(w io.Writer, blocks ...Block) error {
	_, err := io.WriteString(w, Fragment(blocks...))
	return err
}

// Fragment is a document as a piece of HTML.
func Fragment(blocks ...Block) string {
	var b strings.Builder
	for _, x := range blocks {
		x.html(&b)
	}
	return b.String()
}

func (h Heading) html(b *strings.Builder) {
	b.WriteString("<h3>" + escapeHTML(h.Text) + noteHTML(escapeHTML(h.Note)) + "</h3>\n")
}

// escapeHTML is a text as it is printed, safe in HTML.
func escapeHTML(s string) string { return html.EscapeString(unit.Printed(s)) }

// noteHTML is a remark behind a name, nothing for none.
func noteHTML(escaped string) string {
	if escaped == "" {
		return ""
	}
	return ` <span class="note">` + escaped + `</span>`
}

func (p Paragraph) html(b *strings.Builder) {
	open := map[Kind]string{Plain: "<p>", Remark: `<p class="note">`, Warning: `<p class="flag">`}[p.Kind]
	b.WriteString(open + escapeHTML(p.Text) + "</p>\n")
}

func (l List) html(b *strings.Builder) {
	if len(l.Items) == 0 {
		return
	}
	end := "\n"
	if l.Close {
		end = ""
	}
	b.WriteString("<ul>" + end)
	for _, s := range l.Items {
		b.WriteString("<li>" + escapeHTML(s) + "</li>" + end)
	}
	b.WriteString("</ul>\n")
}

func (t Terms) html(b *strings.Builder) {
	b.WriteString("<dl>")
	for _, it := range t.Items {
		fmt.Fprintf(b, "<div><dt>%s</dt><dd>%s</dd></div>", escapeHTML(it.Name), escapeHTML(it.Text))
	}
	b.WriteString("</dl>\n")
}

func (l Lines) html(b *strings.Builder) {
	for _, s := range l {
		Paragraph{Text: s}.html(b)
	}
}

func (m Markup) html(b *strings.Builder) { b.WriteString(string(m)) }

// htmlLook is the markup around a table, in order. {title}, {label}, {n} and {all}
// stand for the title, the label and how many columns there are, without that of
// the names and with it; {section} for the heading of a section.
type htmlLook struct{ open, body, section, row, end, close string }

const (
	scrollHTML = `<section class="scroll" tabindex="0" aria-label="{label}">`
	partHTML   = `<tr class="part"><th scope="rowgroup" colspan="{n}">{section}</th><td></td></tr>`
)

var htmlLooks = map[Look]htmlLook{
	Numbers: {open: "<table>\n<caption>{title}</caption>\n", body: "\n<tbody>\n",
		section: `<tr><th scope="rowgroup" colspan="{all}">{section}</th></tr>` + "\n", end: "\n", close: "</tbody>\n</table>\n"},
	Page: {open: scrollHTML + "\n<table class=\"timing\">", body: "\n<tbody>",
		section: "\n" + partHTML, row: "\n", close: "</tbody></table></section>\n"},
	Headline: {open: scrollHTML + "<table class=\"head\">\n",
		section: "\n<tbody>" + partHTML, row: "\n", close: "</tbody>\n</table></section>\n"},
	Titled: {open: scrollHTML + "\n<table class=\"timing\"><caption>{title}</caption>\n", body: "\n<tbody>\n",
		end: "\n", close: "</tbody></table></section>\n"},
	Whole: {open: scrollHTML + "<table>", body: "<tbody>", close: "</tbody></table></section>\n"},
}

// untitledHTML begins a Titled table that has no title.
const untitledHTML = scrollHTML + `<table class="timing">`

func (t *Table) html(b *strings.Builder) {
	look, page := htmlLooks[t.Look], t.Look == Page || t.Look == Headline
	if t.Look == Titled && t.Title == "" {
		look.open, look.body = untitledHTML, "<tbody>\n"
	}
	escape := escapeHTML
	if page { // as package html/template does, with which pages are made
		escape = func(s string) string { return strings.ReplaceAll(escapeHTML(s), "+", "&#43;") }
	}
	n := len(t.Columns)
	fill := strings.NewReplacer("{title}", escape(t.Title), "{label}", escape(cmp.Or(t.Label, t.Title)), "{n}", fmt.Sprint(n), "{all}", fmt.Sprint(n+1))
	b.WriteString(fill.Replace(look.open))
	t.headHTML(b, escape)
	b.WriteString(look.body)
	number := t.numbersHTML(escape)
	first := true
	t.sections(func(section string, r Row) {
		if section != "" {
			if !first && t.Look == Headline {
				b.WriteString("</tbody>")
			}
			before, after, _ := strings.Cut(look.section, "{section}")
			b.WriteString(fill.Replace(before) + escape(section) + after)
		}
		first = false
		b.WriteString(look.row + rowHTML(t.Look, r) + "<th scope=\"row\">" + struckOut(escape(t.label(r)), r.Struck, "<s>", "</s>") + noteHTML(escape(r.Note)) + "</th>")
		for i, c := range r.Cells {
			b.WriteString("<td>" + number(i, &c) + "</td>")
		}
		b.WriteString("</tr>" + look.end)
	})
	b.WriteString(look.close)
	t.notesHTML(b, escape)
}

// CellsHTML are the cells of the rows as the table's look sets them, for a page that lays a
// table out by itself.
func (t *Table) CellsHTML() [][]string {
	number := t.numbersHTML(escapeHTML)
	out := make([][]string, len(t.Rows))
	for k, r := range t.Rows {
		for i, c := range r.Cells {
			out[k] = append(out[k], number(i, &c))
		}
	}
	return out
}

// headHTML is the head of a table: the groups of columns in a page, and the
// columns.
func (t *Table) headHTML(b *strings.Builder, escape func(string) string) {
	corner := "<td></td>"
	if t.Corner != "" {
		corner = `<th scope="col">` + escape(t.Corner) + "</th>"
	}
	b.WriteString("<thead><tr")
	if t.Look == Page {
		b.WriteString(` class="log"><td></td>`)
		names, spans := t.groups()
		for i, name := range names {
			fmt.Fprintf(b, "<th scope=\"colgroup\" colspan=\"%d\">%s</th>", spans[i], escape(name))
		}
		b.WriteString("</tr>\n<tr")
	}
	b.WriteString(">" + corner)
	for _, c := range t.Columns {
		name := c.Name
		if t.Look == Page {
			name = c.short()
		}
		b.WriteString(`<th scope="col">` + struckOut(escape(name), c.Struck, "<s>", "</s>") + "</th>")
	}
	b.WriteString("</tr></thead>")
}

// rowHTML begins a row.
func rowHTML(look Look, r Row) string {
	switch {
	case look == Page && r.Unit == "":
		return `<tr class="words">`
	case r.Strong:
		return `<tr class="mean">`
	case r.Struck:
		return `<tr class="struck">`
	}
	return "<tr>"
}

// numbersHTML returns how the looks set the cell of a column: with its half-width
// behind it, in a page in smaller type and padded so that points stand beneath
// each other.
func (t *Table) numbersHTML(escape func(string) string) func(col int, c *Cell) string {
	switch t.Look {
	case Page, Headline:
		var top, below []digits
		for i := range t.Columns {
			top, below = append(top, t.digits(i, false)), append(below, t.digits(i, true))
		}
		return func(col int, c *Cell) string {
			s := c.pageHTML(top[col], escape)
			if c.Below != nil && !c.Below.Empty() {
				s += `<br><span class="rest">` + c.Below.pageHTML(below[col], escape) + "</span>"
			}
			return s
		}
	case Whole:
		return func(_ int, c *Cell) string {
			v, h, ok := strings.Cut(escape(c.Text), " ±")
			if !ok {
				return v
			}
			return `<span class="v">` + v + `</span><span class="u">±` + h + `</span>`
		}
	}
	return func(col int, c *Cell) string {
		v, h := c.Printed()
		if d := t.digits(col, false); h != "" && c.numeric() { // a reader without style aligns neither points nor ±
			v = c.padded(v, d) + " ± " + h + strings.Repeat(figureSpace, d.half-len(h))
		}
		return c.stoodOut(struckOut(escape(v), c.Struck, "<s>", "</s>"), "<b>", "</b>") + c.marks("<sup>", "</sup>")
	}
}

// Spaces as wide as a digit and as a point.
const (
	figureSpace = "\u2007"
	pointSpace  = "\u2008"
)

// padded is a number with spaces on both sides, so that points stand beneath each other.
func (c *Cell) padded(v string, d digits) string {
	whole, frac, dot := strings.Cut(v, ".")
	v = strings.Repeat(figureSpace, d.whole-len(whole)) + v
	if d.frac > 0 && !dot {
		v += pointSpace
	}
	return v + strings.Repeat(figureSpace, d.frac-len(frac))
}

// pageHTML is a cell of a page.
func (c *Cell) pageHTML(d digits, escape func(string) string) string {
	v, h := c.Printed()
	if v == "" {
		return ""
	}
	before := ""
	if c.numeric() && !c.Whole {
		whole, _, _ := strings.Cut(v, ".")
		before = strings.Repeat(figureSpace, d.whole-len(whole))
		v = strings.TrimPrefix(c.padded(v, d), before)
		if h != "" {
			h = `<span class="u">±` + h + strings.Repeat(figureSpace, d.half-len(h)) + "</span>"
		}
	}
	v = escape(v)
	if c.Struck {
		v = "<s>" + v + h + "</s>"
	} else {
		v = `<span class="v">` + c.stoodOut(v, "<b>", "</b>") + "</span>" + h
	}
	s := before + v + c.marks("<sup>", "</sup>")
	if c.Mark != "" {
		s += "<sup>" + escape(c.Mark) + "</sup>"
	}
	return s
}

// notesHTML is what stands beneath a table.
func (t *Table) notesHTML(b *strings.Builder, escape func(string) string) {
	open, item, end := "", "<p>%s%s</p>\n", ""
	if t.Look == Page {
		open, item, end = `<ul class="notes">`, "<li>%s%s</li>", "</ul>"
	}
	some := ""
	for i, n := range t.Notes {
		if n != "" {
			raised := ""
			if t.marked(i) {
				raised = "<sup>" + mark(i) + "</sup> "
			}
			some += fmt.Sprintf(item, raised, escape(n))
		}
	}
	if some != "" {
		b.WriteString(open + some + end)
	}
	if t.Note != "" {
		b.WriteString("<p>" + escape(t.Note) + "</p>\n")
	}
}

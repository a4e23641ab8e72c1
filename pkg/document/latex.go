package document

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/unit"
)

// LaTeX writes a table as LaTeX tabulars that need no package: one where the table is no
// wider than the text of an A4 page in an article's usual type, else one beneath the
// other. Values and half-widths stand in columns of their own, on their points. What does
// not count is set in parentheses; redefine \fromreststruck to strike it out.
func LaTeX(w io.Writer, t *Table) error {
	var b strings.Builder
	b.WriteString("% needs no package; with ulem: \\renewcommand{\\fromreststruck}[1]{\\sout{#1}}\n" +
		"\\providecommand{\\fromreststruck}[1]{(#1)}\n\\begingroup\n\\setlength{\\tabcolsep}{4pt}\n")
	for from := 0; from < len(t.Columns); {
		to := t.fitting(from)
		if from > 0 {
			b.WriteString("\\medskip\n\n")
		}
		t.Cut(from, to).tabular(&b)
		from = to
	}
	for i, note := range t.Notes {
		raised := ""
		if t.marked(i) {
			raised = "$^{\\mathrm{" + mark(i) + "}}$ "
		}
		fmt.Fprintf(&b, "{\\footnotesize %s%s\\par}\n", raised, escapeLaTeX(note))
	}
	b.WriteString("\\endgroup\n")
	_, err := io.WriteString(w, b.String())
	return err
}

// Widths in points of ten-point type: of an article's text on A4, of a letter or digit, a
// little more than one of Computer Modern has, and of what stands between columns.
const (
	latexText   = 345
	latexLetter = 5.3
	latexGap    = 10
)

// fitting is the end of the columns from one on that fit beside the names of the rows, one
// at least.
func (t *Table) fitting(from int) int {
	width := latexLetter*float64(widest(t.labels())) + latexGap
	to := from
	for ; to < len(t.Columns); to++ {
		letters := utf8.RuneCountInString(t.Columns[to].Name)
		d := t.digits(to, false)
		letters = max(letters, d.whole+1+d.frac+2+d.half)
		for _, r := range t.Rows {
			if c := r.Cells[to]; !c.numeric() {
				letters = max(letters, utf8.RuneCountInString(c.Text))
			}
		}
		if width += latexLetter*float64(letters) + latexGap; to > from && width > latexText {
			break
		}
	}
	return to
}

// tabular writes one tabular.
func (t *Table) tabular(b *strings.Builder) {
	n := len(t.Columns)
	fmt.Fprintf(b, "\\begin{tabular}{l%s}\n\\hline\n", strings.Repeat("r@{\\,}l", n))
	for _, c := range t.Columns {
		fmt.Fprintf(b, " & \\multicolumn{2}{c}{%s}", latexStruck(escapeLaTeX(c.Name), c.Struck))
	}
	b.WriteString(" \\\\\n\\hline\n")
	t.sections(func(section string, r Row) {
		if section != "" {
			fmt.Fprintf(b, "\\multicolumn{%d}{l}{\\textbf{%s}} \\\\\n", 2*n+1, escapeLaTeX(section))
		}
		b.WriteString(escapeLaTeX(unit.Printed(t.label(r))))
		for i, c := range r.Cells {
			b.WriteString(" & " + c.latex(t.digits(i, false)))
		}
		b.WriteString(" \\\\\n")
	})
	b.WriteString("\\hline\n\\end{tabular}\n\n")
}

// latex is a cell: words or a count across both columns, else the value, on its point, and
// its half-width.
func (c Cell) latex(d digits) string {
	v, h := c.Printed()
	marks := c.marks("", "")
	if marks != "" {
		marks = "$^{\\mathrm{" + marks + "}}$"
	}
	if !c.numeric() || c.Whole {
		return fmt.Sprintf("\\multicolumn{2}{c}{%s%s}", latexStruck(escapeLaTeX(v), c.Struck), marks)
	}
	_, frac, dot := strings.Cut(v, ".")
	missing := strings.Repeat("0", d.frac-len(frac))
	if d.frac > 0 && !dot {
		missing = "." + missing
	}
	if missing != "" {
		missing = "\\phantom{" + missing + "}"
	}
	if h != "" {
		h = "$\\pm$\\," + h
	}
	return c.stoodOut(latexStruck(strings.Replace(v, "-", "$-$", 1), c.Struck), "\\textbf{", "}") + missing + " & " + h + marks
}

func latexStruck(s string, struck bool) string { return struckOut(s, struck, "\\fromreststruck{", "}") }

var latexEscaper = strings.NewReplacer(`\`, `\textbackslash{}`, "&", `\&`, "%", `\%`, "$", `\$`, "#", `\#`, "_", `\_`,
	"{", `\{`, "}", `\}`, "~", `\textasciitilde{}`, "^", `\textasciicircum{}`, "±", `$\pm$`, "²", `$^2$`, "°", `$^\circ$`,
	"−", `$-$`, "–", "--", "’", "'", "\n", " ", "<", `$<$`, ">", `$>$`)

func escapeLaTeX(s string) string { return latexEscaper.Replace(s) }

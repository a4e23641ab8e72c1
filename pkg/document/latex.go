package document

import (
	"fmt"
	"io"
	"strings"
)

// LaTeX writes a table as a LaTeX tabular that needs no package. Values
// and half-widths stand in columns of their own. What does not count is set in
// parentheses; redefine \fromreststruck to strike it out.
func LaTeX(w io.Writer, t *Table) error {
	var b strings.Builder
	b.WriteString("% needs no package; with ulem: \\renewcommand{\\fromreststruck}[1]{\\sout{#1}}\n" +
		"\\providecommand{\\fromreststruck}[1]{(#1)}\n\\begingroup\n\\setlength{\\tabcolsep}{4pt}\n")
	n := len(t.Columns)
	fmt.Fprintf(&b, "\\begin{tabular}{l%s}\n\\hline\n", strings.Repeat("r@{\\,}l", n))
	for _, c := range t.Columns {
		fmt.Fprintf(&b, " & \\multicolumn{2}{c}{%s}", struckOut(escapeLaTeX(c.Name), c.Struck, "\\fromreststruck{", "}"))
	}
	b.WriteString(" \\\\\n\\hline\n")
	t.sections(func(section string, r Row) {
		if section != "" {
			fmt.Fprintf(&b, "\\multicolumn{%d}{l}{\\textbf{%s}} \\\\\n", 2*n+1, escapeLaTeX(section))
		}
		b.WriteString(escapeLaTeX(r.Label()))
		for _, c := range r.Cells {
			v, h := c.Printed()
			marks := c.marks("", "")
			if marks != "" {
				marks = "$^{\\mathrm{" + marks + "}}$"
			}
			if r.Unit == "" {
				fmt.Fprintf(&b, " & \\multicolumn{2}{c}{%s%s}", struckOut(escapeLaTeX(v), c.Struck, "\\fromreststruck{", "}"), marks)
				continue
			}
			if h != "" {
				h = "$\\pm$\\," + h
			}
			fmt.Fprintf(&b, " & %s & %s%s", struckOut(strings.Replace(v, "-", "$-$", 1), c.Struck, "\\fromreststruck{", "}"), h, marks)
		}
		b.WriteString(" \\\\\n")
	})
	b.WriteString("\\hline\n\\end{tabular}\n\n")
	for i, note := range t.Notes {
		fmt.Fprintf(&b, "{\\footnotesize $^{\\mathrm{%s}}$ %s\\par}\n", mark(i), escapeLaTeX(note))
	}
	b.WriteString("\\endgroup\n")
	_, err := io.WriteString(w, b.String())
	return err
}

var latexEscaper = strings.NewReplacer(`\`, `\textbackslash{}`, "&", `\&`, "%", `\%`, "$", `\$`, "#", `\#`, "_", `\_`,
	"{", `\{`, "}", `\}`, "~", `\textasciitilde{}`, "^", `\textasciicircum{}`, "±", `$\pm$`, "²", `$^2$`, "°", `$^\circ$`,
	"−", `$-$`, "–", "--", "’", "'", "\n", " ", "<", `$<$`, ">", `$>$`)

func escapeLaTeX(s string) string { return latexEscaper.Replace(s) }

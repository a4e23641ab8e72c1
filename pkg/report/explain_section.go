package report

import (
	"fmt"
	"html"
	"html/template"
	"strings"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/figure"
)

// ExplainSection is the report's part on why modes differ: each mode's force in
// each gear with what limits it, then grade, wind and wheel force from the logs.
func ExplainSection(e *explain.Explanation) (Section, error) {
	s := Section{ID: "explain", Title: "Why the modes differ"}
	var b strings.Builder
	for i, p := range e.Predictions {
		fmt.Fprintf(&b, "<div><h3>Mode %s</h3>\n", html.EscapeString(p.Mode))
		if p.Train != nil {
			b.WriteString("<figure>")
			for _, v := range []struct {
				class string
				size  figure.Size
			}{{"wide", figure.Wide}, {"slim", figure.Narrow}} {
				f := figure.TractiveForce(p, e.Measured(p.Mode), e.ShiftSpeeds(p.Mode), figure.Options{Units: e.Units, Size: v.size})
				fmt.Fprintf(&b, "<div class=%q>%s</div>", v.class, f.InlineSVG(fmt.Sprintf("force-%d-%s", i, v.class)))
			}
			b.WriteString("</figure>\n")
		}
		if t := Story(e, p.Mode); t != "" {
			b.WriteString("<p>" + html.EscapeString(t) + "</p>\n")
		}
		if g := predictedGrid(p, e); len(g.Rows) > 0 {
			b.WriteString(g.html())
		}
		list(&b, basisLines(p, e))
		b.WriteString("</div>\n")
	}
	headed := func(title string, lines []string) {
		if len(lines) > 0 {
			fmt.Fprintf(&b, "<h3>%s</h3>\n", html.EscapeString(title))
			list(&b, lines)
		}
	}
	headed("Cautions", explainCautions())
	for _, p := range traceParts(e) {
		fmt.Fprintf(&b, "<h3>%s</h3>\n", html.EscapeString(p.Head))
		for _, g := range p.Grids {
			b.WriteString(g.html())
		}
		list(&b, p.Lines)
	}
	b.WriteString(conditionsHTML(e))
	headed("Assumed", e.Assumed)
	s.Body = template.HTML(b.String())
	return s, nil
}

// list writes lines as an HTML list, nothing for none.
func list(b *strings.Builder, lines []string) {
	if len(lines) == 0 {
		return
	}
	b.WriteString("<ul>\n")
	for _, l := range lines {
		b.WriteString("<li>" + html.EscapeString(l) + "</li>\n")
	}
	b.WriteString("</ul>\n")
}

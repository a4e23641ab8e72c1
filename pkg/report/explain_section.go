package report

import (
	"context"
	"fmt"
	"html"
	"html/template"
	"strings"

	"fromrest/pkg/analysis"
	"fromrest/pkg/figure"
	"fromrest/pkg/session"
)

// Explain builds the explanation of a session: what its sheet predicts for every
// mode and, where res is not nil, what grade, wind and wheel force the logs show.
func Explain(ctx context.Context, res *analysis.Result, sh *session.Sheet, modes []string, units string) (*Explanation, error) {
	e := &Explanation{Units: units, Result: res, Air: analysis.AirOf(sh)}
	e.Density, e.DensityFrom = analysis.SheetDensity(&sh.Conditions)
	for _, m := range modes {
		p, err := analysis.Predict(ctx, sh, m)
		if err != nil {
			return nil, err
		}
		e.Predictions = append(e.Predictions, p)
	}
	if res != nil {
		e.Conditions, e.Assumed = analysis.ConditionsOf(res, sh)
		e.Pairs = analysis.ForcePairs(e.Conditions, sh)
		e.Traced = analysis.TraceOf(ctx, res, e.Conditions, sh)
	}
	e.Profiles = analysis.Profiled(e.Conditions, sh)
	return e, nil
}

// ExplainSection is the report's part on why modes differ: each mode's force in
// each gear with what limits it, then grade, wind and wheel force from the logs.
func ExplainSection(e *Explanation) (Section, error) {
	s := Section{ID: "explain", Title: "Why the modes differ"}
	var b, rest strings.Builder
	for i, p := range e.Predictions {
		fmt.Fprintf(&b, "<article><h3>Mode %s</h3>\n", html.EscapeString(p.Mode))
		if p.Train != nil {
			b.WriteString("<figure>")
			for _, v := range []struct {
				class string
				size  figure.Size
			}{{"wide", figure.Wide}, {"slim", figure.Narrow}} {
				f := figure.TractiveForce(p, e.Measured(p.Mode), figure.Options{Units: e.Units, Size: v.size})
				fmt.Fprintf(&b, "<div class=%q>%s</div>", v.class, f.InlineSVG(fmt.Sprintf("force-%d-%s", i, v.class)))
			}
			b.WriteString("</figure>\n")
		}
		if t := Story(e, p.Mode); t != "" {
			b.WriteString("<p>" + html.EscapeString(t) + "</p>\n")
		}
		list(&b, PredictionLines(p, e))
		b.WriteString("</article>\n")
	}
	b.WriteString(conditionsHTML(e))
	// Beside the modes the same lines as in Markdown, without their heads again.
	short := *e
	short.Predictions, short.bare = nil, true
	if err := explainLines(&rest, &short, "## ", "- "); err != nil {
		return s, err
	}
	var items []string
	for _, l := range strings.Split(rest.String(), "\n") {
		if t, ok := strings.CutPrefix(l, "- "); ok {
			items = append(items, t)
			continue
		}
		if t, ok := strings.CutPrefix(l, "## "); ok {
			list(&b, items)
			items = nil
			fmt.Fprintf(&b, "<h3>%s</h3>\n", html.EscapeString(t))
		}
	}
	list(&b, items)
	s.Body = template.HTML(b.String())
	return s, nil
}

// Measured is the force of a mode that the traces give, nil without any.
func (e *Explanation) Measured(mode string) *analysis.ModeForce {
	if e.Traced == nil {
		return nil
	}
	for i := range e.Traced.Modes {
		if m := &e.Traced.Modes[i]; m.Mode == mode {
			return m
		}
	}
	return nil
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

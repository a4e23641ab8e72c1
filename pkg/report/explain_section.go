package report

import (
	"context"
	"fmt"
	"html"
	"html/template"
	"strings"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/figure"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// Explain builds the explanation of a session: what its sheet predicts for every
// mode and, where res is not nil, what grade, wind and wheel force the logs show.
func Explain(ctx context.Context, res *session.Result, sh *sheet.Sheet, modes []string, units string) (*Explanation, error) {
	e := &Explanation{Units: units, Result: res, Air: explain.AirOf(sh)}
	e.Density, e.DensityFrom = explain.SheetDensity(&sh.Conditions)
	for _, m := range modes {
		p, err := explain.Predict(ctx, sh, m)
		if err != nil {
			return nil, err
		}
		e.Predictions = append(e.Predictions, p)
	}
	if res != nil {
		e.Conditions, e.Assumed = explain.ConditionsOf(res, sh)
		e.Pairs = explain.ForcePairs(e.Conditions, sh)
		e.Traced = explain.TraceOf(ctx, res, e.Conditions, sh)
		e.causes = map[causeKey][]explain.Cause{}
		for _, b := range e.Traced.Bands {
			for k, t := range explainTargets {
				e.causes[causeKey{b.A, b.B, k}] = explain.Causes(ctx, sh, b.A, b.B, t.reach)
				e.causes[causeKey{b.B, b.A, k}] = explain.Causes(ctx, sh, b.B, b.A, t.reach)
			}
		}
	}
	e.Profiles = explain.Profiled(e.Conditions, sh)
	return e, nil
}

// ExplainSection is the report's part on why modes differ: each mode's force in
// each gear with what limits it, then grade, wind and wheel force from the logs.
func ExplainSection(e *Explanation) (Section, error) {
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

// Measured is the force of a mode that the traces give, nil without any.
func (e *Explanation) Measured(mode string) *explain.ModeForce {
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

// ShiftSpeeds are the mean speeds in m/s of the shifts that a mode's traces show,
// the first shift of every run first.
func (e *Explanation) ShiftSpeeds(mode string) []float64 {
	if e.Traced == nil {
		return nil
	}
	var sum, n []float64
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		if r.Run.Mode != mode {
			continue
		}
		for k, s := range r.Shifts {
			if s.From > 0 { // by the gear, where one may be missed
				k = s.From - 1
			}
			for len(sum) <= k {
				sum, n = append(sum, 0), append(n, 0)
			}
			sum[k], n[k] = sum[k]+s.Speed.X, n[k]+1
		}
	}
	out := sum[:0]
	for k := range sum {
		if n[k] > 0 {
			out = append(out, sum[k]/n[k])
		}
	}
	return out
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

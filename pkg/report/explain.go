package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strings"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// explainCautions stand with every explanation.
func explainCautions() []string {
	return []string{
		"Low range and locked drivelines on dry pavement: straight on only, and out of them before turning.",
		"Do not launch against the brakes in low range.",
		"Wheels in the air belong in a calculation: never stage them, and never jack a vehicle, on a road.",
	}
}

// ExplainText writes an explanation as plain text.
func ExplainText(w io.Writer, e *explain.Explanation) error { return explainLines(w, e, "", "  ") }

// ExplainMarkdown writes an explanation as Markdown.
func ExplainMarkdown(w io.Writer, e *explain.Explanation) error {
	return explainLines(w, e, "## ", "- ")
}

func explainLines(w io.Writer, e *explain.Explanation, head, item string) error {
	var b strings.Builder
	terminal := head == ""
	line := func(s string) {
		if terminal { // Markdown is left to its reader
			s = wrapAfter(item, s, TextWidth, item+"  ")
		} else {
			s = item + escapeMarkdown(s)
		}
		b.WriteString(s + "\n")
	}
	set := func(g grid) {
		if terminal {
			b.WriteString(g.text())
		} else {
			b.WriteString(g.markdown())
		}
	}
	lines := func(title string, all []string) {
		if len(all) > 0 {
			b.WriteString("\n" + head + title + "\n")
		}
		for _, s := range all {
			line(s)
		}
	}
	for _, p := range e.Predictions {
		b.WriteString("\n" + head + "Mode " + p.Mode + "\n")
		if t := Story(e, p.Mode); t != "" && terminal {
			b.WriteString(wrapAfter(item, t, TextWidth, item) + "\n")
		} else if t != "" {
			b.WriteString("\n" + escapeMarkdown(t) + "\n")
		}
		if g := predictedGrid(p, e); len(g.Rows) > 0 {
			set(g)
		}
		b.WriteString("\n")
		for _, s := range basisLines(p, e) {
			line(s)
		}
	}
	for _, part := range traceParts(e) {
		b.WriteString("\n" + head + part.Head + "\n")
		for _, g := range part.Grids {
			set(g)
		}
		if len(part.Grids) > 0 && len(part.Lines) > 0 {
			b.WriteString("\n")
		}
		for _, s := range part.Lines {
			line(s)
		}
	}
	conditionsText(&b, e, head, item)
	lines("Assumed", e.Assumed)
	lines("Cautions", explainCautions())
	_, err := io.WriteString(w, strings.TrimPrefix(b.String(), "\n"))
	return err
}

// PredictionLines are the sentences about one mode.
func PredictionLines(p *explain.Prediction, e *explain.Explanation) []string {
	var out []string
	if p.Run != nil {
		for _, t := range explain.Targets {
			out = append(out, predictedLine(p, e, t))
		}
	}
	return append(out, basisLines(p, e)...)
}

// basisLines are the sentences about one mode beside its times.
func basisLines(p *explain.Prediction, e *explain.Explanation) []string {
	name, per := SpeedUnit(e.Units)
	var out []string
	if p.Grip != nil {
		out = append(out, fmt.Sprintf("grip limit %.0f N, %.2f g on the level (modelled)", p.Grip.Thrust, p.Grip.Accel/unit.GravityStandard))
	}
	if p.Run != nil {
		for _, s := range p.Run.Shifts {
			out = append(out, fmt.Sprintf("shift %d to %d at %.1f %s, %.2f s (modelled)", s.From, s.To, s.Speed/per, name, s.Time))
		}
		if p.Run.Stuck != "" {
			out = append(out, "the run ends early: "+p.Run.Stuck)
		}
	}
	for _, m := range p.Missing {
		out = append(out, "missing "+m.Key+": would unlock "+m.Unlocks)
	}
	return append(out, p.Assumed...)
}

// predictedLine sets a prediction beside the mean of the measured times.
func predictedLine(p *explain.Prediction, e *explain.Explanation, target explain.Target) string {
	name := target.Name
	t, ok := target.Reach(p.Run)
	s := name + " from rest: out of reach in this gearing"
	if ok {
		s = fmt.Sprintf("%s from rest: predicted %.2f s (modelled)", name, t)
	}
	if e.Result == nil {
		return s
	}
	if m := e.Mean(p.Mode, target); m.N > 0 {
		s += fmt.Sprintf(", measured %s s (n = %d)", plusMinus(m.X, m.U95), m.N)
		if g, ok := e.OffBy(p, target); ok {
			s += fmt.Sprintf(", predicted less measured %s %%", plusMinus(g.X, g.U95()))
		}
	}
	return s
}

func conditionLines(c *explain.RunConditions) []string {
	s := c.Run.ID + ":"
	if math.IsNaN(c.Grade.X) {
		s += " grade not known;"
	} else {
		x, h := uncert.Format(100*c.Grade.X, 100*c.Grade.U95())
		s += fmt.Sprintf(" grade %s ±%s %% (%s);", x, h, c.GradeFrom)
	}
	if math.IsNaN(c.HeadWind.X) {
		s += " head wind not known"
	} else {
		x, h := uncert.Format(c.HeadWind.X, c.HeadWind.U95())
		s += fmt.Sprintf(" head wind %s ±%s m/s (%s)", x, h, c.HeadWindFrom)
	}
	out := []string{s}
	for _, e := range c.Effects {
		if e.From != timing.FromRollout || e.Name != "0-60 mph" && e.Name != "1/4 mile" {
			continue
		}
		x, h := uncert.Format(e.Corrected.X, e.Corrected.U95())
		line := fmt.Sprintf("%s, %s with rollout: %.2f s;", c.Run.ID, e.Name, e.Headline.X)
		for _, k := range []struct {
			name string
			v    uncert.Value
		}{{"grade", e.Grade}, {"wind", e.HeadWind}, {"air", e.Air}, {"power", e.Power}} {
			if !math.IsNaN(k.v.X) {
				a, b := uncert.Format(k.v.X, k.v.U95())
				line += fmt.Sprintf(" %s cost %s ±%s s,", k.name, a, b)
			}
		}
		out = append(out, line+fmt.Sprintf(" corrected %s ±%s s", x, h))
	}
	return out
}

// ExplainJSON writes an explanation for scripts.
func ExplainJSON(w io.Writer, e *explain.Explanation) error {
	type mode struct {
		Mode      string              `json:"mode"`
		Predicted map[string]*float64 `json:"predicted_s"`
		GripN     float64             `json:"grip_n,omitempty"`
		Missing   []explain.Missing   `json:"missing"`
		Lines     []string            `json:"lines"`
		Story     string              `json:"story,omitempty"`
		Times     []jsonPredicted     `json:"times,omitempty"`
	}
	type pair struct {
		A, B                     string
		FromMPS, ToMPS, Pct, U95 float64
	}
	var out struct {
		Schema  string   `json:"schema"`
		Density float64  `json:"density_kg_m3"`
		Modes   []mode   `json:"modes"`
		Pairs   []pair   `json:"force_pairs"`
		Runs    []string `json:"runs"`
		Assumed []string `json:"assumed"`
		Caution []string `json:"cautions"`
		conditionsForJSON
		Traces      *jsonTraced      `json:"traces,omitempty"`
		Differences []jsonDifference `json:"time_differences,omitempty"`
	}
	out.Traces, out.Differences = tracedJSON(e.Traced), differencesJSON(e)
	out.conditionsForJSON = conditionsJSON(e)
	out.Schema, out.Density, out.Assumed, out.Caution = "fromrest.explain/1", e.Density, e.Assumed, explainCautions()
	for _, p := range e.Predictions {
		m := mode{Mode: p.Mode, Missing: p.Missing, Lines: PredictionLines(p, e), Story: Story(e, p.Mode), Times: predictedJSON(p, e), Predicted: map[string]*float64{}}
		if p.Grip != nil {
			m.GripN = p.Grip.Thrust
		}
		for _, t := range explain.Targets {
			if p.Run == nil {
				continue
			}
			x, ok := t.Reach(p.Run)
			if m.Predicted[t.Name] = nil; ok {
				m.Predicted[t.Name] = &x
			}
		}
		out.Modes = append(out.Modes, m)
	}
	for _, p := range e.Pairs {
		out.Pairs = append(out.Pairs, pair{p.A, p.B, p.From, p.To, p.Percent.X, p.Percent.U95()})
	}
	for i := range e.Conditions {
		out.Runs = append(out.Runs, conditionLines(&e.Conditions[i])...)
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(out)
}

// WheelsText writes what each wheel does and the torque on every shaft.
func WheelsText(w io.Writer, title string, s *driveline.State) error {
	var b strings.Builder
	b.WriteString(title + "\n")
	fmt.Fprintf(&b, "  %-12s %9s %9s %11s %9s  %s\n", "wheel", "load, N", "grip, N", "torque, Nm", "thrust, N", "does")
	for i, x := range s.Wheel {
		fmt.Fprintf(&b, "  %-12s %9.0f %9.0f %11.0f %9.0f  %s\n", driveline.WheelName(i), x.Load, x.Limit, x.Torque, x.Thrust, s.Does(i))
	}
	fmt.Fprintf(&b, "  shafts: from the gearbox %.0f N·m, front propeller shaft %.0f N·m, rear propeller shaft %.0f N·m\n", s.Gearbox, s.FrontShaft, s.RearShaft)
	verdict := "the vehicle does not move"
	if s.Moves {
		verdict = fmt.Sprintf("the vehicle moves off at up to %.2f m/s²", s.Accel)
	}
	fmt.Fprintf(&b, "  together %.0f N against %.0f N: %s (modelled)\n", s.Thrust, s.Resistance, verdict)
	for _, n := range s.Notes {
		b.WriteString("  " + n + "\n")
	}
	_, err := io.WriteString(w, b.String())
	return err
}

package report

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
)

// explainCautions stand with every explanation.
func explainCautions() []string {
	return []string{
		"Low range and locked drivelines on dry pavement: straight on only, and out of them before turning.",
		"Do not launch against the brakes in low range.",
		"Wheels in the air belong in a calculation: never stage them on a road.",
	}
}

// ExplainText writes the answer of an explanation as plain text: times, where they differ
// and why.
func ExplainText(w io.Writer, e *explain.Explanation) error {
	return document.Text(w, append(brief(e),
		document.Paragraph{Text: "Cautions: " + strings.Join(explainCautions(), " ")}, madeBy(explainedBy(e)))...)
}

// ExplainFull writes all of an explanation as plain text.
func ExplainFull(w io.Writer, e *explain.Explanation) error {
	doc := append(explained(e), document.Heading{Text: "Published conditions"}, profileTable(e, true))
	return document.Text(w, append(doc, closing(e)...)...)
}

// ExplainMarkdown writes an explanation as Markdown.
func ExplainMarkdown(w io.Writer, e *explain.Explanation) error {
	doc := append(explained(e), published(e)...)
	return document.Markdown(w, append(doc, closing(e)...)...)
}

// explained is what an explanation says in text and Markdown alike, up to the
// published conditions.
func explained(e *explain.Explanation) []document.Block {
	doc := listed("Contradicted", e.Against)
	for _, p := range e.Predictions {
		doc = append(append(doc, part("Mode "+p.Mode)), modeBlocks(p, e)...)
	}
	return slices.Concat(doc, pairBlocks(e, true), offered(e), tracesBlocks(e), conditionsBlocks(e))
}

// closing is what stands at the end of an explanation.
func closing(e *explain.Explanation) []document.Block {
	return slices.Concat(listed("Assumed", e.Assumed), listed("Cautions", explainCautions()), []document.Block{madeBy(explainedBy(e))})
}

// explainedBy is what makes an explanation, with logs or without.
func explainedBy(e *explain.Explanation) *session.Settings {
	return &session.Settings{Version: e.Version, Model: session.ModelRevision}
}

// part is the heading of a part of an explanation.
func part(title string) document.Heading {
	return document.Heading{Text: title, Level: 2, Near: true}
}

// lines are the sentences of a part.
func lines(items []string) document.List {
	return document.List{Items: items, Unmarked: true, Layout: document.Layout{Indent: 2}}
}

// listed is a part that holds sentences alone, nothing without any.
func listed(title string, items []string) []document.Block {
	return under(part(title), lines(items))
}

// modeBlocks are a mode's story, its predicted times beside the measured ones, and
// what they rest on.
func modeBlocks(p *explain.Prediction, e *explain.Explanation) []document.Block {
	doc := []document.Block{document.Paragraph{Text: story(e, p), Layout: document.Layout{Indent: 2}}}
	if t := predictedTable(p, e); len(t.Rows) > 0 {
		doc = append(doc, t)
	}
	return append(doc, lines(basisLines(p, e)))
}

// tracesBlocks tell what the traces say of the vehicle: shifts, force and power,
// use of grip, and how modes differ. Nothing for an explanation without logs.
func tracesBlocks(e *explain.Explanation) []document.Block {
	t := e.Traced
	if t == nil || len(t.Runs) == 0 {
		return nil
	}
	var doc []document.Block
	add := func(title string, table *document.Table, items []string) {
		if len(table.Rows) == 0 && len(items) == 0 {
			return
		}
		doc = append(doc, part(title))
		if len(table.Rows) > 0 {
			doc = append(doc, table)
		}
		doc = append(doc, lines(items))
	}
	add("Shifts", shiftTable(e), noShiftLines(e))
	add("Force and power at the wheels", forceTable(e), nil)
	add("Grip used", gripTable(t), nil)
	for i := range t.Bands {
		b := &t.Bands[i]
		add("Force of "+b.A+" against "+b.B, bandTable(e, b), bandLines(b))
	}
	read := slices.Clone(t.Load.Coasts)
	if t.Load.Text != "" {
		read = append(read, t.Load.Text)
	}
	return append(doc, listed("What the traces were read with", append(read, missingLines(t.Missing)...))...)
}

// missingLines say what a sheet lacks.
func missingLines(missing []explain.Missing) []string {
	return each(missing, func(m explain.Missing) string { return "missing " + m.Key + ": would unlock " + m.Unlocks })
}

// conditionsBlocks are the conditions run by run, and the air.
func conditionsBlocks(e *explain.Explanation) []document.Block {
	var doc []document.Block
	if ts := conditionTables(e); len(ts) > 0 {
		doc = append(append(doc, part("Conditions, run by run")), ts...)
	}
	inAir := lines(airLines(e))
	inAir.Broken = true
	return append(doc, part("Air"), inAir)
}

// published is how the session stands to the published procedures.
func published(e *explain.Explanation) []document.Block {
	heads := each(air.Profiles(), func(p air.Profile) string { return profileHead(e, p) })
	return []document.Block{part("Published conditions"), lines(heads), profileTable(e, false)}
}

// ExplainSection is the report's part on why modes differ: where the time went between
// each two, drawn and in a table, and each mode's force in each gear with what limits it.
// A full one adds what the logs say of grade, wind and wheel force, run by run.
func ExplainSection(e *explain.Explanation, full bool) (Section, error) {
	pairs, drawn, err := pairCards(e, full)
	if err != nil {
		return Section{}, err
	}
	modes, err := modeCards(e, full)
	if err != nil {
		return Section{}, err
	}
	doc := listed("Contradicted", e.Against)
	if drawn {
		doc = append(doc, document.Paragraph{Text: figure.SpentNote, Kind: document.Remark})
	}
	warned := listed("Cautions", explainCautions())
	if full {
		doc = slices.Concat(doc, cards(append(pairs, modes...)...), warned, offered(e), tracesBlocks(e), conditionsBlocks(e), published(e), listed("Assumed", e.Assumed))
		return section("explain", "Why the modes differ", doc...), nil
	}
	all := slices.Concat(pairs, modes, [][]document.Block{append(basis(e), warned...)})
	if t := foretoldTable(e); len(t.Rows) > 0 {
		all = slices.Insert(all, 0, []document.Block{part("Predicted and measured"), t})
	}
	return section("explain", "Why the modes differ", append(doc, cards(all...)...)...), nil
}

// pairCards are where the time went between each two modes, and whether any is drawn.
func pairCards(e *explain.Explanation, full bool) (all [][]document.Block, drawn bool, fault error) {
	for i, p := range pairs(e) {
		c := []document.Block{part(p.A + " against " + p.B)}
		if p.apart != nil {
			f, err := card(fmt.Sprintf("spent-%d", i), figure.OptionsOf(e), func(o figure.Options) (*figure.Figure, error) { return figure.Spent(p.apart, o), nil })
			if err != nil {
				return nil, false, err
			}
			c, drawn = append(c, f), true
		}
		all = append(all, append(c, p.blocks(e, full)...))
	}
	return all, drawn, nil
}

// modeCards are each mode's force and what limits it.
func modeCards(e *explain.Explanation, full bool) (all [][]document.Block, fault error) {
	for i, p := range e.Predictions {
		c := []document.Block{part("Mode " + p.Mode)}
		if p.Train != nil {
			f, err := card(fmt.Sprintf("force-%d", i), figure.OptionsOf(e), func(o figure.Options) (*figure.Figure, error) {
				return figure.TractiveForce(p, e.Measured(p.Mode), e.ShiftSpeeds(p.Mode), o), nil
			})
			if err != nil {
				return nil, err
			}
			c = append(c, f)
		}
		if full {
			c = append(c, modeBlocks(p, e)...)
		} else if text := limitSentence(e, p); text != "" {
			c = append(c, document.Paragraph{Text: text})
		}
		all = append(all, c)
	}
	return all, nil
}

// explainedSection is the report's section on why its modes differ, nil where the
// sheet lacks what that takes at least: a mass and the modes. A short report has its text
// without the figures.
func explainedSection(ctx context.Context, res *session.Result, extent Extent) (*Section, error) {
	if sh := res.Sheet; sh == nil || !(sh.Vehicle.Mass > 0) || len(sh.Modes) == 0 {
		return nil, nil
	}
	e, err := explain.Of(ctx, res)
	if err != nil {
		return nil, err
	}
	if extent == Short {
		s := section("explain", "Why the modes differ", append(brief(e), listed("Cautions", explainCautions())...)...)
		s.Columns = true
		return &s, nil
	}
	s, err := ExplainSection(e, extent == Full)
	s.Columns = extent == Full
	return &s, err
}

// ExplainHTML writes an explanation as one self-contained page: no network, no
// scripts, figures inlined.
func ExplainHTML(w io.Writer, e *explain.Explanation, title string) error {
	s, err := ExplainSection(e, true)
	if err != nil {
		return err
	}
	first := "What the sheet's data predict; no logs were given."
	if e.Result != nil {
		first = runsAndLogs(e.Result) + " Behind each number stands whether it is measured, modelled or assumed."
	}
	return sectionPage(w, cmp.Or(title, s.Title), first, s, explainedBy(e).MadeBy())
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
	return slices.Concat(out, missingLines(p.Missing), p.Assumed)
}

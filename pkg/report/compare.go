package report

import (
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// CompareText writes a comparison for a terminal: the verdicts first, then each target.
func CompareText(w io.Writer, c *compare.Result) error {
	doc := append(compared(c), headed("Warnings", c.Warnings)...)
	return document.Text(w, append(doc, comparedBy(c))...)
}

// CompareMarkdown writes a comparison as Markdown.
func CompareMarkdown(w io.Writer, c *compare.Result) error {
	doc := append(compared(c), warnings(c.Warnings)...)
	return document.Markdown(w, append(doc, comparedBy(c))...)
}

// comparedBy says what made a comparison.
func comparedBy(c *compare.Result) document.Paragraph {
	return madeBy(&session.Settings{Version: c.Version, Model: c.Model})
}

// comparePromise is what the intervals and the verdicts promise.
const comparePromise = "± is half of the 95 % interval that holds for all pairs of a target together. In simulated sessions of equal modes at most 6 in 100 led to a claim of any difference, at this or another target; up to 10 in 100 where scatter was skewed and four times as wide in one mode as in another."

// compared is the verdicts, what the runs say besides, each target's tables, and what
// the numbers promise.
func compared(c *compare.Result) []document.Block {
	doc := verdictBlocks(c)
	for _, t := range c.Targets {
		doc = append(doc, targetHeading(t), modesTable(t), pairsTable(t, c.Tests))
		if t != c.Primary {
			doc = append(doc, warnings(t.Warnings)...)
		}
	}
	return append(doc, document.Paragraph{Text: comparePromise})
}

// Answer is what a comparison says first.
type Answer struct {
	Place    string   // the target and the origin that decide
	Verdicts []string // one sentence for each pair
	Warnings []string // of what may pass for a difference, and of runs that stand out
	Notes    []string // whether to drive on, and what else the runs say
	Model    string   // what it was worked out with
}

// AnswerOf is the answer of a comparison, nil where no target decides.
func AnswerOf(c *compare.Result) *Answer {
	t := c.Primary
	if t == nil {
		return nil
	}
	a := &Answer{Place: t.Name + " " + OriginName(timing.Origin(t.From)), Model: modelSentence(t), Warnings: slices.Clone(t.Warnings),
		Verdicts: each(t.Pairs, func(p compare.Pair) string { return p.Sentence })}
	a.Warnings = append(a.Warnings, each(t.StandOut, func(o compare.StandOut) string { return wholeSentence(o.Sentence) })...)
	if text := driveOn(t); text != "" {
		a.Notes = append(a.Notes, text)
	}
	if len(c.ToDrive) > 0 {
		a.Notes = append(a.Notes, "Still to drive by the plan: "+strings.Join(c.ToDrive, ", ")+".")
	}
	a.Notes = append(a.Notes, each(t.Notes, wholeSentence)...)
	if c.WhyPrimary != "" {
		a.Notes = append(a.Notes, c.WhyPrimary)
	}
	a.Notes = append(a.Notes, c.Offered...)
	return a
}

// verdictBlocks are the answer under its heading.
func verdictBlocks(c *compare.Result) []document.Block {
	a := AnswerOf(c)
	if a == nil {
		return nil
	}
	return append([]document.Block{document.Heading{Text: "Verdict", Note: a.Place}}, a.blocks()...)
}

// blocks are the answer as a reader sees it.
func (a *Answer) blocks() []document.Block {
	tight := document.Layout{Close: true, Hang: 2}
	doc := []document.Block{document.List{Items: a.Verdicts, Layout: document.Layout{Close: true}}}
	doc = append(doc, warnings(a.Warnings)...)
	for _, n := range a.Notes {
		doc = append(doc, document.Paragraph{Text: n, Layout: tight})
	}
	return append(doc, document.Paragraph{Text: a.Model, Kind: document.Remark, Layout: tight})
}

// wholeSentence makes a sentence of a clause. The identity of a run at its head stays
// as it is.
func wholeSentence(s string) string {
	if word, _, _ := strings.Cut(s, " "); strings.Contains(word, "#") {
		return s + "."
	}
	return firstUpper(s) + "."
}

// driveOn says which pairs are decided and which need more runs.
func driveOn(t *compare.Target) string {
	var parts []string
	add := func(word string, state compare.State) {
		pairs := only(t.Pairs, func(p compare.Pair) bool { return p.State == state && p.Verdict != compare.Refused })
		if len(pairs) == 0 {
			return
		}
		most := 0
		names := each(pairs, func(p compare.Pair) string {
			most = max(most, p.More)
			return p.A + " and " + p.B
		})
		s := word
		if state == compare.DriveOn && most > 0 {
			s += fmt.Sprintf(", about %d more each", most)
		}
		if len(pairs) < len(t.Pairs) {
			s += " (" + strings.Join(names, "; ") + ")"
		}
		parts = append(parts, s)
	}
	add("decided", compare.Decided)
	if !t.Over {
		add("drive on", compare.DriveOn)
	}
	add(fmt.Sprintf("would take more than %d each", contrast.MostMore), compare.TooMany)
	switch {
	case len(parts) == 0:
		return ""
	case len(parts) == 1 && parts[0] == "decided":
		return "Decided: no more runs are needed."
	}
	return wholeSentence(strings.Join(parts, "; "))
}

func targetHeading(t *compare.Target) document.Heading {
	return document.Heading{Text: t.Name, Note: OriginName(timing.Origin(t.From))}
}

// warnings are paragraphs that stand out.
func warnings(texts []string) []document.Block {
	return each(texts, func(x string) document.Block {
		return document.Paragraph{Text: x, Kind: document.Warning, Layout: document.Layout{Close: true, Hang: 2}}
	})
}

// modesTable is the table of modes at a target.
func modesTable(t *compare.Target) *document.Table {
	table := document.TableOf(document.Whole, "", "mode", "n", "mean, s", "sd, s", "best, s", "directions, s", "two-way, s")
	table.Label = "Modes at " + t.Name + " " + OriginName(timing.Origin(t.From))
	for _, m := range t.Modes {
		places := uncert.Places(m.U95, 3)
		sd := ""
		if !math.IsNaN(m.SD) {
			sd = uncert.RoundHalfUp(m.SD, places)
		}
		ways := each(m.Directions, func(d compare.Direction) string {
			return fmt.Sprintf("%s %s (%d)", unit.Heading(d.Heading), uncert.RoundHalfUp(d.Mean, places), d.N)
		})
		table.Add(m.Name, fmt.Sprint(m.N), plusMinus(m.Mean, m.U95), sd, uncert.RoundHalfUp(m.Best, places),
			strings.Join(ways, ", "), plusMinus(m.TwoWay, m.TwoWayU95))
	}
	return table.WithoutEmpty()
}

// pairsTable is the table of differences at a target, with tests for who asks.
func pairsTable(t *compare.Target, tests bool) *document.Table {
	columns := []string{"difference", "s", "verdict"}
	if tests {
		t.SecondTests()
		columns = append(columns, "p", "Welch", "permutation")
	}
	table := document.TableOf(document.Whole, "", columns...)
	table.Label = "Differences at " + t.Name + " " + OriginName(timing.Origin(t.From))
	for k := range t.Pairs {
		p := &t.Pairs[k]
		row := []string{plusMinus(p.Difference, p.Half()), told(p.A, p.B, p.Verdict)}
		if math.IsNaN(p.SE) {
			row[0] = uncert.RoundHalfUp(p.Difference, 2)
		}
		if tests {
			row = append(row, pText(p.PAdjusted), pText(p.WelchHolm), pText(p.PermutationHolm))
		}
		table.Add(p.A+" − "+p.B, row...)
	}
	return table.WithoutEmpty()
}

// told is a verdict on two modes in words.
func told(a, b string, v compare.Verdict) string {
	switch v {
	case compare.AQuicker:
		return a + " quicker"
	case compare.BQuicker:
		return b + " quicker"
	}
	return string(v)
}

// modelSentence says what the differences were worked out with.
func modelSentence(t *compare.Target) string {
	m := &t.Model
	s := "Model: " + m.String() + "."
	if m.DF > 0 {
		s += " Runs scatter by " + and(each(t.Modes, func(m compare.Mode) string { return uncert.RoundHalfUp(m.Scatter, 3) + " s in " + m.Name })) + ", from " + m.ScatterFrom + "."
	}
	for _, d := range m.Dropped {
		s += " Left out: " + d + "."
	}
	return s
}

// signed prints a value with its sign and its half-width.
func signed(x, u95 float64) string {
	v, h := uncert.Format(x, u95)
	if x > 0 {
		v = "+" + v
	}
	return v + " ± " + h
}

// pText prints a p value, small ones as a bound.
func pText(p float64) string {
	switch {
	case math.IsNaN(p):
		return ""
	case p < 0.001:
		return "<0.001"
	}
	return uncert.RoundHalfUp(p, 3)
}

// CompareTargets are the targets a reader is shown a comparison at: those of the
// headline table, and those added by the user. The JSON holds every target.
func CompareTargets(res *session.Result) []string {
	return headlineTargets(res, added(res))
}

// added are the targets that the user added to the standard ones.
func added(res *session.Result) []string {
	return only(res.Settings.Targets, func(name string) bool { return !timing.Known(name) })
}

// CompareSection is the report's part on the modes against each other: at each
// headline target the times as dots and intervals, with rollout and from rest the
// means, the differences and the verdicts in words; then the time gained along the
// way. The mean traces stand on the first page.
func CompareSection(res *session.Result, cmp *compare.Result) (Section, error) {
	doc := warnings(cmp.Warnings)
	doc = append(doc, document.Paragraph{Kind: document.Remark, Text: comparePromise +
		" In the figures: the mean with its interval, beneath it each run; discs went the first way, rings the other, crosses do not count."})
	o := figure.OptionsFor(res)
	var all [][]document.Block
	for i, t := range cmp.Targets {
		if slices.ContainsFunc(cmp.Targets[:i], func(o *compare.Target) bool { return o.Name == t.Name }) {
			continue
		}
		c, err := targetCard(cmp, t.Name, fmt.Sprintf("dots-%d", i), o)
		if err != nil {
			return Section{}, err
		}
		all = append(all, c)
	}
	gained, err := card("gained", o, func(o figure.Options) (*figure.Figure, error) { return figure.TimeGained(res.Runs, o) })
	switch {
	case err == nil:
		all = append(all, []document.Block{document.Heading{Text: "Time gained"}, gained})
	case !errors.Is(err, figure.ErrNoMode):
		return Section{}, err
	}
	return section("compare", "Modes compared", append(doc, cards(all...)...)...), nil
}

// targetCard is a target of a comparison: the times as dots and intervals, from where what
// decides is timed, and the tables from both origins.
func targetCard(cmp *compare.Result, name, id string, o figure.Options) ([]document.Block, error) {
	decides := string(timing.FromRollout)
	if cmp.Primary != nil {
		decides = cmp.Primary.From
	}
	at := only(cmp.Targets, func(t *compare.Target) bool { return t.Name == name })
	if len(at) == 2 && at[1].From == decides {
		at[0], at[1] = at[1], at[0]
	}
	var c []document.Block
	for i, t := range at {
		c = append(c, targetHeading(t))
		if i == 0 {
			dots, err := card(id, o, func(o figure.Options) (*figure.Figure, error) { return figure.ModeDots(t, o) })
			if err != nil {
				return nil, err
			}
			c = append(c, dots)
		}
		c = append(c, modesTable(t), pairsTable(t, cmp.Tests))
		if t != cmp.Primary {
			c = append(c, warnings(t.Warnings)...)
		}
	}
	return c, nil
}

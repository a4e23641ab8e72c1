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
	"fromrest/pkg/uncert"
)

// CompareText writes a comparison for a terminal: for each target the modes, the
// differences and the sentences.
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

// familyNote says what the intervals and the verdicts promise.
const familyNote = "± is half of the 95 % interval: each holds the true value at least 95 times in 100. Of sessions of equal modes at most 5 in 100 lead to any claimed difference at a target, if the scatter is as stated. p is adjusted for all pairs of the target."

// compared is a comparison target by target, and what its numbers promise.
func compared(c *compare.Result) []document.Block {
	var doc []document.Block
	for _, t := range c.Targets {
		doc = append(doc, targetHeading(t), modesTable(t), pairsTable(t), sentences(t))
		doc = append(doc, modelled(t)...)
	}
	return append(doc, document.Paragraph{Text: familyNote})
}

func targetHeading(t *compare.Target) document.Heading {
	return document.Heading{Text: t.Name, Note: OriginName(timing.Origin(t.From))}
}

// sentences are the verdicts in words.
func sentences(t *compare.Target) document.List {
	return document.List{Items: each(t.Pairs, func(p compare.Pair) string { return p.Sentence }), Layout: document.Layout{Close: true}}
}

// modelled is what the differences were worked out with, and the warnings.
func modelled(t *compare.Target) []document.Block {
	model := document.Paragraph{Text: modelSentence(t), Kind: document.Remark, Layout: document.Layout{Close: true, Hang: 2}}
	return append([]document.Block{model}, warnings(t.Warnings)...)
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
	table.Label = "Modes at " + t.Name
	for _, m := range t.Modes {
		places := uncert.Places(m.U95, 3)
		sd := ""
		if !math.IsNaN(m.SD) {
			sd = uncert.RoundHalfUp(m.SD, places)
		}
		ways := each(m.Directions, func(d compare.Direction) string {
			return fmt.Sprintf("%s %s (%d)", heading(d.Heading), uncert.RoundHalfUp(d.Mean, places), d.N)
		})
		table.Add(m.Name, fmt.Sprint(m.N), plusMinus(m.Mean, m.U95), sd, uncert.RoundHalfUp(m.Best, places),
			strings.Join(ways, ", "), plusMinus(m.TwoWay, m.TwoWayU95))
	}
	return table.WithoutEmpty()
}

// pairsTable is the table of differences at a target.
func pairsTable(t *compare.Target) *document.Table {
	table := document.TableOf(document.Whole, "", "difference", "s", "p", "Welch", "permutation", "verdict")
	table.Label = "Differences at " + t.Name
	for k := range t.Pairs {
		p := &t.Pairs[k]
		table.Add(p.A+" - "+p.B, plusMinus(p.Difference, p.Half()), pText(p.PAdjusted), pText(p.WelchHolm), pText(p.PermutationHolm), told(p.A, p.B, p.Verdict))
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
	return "not told apart"
}

// modelSentence says what the differences were worked out with.
func modelSentence(t *compare.Target) string {
	m := &t.Model
	s := "Model: " + m.String() + "."
	if m.Scatter > 0 {
		s += fmt.Sprintf(" Scatter %s s from %s.", uncert.RoundHalfUp(m.Scatter, 3), m.ScatterFrom)
	}
	if !math.IsNaN(m.Direction) {
		s += " The other direction takes " + signed(m.Direction, m.DirectionU95) + " s."
	}
	if !math.IsNaN(m.Drift) {
		s += " Each further run takes " + signed(m.Drift, m.DriftU95) + " s."
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
	standard := timing.Standard()
	return only(res.Settings.Targets, func(name string) bool {
		return !slices.ContainsFunc(standard, func(t timing.Target) bool { return t.Name == name })
	})
}

// CompareSection is the report's part on the modes against each other: at each
// headline target, with rollout and from rest, the times as dots and intervals,
// the differences and the verdicts in words; then the mean traces and the time
// gained along the way.
func CompareSection(res *session.Result, cmp *compare.Result) (Section, error) {
	doc := append(warnings(cmp.Warnings), document.Paragraph{Kind: document.Remark, Text: familyNote +
		" In the figures: the mean with its interval, beneath it each run; discs went the first way, rings the other, crosses do not count."})
	for i, t := range cmp.Targets {
		id := fmt.Sprintf("dots-%d-", i)
		dots, err := twoWidths(id+"wide", id+"slim", false, figure.OptionsFor(res), func(o figure.Options) (*figure.Figure, error) { return figure.ModeDots(t, o) })
		if err != nil {
			return Section{}, err
		}
		doc = append(doc, document.Markup("<article>"), targetHeading(t), dots, sentences(t), modesTable(t), pairsTable(t))
		doc = append(append(doc, modelled(t)...), document.Markup("</article>\n"))
	}
	for _, d := range []struct {
		id   string
		draw func(figure.Options) (*figure.Figure, error)
	}{
		{"mean-time-", func(o figure.Options) (*figure.Figure, error) {
			return figure.ModeTraces(res.Runs, figure.ByTime, o)
		}},
		{"gained-", func(o figure.Options) (*figure.Figure, error) { return figure.TimeGained(res.Runs, o) }},
	} {
		f, err := twoWidths(d.id+"wide", d.id+"slim", true, figure.OptionsFor(res), d.draw)
		if errors.Is(err, figure.ErrNoMode) {
			continue
		} else if err != nil {
			return Section{}, err
		}
		doc = append(doc, f)
	}
	return section("compare", "Modes compared", doc...), nil
}

// comparedSections are the report's section on its modes, none where there is
// nothing to compare.
func comparedSections(res *session.Result, targets []string) ([]Section, error) {
	cmp, err := res.Compare(headlineTargets(res, targets), timing.FromRollout, timing.FromRest)
	if err != nil || len(cmp.Targets) == 0 {
		return nil, nil // one mode, or none that reached a target
	}
	s, err := CompareSection(res, cmp)
	return []Section{s}, err
}

type jsonCompare struct {
	Schema   string              `json:"schema"`
	Targets  []jsonCompareTarget `json:"targets"`
	Warnings []string            `json:"warnings"`
	Settings document.Maker      `json:"settings"`
}

type jsonCompareTarget struct {
	Name     string           `json:"name"`
	From     string           `json:"from"`
	Modes    []jsonMode       `json:"modes"`
	Pairs    []jsonPair       `json:"pairs"`
	Model    jsonModel        `json:"model"`
	Runs     []jsonCompareRun `json:"runs"`
	Warnings []string         `json:"warnings"`
}

type jsonMode struct {
	Mode       string          `json:"mode"`
	N          int             `json:"n"`
	Mean       *float64        `json:"mean_s"`
	SD         *float64        `json:"sd_s"`
	Best       *float64        `json:"best_s"`
	U95        *float64        `json:"u95_s"`
	TwoWay     *float64        `json:"two_way_mean_s"`
	TwoWayU95  *float64        `json:"two_way_u95_s"`
	Adjusted   *float64        `json:"adjusted_mean_s"`
	Directions []jsonDirection `json:"directions"`
	NotCounted int             `json:"not_counted"`
}

type jsonDirection struct {
	Heading *float64 `json:"heading_deg"`
	N       int      `json:"n"`
	Mean    *float64 `json:"mean_s"`
}

type jsonPair struct {
	A           string   `json:"a"`
	B           string   `json:"b"`
	Difference  *float64 `json:"difference_s"`
	Raw         *float64 `json:"raw_difference_s"`
	Lo          *float64 `json:"lo_s"`
	Hi          *float64 `json:"hi_s"`
	Confidence  float64  `json:"confidence"`
	P           *float64 `json:"p"`
	PAdjusted   *float64 `json:"p_adjusted"`
	WelchHolm   *float64 `json:"p_welch_holm"`
	PermHolm    *float64 `json:"p_permutation_holm"`
	PermLeast   *float64 `json:"p_permutation_smallest"`
	Verdict     string   `json:"verdict"`
	RunsNeeded  *int     `json:"runs_needed"` // null where no practical number would do
	Confounded  []string `json:"confounded"`
	Description string   `json:"sentence"`
}

type jsonModel struct {
	Terms       []string `json:"terms"`
	Dropped     []string `json:"dropped"`
	ResidualDF  float64  `json:"residual_df"`
	Residual    *float64 `json:"residual_s"`
	Scatter     *float64 `json:"scatter_s"`
	ScatterDF   *float64 `json:"scatter_df"`
	ScatterFrom string   `json:"scatter_from"`
	Direction   *float64 `json:"direction_s"`
	Drift       *float64 `json:"drift_s_per_run"`
}

type jsonCompareRun struct {
	ID         string   `json:"id"`
	Mode       string   `json:"mode"`
	Order      int      `json:"order"`
	HeadingDeg *float64 `json:"heading_deg"`
	Seconds    *float64 `json:"seconds"`
	Counted    bool     `json:"counted"`
	Why        string   `json:"excluded,omitempty"`
}

// CompareJSON writes a comparison as JSON of schema compare.Schema. A number that
// is not known is null.
func CompareJSON(w io.Writer, c *compare.Result) error {
	return document.WriteJSON(w, jsonCompare{Schema: compare.Schema, Targets: each(c.Targets, compareTargetJSON), Warnings: never(c.Warnings),
		Settings: document.Maker{Version: c.Version, Model: c.Model}})
}

func compareTargetJSON(t *compare.Target) jsonCompareTarget {
	m := &t.Model
	return jsonCompareTarget{Name: t.Name, From: t.From, Modes: each(t.Modes, modeJSON), Pairs: each(t.Pairs, pairJSON), Warnings: never(t.Warnings),
		Model: jsonModel{Terms: m.Terms, Dropped: never(m.Dropped), ResidualDF: m.DF, Residual: number(m.Residual),
			Scatter: number(m.Scatter), ScatterDF: number(m.ScatterDF), ScatterFrom: m.ScatterFrom, Direction: number(m.Direction), Drift: number(m.Drift)},
		Runs: each(t.Runs, func(r compare.Run) jsonCompareRun {
			return jsonCompareRun{r.ID, r.Mode, r.Order, number(r.Heading), number(r.Seconds), r.Counted, r.Why}
		})}
}

func modeJSON(m compare.Mode) jsonMode {
	return jsonMode{Mode: m.Name, N: m.N, Mean: number(m.Mean), SD: number(m.SD), Best: number(m.Best), U95: number(m.U95),
		TwoWay: number(m.TwoWay), TwoWayU95: number(m.TwoWayU95), Adjusted: number(m.Adjusted), NotCounted: m.Left,
		Directions: each(m.Directions, func(d compare.Direction) jsonDirection { return jsonDirection{number(d.Heading), d.N, number(d.Mean)} })}
}

func pairJSON(p compare.Pair) jsonPair {
	j := jsonPair{A: p.A, B: p.B, Difference: number(p.Difference), Raw: number(p.Raw), Lo: number(p.Lo), Hi: number(p.Hi),
		Confidence: 1 - compare.Alpha, P: number(p.P), PAdjusted: number(p.PAdjusted), WelchHolm: number(p.WelchHolm),
		PermHolm: number(p.PermutationHolm), PermLeast: number(p.PermutationSmallest), Verdict: string(p.Verdict),
		Confounded: never(p.Confounded), Description: p.Sentence}
	if p.RunsNeeded >= 0 {
		j.RunsNeeded = &p.RunsNeeded
	}
	return j
}

package report

import (
	"encoding/json"
	"fmt"
	"io"

	"fromrest/pkg/document"
	"fromrest/pkg/session/compare"
)

// CompareSchema names the JSON that CompareJSON writes.
const CompareSchema = "fromrest.compare/1"

type jsonCompare struct {
	Schema   string              `json:"schema"`
	Targets  []jsonCompareTarget `json:"targets"`
	Warnings []string            `json:"warnings"`
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

// CompareJSON writes a comparison as JSON of schema CompareSchema. A number that
// is not known is null.
func CompareJSON(w io.Writer, c *compare.Result) error {
	return document.WriteJSON(w, jsonCompare{Schema: CompareSchema, Targets: each(c.Targets, compareTargetJSON), Warnings: never(c.Warnings)})
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

// PastScatter is what a past session's comparison knows of the scatter.
type PastScatter struct {
	name    string
	targets map[[2]string]compare.Scatter
}

// ReadPast reads the scatter from the JSON of a past comparison.
func ReadPast(r io.Reader, name string) (*PastScatter, error) {
	var in jsonCompare
	if err := json.NewDecoder(io.LimitReader(r, 64<<20)).Decode(&in); err != nil {
		return nil, fmt.Errorf("%s: not the JSON of a comparison: %v", name, err)
	}
	if in.Schema != CompareSchema {
		return nil, fmt.Errorf("%s: schema %q, want %q: write it with fromrest compare --format json", name, in.Schema, CompareSchema)
	}
	p := &PastScatter{name: name, targets: map[[2]string]compare.Scatter{}}
	for _, t := range in.Targets {
		if t.Model.Residual != nil && *t.Model.Residual > 0 && t.Model.ResidualDF >= 1 {
			p.targets[[2]string{t.Name, t.From}] = compare.Scatter{SD: *t.Model.Residual, DF: t.Model.ResidualDF,
				From: fmt.Sprintf("%s (%.3f s, %g degrees of freedom)", name, *t.Model.Residual, t.Model.ResidualDF)}
		}
	}
	if len(p.targets) == 0 {
		return nil, fmt.Errorf("%s: no target of it had runs enough to show their scatter", name)
	}
	return p, nil
}

// At returns the scatter at a target, nil where the past session has none.
func (p *PastScatter) At(target, from string) *compare.Scatter {
	if s, ok := p.targets[[2]string{target, from}]; ok {
		return &s
	}
	return nil
}

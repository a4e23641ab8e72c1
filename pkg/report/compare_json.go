package report

import (
	"io"

	"fromrest/pkg/document"
	"fromrest/pkg/session/compare"
)

type jsonCompare struct {
	Schema  string `json:"schema"`
	Vehicle string `json:"vehicle,omitempty"`
	// Primary is the place that decides, null where none can.
	Primary  *jsonPrimary        `json:"primary"`
	Targets  []jsonCompareTarget `json:"targets"`
	Offered  []string            `json:"offered"`
	Warnings []string            `json:"warnings"`
	Settings document.Maker      `json:"settings"`
}

// jsonPrimary is the answer: the verdicts at the place that decides.
type jsonPrimary struct {
	Name     string         `json:"name"`
	From     string         `json:"from"`
	Why      string         `json:"why,omitempty"` // it is not the usual one
	PerMode  int            `json:"runs_planned"`  // of each mode, or assumed
	Over     bool           `json:"over"`          // the last look has been taken
	Pairs    []jsonPair     `json:"pairs"`
	StandOut []jsonStandOut `json:"stand_out"`
	Notes    []string       `json:"notes"`
}

type jsonStandOut struct {
	Run     string        `json:"run"`
	Mode    string        `json:"mode"`
	Off     *float64      `json:"off_s"`
	P       *float64      `json:"p"`
	Trace   string        `json:"trace,omitempty"`
	Without []jsonWithout `json:"without"`
	Text    string        `json:"sentence"`
}

type jsonWithout struct {
	A          string   `json:"a"`
	B          string   `json:"b"`
	Difference *float64 `json:"difference_s"`
	Lo         *float64 `json:"lo_s"`
	Hi         *float64 `json:"hi_s"`
	Verdict    string   `json:"verdict"`
}

type jsonCompareTarget struct {
	Name     string           `json:"name"`
	From     string           `json:"from"`
	Primary  bool             `json:"primary"`
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
	Scatter    *float64        `json:"scatter_s"`
	Way        *float64        `json:"direction_s"`
	WayU95     *float64        `json:"direction_u95_s"`
	Directions []jsonDirection `json:"directions"`
	NotCounted int             `json:"not_counted"`
}

type jsonDirection struct {
	Heading *float64 `json:"heading_deg"`
	N       int      `json:"n"`
	Mean    *float64 `json:"mean_s"`
}

type jsonPair struct {
	A           string      `json:"a"`
	B           string      `json:"b"`
	Difference  *float64    `json:"difference_s"`
	Raw         *float64    `json:"raw_difference_s"`
	SE          *float64    `json:"standard_error_s"`
	DF          *float64    `json:"degrees_of_freedom"`
	Lo          *float64    `json:"lo_s"`
	Hi          *float64    `json:"hi_s"`
	Confidence  float64     `json:"confidence"`
	P           *float64    `json:"p"`
	PAdjusted   *float64    `json:"p_adjusted"`
	Level       float64     `json:"level"` // that p_adjusted had to reach at the last look
	WelchHolm   *float64    `json:"p_welch_holm"`
	PermHolm    *float64    `json:"p_permutation_holm"`
	PermLeast   *float64    `json:"p_permutation_smallest"`
	Verdict     string      `json:"verdict"`
	Single      bool        `json:"single_test"` // a single test of all runs would tell them apart
	State       string      `json:"state,omitempty"`
	Why         string      `json:"why,omitempty"`
	DecidedAt   *int        `json:"decided_at_run"`
	More        *jsonNeeded `json:"runs_needed"` // null where it was not asked for or no practical number would do
	Confounded  []string    `json:"confounded"`
	Description string      `json:"sentence,omitempty"`
}

type jsonNeeded struct {
	More int     `json:"more_of_each"`
	Lo   int     `json:"lo"`
	Hi   int     `json:"hi"`
	For  float64 `json:"difference_s"`
}

type jsonModel struct {
	Terms       []string `json:"terms"`
	Dropped     []string `json:"dropped"`
	ResidualDF  float64  `json:"residual_df"`
	Residual    *float64 `json:"residual_s"`
	ScatterFrom string   `json:"scatter_from"`
	Drift       *float64 `json:"drift_s_per_run"`
	DriftU95    *float64 `json:"drift_u95_s_per_run"`
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

// CompareJSON writes a comparison as JSON of schema compare.Schema, which
// docs/compare.schema.json describes. A number that is not known is null.
func CompareJSON(w io.Writer, c *compare.Result) error {
	return document.WriteJSON(w, jsonCompare{Schema: compare.Schema, Vehicle: c.Vehicle, Primary: primaryJSON(c), Targets: each(c.Targets, compareTargetJSON),
		Offered: never(c.Offered), Warnings: never(c.Warnings), Settings: document.Maker{Version: c.Version, Model: c.Model}})
}

func primaryJSON(c *compare.Result) *jsonPrimary {
	t := c.Primary
	if t == nil {
		return nil
	}
	t.SecondTests()
	return &jsonPrimary{Name: t.Name, From: t.From, Why: c.WhyPrimary, PerMode: t.PlanRuns, Over: t.Over, Pairs: each(t.Pairs, pairJSON), Notes: never(t.Notes),
		StandOut: each(t.StandOut, func(o compare.StandOut) jsonStandOut {
			return jsonStandOut{Run: o.ID, Mode: o.Mode, Off: number(o.Off), P: number(o.P), Trace: o.Trace, Text: o.Sentence,
				Without: each(o.Without, func(p compare.Pair) jsonWithout {
					return jsonWithout{p.A, p.B, number(p.Difference), number(p.Lo), number(p.Hi), string(p.Verdict)}
				})}
		})}
}

func compareTargetJSON(t *compare.Target) jsonCompareTarget {
	m := &t.Model
	t.SecondTests()
	return jsonCompareTarget{Name: t.Name, From: t.From, Primary: t.Primary, Modes: each(t.Modes, modeJSON), Pairs: each(t.Pairs, pairJSON), Warnings: never(t.Warnings),
		Model: jsonModel{Terms: m.Terms, Dropped: never(m.Dropped), ResidualDF: m.DF, Residual: number(m.Residual),
			ScatterFrom: m.ScatterFrom, Drift: number(m.Drift), DriftU95: number(m.DriftU95)},
		Runs: each(t.Runs, func(r compare.Run) jsonCompareRun {
			return jsonCompareRun{r.ID, r.Mode, r.Order, number(r.Heading), number(r.Seconds), r.Counted, r.Why}
		})}
}

func modeJSON(m compare.Mode) jsonMode {
	return jsonMode{Mode: m.Name, N: m.N, Mean: number(m.Mean), SD: number(m.SD), Best: number(m.Best), U95: number(m.U95),
		TwoWay: number(m.TwoWay), TwoWayU95: number(m.TwoWayU95), Adjusted: number(m.Adjusted), Scatter: number(m.Scatter),
		Way: number(m.Way), WayU95: number(m.WayU95), NotCounted: m.Left,
		Directions: each(m.Directions, func(d compare.Direction) jsonDirection { return jsonDirection{number(d.Heading), d.N, number(d.Mean)} })}
}

func pairJSON(p compare.Pair) jsonPair {
	j := jsonPair{A: p.A, B: p.B, Difference: number(p.Difference), Raw: number(p.Raw), SE: number(p.SE), DF: number(p.DF), Lo: number(p.Lo), Hi: number(p.Hi),
		Confidence: 1 - compare.Alpha, P: number(p.P), PAdjusted: number(p.PAdjusted), Level: p.Level, WelchHolm: number(p.WelchHolm),
		PermHolm: number(p.PermutationHolm), PermLeast: number(p.PermutationSmallest), Verdict: string(p.Verdict), Single: p.Fixed, State: string(p.State),
		Why: p.Why, Confounded: never(p.Confounded), Description: p.Sentence}
	if p.DecidedAt > 0 {
		j.DecidedAt = &p.DecidedAt
	}
	if p.More > 0 {
		j.More = &jsonNeeded{p.More, p.MoreLo, p.MoreHi, p.For}
	}
	return j
}

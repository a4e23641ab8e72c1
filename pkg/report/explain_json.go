package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/air"
)

// predictedLine sets a prediction beside the mean of the measured times.
func predictedLine(p *explain.Prediction, e *explain.Explanation, target explain.Target) string {
	name := target.Name
	t, ok := target.Reach(p.Run)
	s := name + " from rest: out of reach in this gearing"
	if ok {
		x, _ := p.Time(target)
		s = fmt.Sprintf("%s from rest: predicted %s s (modelled)", name, plusMinus(t, x.U95()))
	}
	if m := e.Mean(p.Mode, target); m.N > 0 {
		s += fmt.Sprintf(", measured %s s (n = %d)", plusMinus(m.X, m.U95), m.N)
		if g, ok := e.OffBy(p, target); ok {
			s += fmt.Sprintf(", predicted less measured %s %%", plusMinus(g.X, g.U95()))
		}
	}
	return s
}

// conditionLines are the sentences about the conditions of one run.
func conditionLines(c *explain.RunConditions) []string {
	both := func(v uncert.Value, times float64) string {
		x, h := uncert.Format(v.X*times, v.U95()*times)
		return x + " ±" + h
	}
	grade, wind := "grade not known", "head wind not known"
	if !math.IsNaN(c.Grade.X) {
		grade = fmt.Sprintf("grade %s %% (%s)", both(c.Grade, 100), c.GradeFrom)
	}
	if !math.IsNaN(c.HeadWind.X) {
		wind = fmt.Sprintf("head wind %s m/s (%s)", both(c.HeadWind, 1), c.HeadWindFrom)
	}
	out := []string{fmt.Sprintf("%s: %s; %s", c.Run.ID, grade, wind)}
	for _, e := range c.Effects {
		if e.From != timing.FromRollout || e.Name != "0-60 mph" && e.Name != "1/4 mile" {
			continue
		}
		line := fmt.Sprintf("%s, %s with rollout: %.2f s;", c.Run.ID, e.Name, e.Headline.X)
		for _, k := range []struct {
			name string
			v    uncert.Value
		}{{"grade", e.Grade}, {"wind", e.HeadWind}, {"air", e.Air}, {"power", e.Power}} {
			if !math.IsNaN(k.v.X) {
				line += fmt.Sprintf(" %s cost %s s,", k.name, both(k.v, 1))
			}
		}
		out = append(out, line+fmt.Sprintf(" corrected %s s", both(e.Corrected, 1)))
	}
	return out
}

type jsonExplanation struct {
	Schema      string           `json:"schema"`
	Settings    document.Maker   `json:"settings"`
	Density     float64          `json:"density_kg_m3"`
	Modes       []jsonExplained  `json:"modes"`
	Runs        []string         `json:"runs,omitempty"`
	Against     []string         `json:"contradicted,omitempty"`
	Assumed     []string         `json:"assumed,omitempty"`
	Caution     []string         `json:"cautions"`
	Air         jsonAir          `json:"air"`
	Conditions  []jsonConditions `json:"conditions,omitempty"`
	Profiles    []jsonProfile    `json:"profiles"`
	Traces      *jsonTraced      `json:"traces,omitempty"`
	Differences []jsonDifference `json:"time_differences,omitempty"`
	Spent       []jsonSpent      `json:"where_time_went,omitempty"`
	Offered     []jsonOffered    `json:"shown_by_traces,omitempty"`
}

type jsonExplained struct {
	Mode    string          `json:"mode"`
	GripN   float64         `json:"grip_n,omitempty"`
	Missing []jsonMissing   `json:"missing,omitempty"`
	Lines   []string        `json:"lines,omitempty"`
	Story   string          `json:"story,omitempty"`
	Times   []jsonPredicted `json:"times,omitempty"`
}

// jsonOffered is a value that the traces tell, in the unit of its key; power in kW.
type jsonOffered struct {
	Key   string   `json:"key"`
	Mode  string   `json:"mode,omitempty"`
	Value *float64 `json:"value,omitempty"`
	Lo    *float64 `json:"lo,omitempty"`
	Hi    *float64 `json:"hi,omitempty"`
	From  string   `json:"from"`
}

func offeredJSON(o explain.Offered) jsonOffered {
	return jsonOffered{o.Key, o.Mode, number(o.X), number(o.Lo), number(o.Hi), o.From}
}

// ExplainJSON writes an explanation for scripts.
func ExplainJSON(w io.Writer, e *explain.Explanation) error {
	a := e.Air
	out := jsonExplanation{Schema: "fromrest.explain/1", Settings: made(explainedBy(e)), Density: e.Density, Against: e.Against, Assumed: e.Assumed, Caution: explainCautions(),
		Air:        jsonAir{valueOf(a.Density), valueOf(a.Altitude), string(a.Basis), a.From, valueOf(a.PowerFactor), string(a.PowerBasis), a.PowerFrom},
		Conditions: each(e.Conditions, runConditionsJSON), Profiles: each(air.Profiles(), func(p air.Profile) jsonProfile { return profileJSON(p, e.Profiles[p.Name]) }),
		Traces: tracedJSON(e.Traced), Differences: differencesJSON(e), Spent: each(spents(e), spentJSON), Offered: each(e.Offered(), offeredJSON)}
	for _, p := range e.Predictions {
		out.Modes = append(out.Modes, explainedJSON(p, e))
	}
	for i := range e.Conditions {
		out.Runs = append(out.Runs, conditionLines(&e.Conditions[i])...)
	}
	enc := json.NewEncoder(w) // escapes what means something in a page, unlike the others
	enc.SetIndent("", "  ")
	return enc.Encode(out)
}

func explainedJSON(p *explain.Prediction, e *explain.Explanation) jsonExplained {
	j := jsonExplained{Mode: p.Mode, Missing: each(p.Missing, missingJSON), Story: story(e, p)}
	if p.Grip != nil {
		j.GripN = p.Grip.Thrust
	}
	for _, t := range explain.Targets {
		x := jsonPredicted{Name: t.Name}
		if p.Run != nil {
			j.Lines = append(j.Lines, predictedLine(p, e, t))
			if s, ok := p.Time(t); ok {
				x.Predicted = based(s, explain.Modelled)
			}
		}
		if m := e.Mean(p.Mode, t); m.N > 0 {
			x.Measured, x.Runs = based(uncert.Value{X: m.X, U: m.U95 / uncert.Z95}, explain.Measured), m.N
			if g, ok := e.OffBy(p, t); ok {
				x.OffBy = based(g, explain.Modelled)
			}
		}
		if x.Predicted != nil || x.Measured != nil {
			j.Times = append(j.Times, x)
		}
	}
	j.Lines = append(j.Lines, basisLines(p, e)...)
	return j
}

// jsonBased is a number with half of its 95 % interval and what it rests on.
type jsonBased struct {
	X     *float64 `json:"value,omitempty"`
	U95   *float64 `json:"u95,omitempty"`
	Basis string   `json:"basis"` // "measured", "modelled" or "assumed"
}

// basedJSON is nil where the number is not known.
func based(v uncert.Value, b explain.Basis) *jsonBased {
	x := number(v.X)
	if x == nil {
		return nil
	}
	return &jsonBased{X: x, U95: number(v.U95()), Basis: string(b)}
}

// jsonPredicted is a predicted time from rest beside the measured mean.
type jsonPredicted struct {
	Name      string     `json:"name"`
	Predicted *jsonBased `json:"predicted_s,omitempty"`
	Measured  *jsonBased `json:"measured_s,omitempty"`
	Runs      int        `json:"runs,omitempty"`
	OffBy     *jsonBased `json:"predicted_less_measured_percent,omitempty"`
}

// jsonDifference is by how much a differs from b in one time from rest, and what
// of it the sheet explains.
type jsonDifference struct {
	A           string      `json:"a"`
	B           string      `json:"b"`
	Name        string      `json:"name"`
	Measured    *jsonBased  `json:"measured_s"`
	Explained   []jsonCause `json:"explained,omitempty"`
	Unexplained *jsonBased  `json:"unexplained_s,omitempty"`
}

type jsonCause struct {
	What    string  `json:"what"`
	Seconds float64 `json:"seconds"`
	U95     float64 `json:"u95_s"`
	Basis   string  `json:"basis"`
}

// jsonMissing is a key that a sheet lacks and what it would unlock.
type jsonMissing struct {
	Key     string `json:"key"`
	Unlocks string `json:"unlocks"`
}

func missingJSON(m explain.Missing) jsonMissing { return jsonMissing(m) }

// jsonSpent is where the time went in which two modes differ.
type jsonSpent struct {
	A         string          `json:"a"`
	B         string          `json:"b"`
	Name      string          `json:"name"`
	Measured  *jsonBased      `json:"measured_s"`
	Predicted *jsonBased      `json:"predicted_s,omitempty"`
	Parts     []jsonSpentPart `json:"parts"`
}

type jsonSpentPart struct {
	What      string     `json:"what"`
	From      float64    `json:"from_mps,omitempty"`
	To        float64    `json:"to_mps,omitempty"`
	Seconds   *jsonBased `json:"seconds"`
	Predicted *jsonBased `json:"predicted_s,omitempty"`
}

func spentJSON(s explain.Spent) jsonSpent {
	return jsonSpent{A: s.A, B: s.B, Name: s.Target.Name, Measured: based(s.Measured, explain.Measured), Predicted: based(s.Predicted, explain.Modelled),
		Parts: each(s.Parts, func(p explain.SpentPart) jsonSpentPart {
			return jsonSpentPart{p.What, p.From, p.To, based(p.Seconds, explain.Modelled), based(p.Predicted, explain.Modelled)}
		})}
}

func differencesJSON(e *explain.Explanation) []jsonDifference {
	if e.Traced == nil {
		return nil
	}
	var out []jsonDifference
	for _, b := range e.Traced.Bands {
		for _, t := range explain.Targets {
			d, ok := e.Difference(b.A, b.B, t)
			if !ok {
				continue
			}
			j := jsonDifference{A: b.A, B: b.B, Name: t.Name, Measured: based(d.Seconds, explain.Measured),
				Explained: each(d.Causes, func(c explain.Cause) jsonCause {
					return jsonCause{c.What, c.Seconds.X, c.Seconds.U95(), string(explain.Modelled)}
				})}
			if d.Causes != nil {
				j.Unexplained = based(d.Left, explain.Modelled)
			}
			out = append(out, j)
		}
	}
	return out
}

// jsonValue is a value with its half-width; null where not known.
type jsonValue struct {
	X   float64 `json:"value"`
	U95 float64 `json:"u95"`
}

func valueOf(v uncert.Value) *jsonValue {
	if document.Finite(v.X) == nil || document.Finite(v.U) == nil {
		return nil
	}
	return &jsonValue{v.X, v.U95()}
}

type jsonEffect struct {
	Name      string     `json:"name"`
	From      string     `json:"from"`
	Measured  *jsonValue `json:"measured_s,omitempty"`
	Grade     *jsonValue `json:"grade_s,omitempty"`
	HeadWind  *jsonValue `json:"head_wind_s,omitempty"`
	Air       *jsonValue `json:"air_s,omitempty"`
	Power     *jsonValue `json:"power_s,omitempty"`
	Corrected *jsonValue `json:"corrected_s,omitempty"`
}

type jsonConditions struct {
	Run          string       `json:"run"`
	HeadingDeg   *float64     `json:"heading_deg,omitempty"`
	Grade        *jsonValue   `json:"grade,omitempty"`
	GradeFrom    string       `json:"grade_from"`
	GradeBasis   string       `json:"grade_basis"` // "measured", "modelled" or ""
	HeadWind     *jsonValue   `json:"head_wind_mps,omitempty"`
	HeadWindFrom string       `json:"head_wind_from"`
	WindBasis    string       `json:"head_wind_basis"`
	CrossWind    *float64     `json:"cross_wind_mps,omitempty"`
	Times        []jsonEffect `json:"times,omitempty"`
}

type jsonAir struct {
	Density     *jsonValue `json:"density_kg_m3,omitempty"`
	Altitude    *jsonValue `json:"density_altitude_m,omitempty"`
	Basis       string     `json:"basis"` // "measured", "assumed" or ""
	From        string     `json:"from"`
	PowerFactor *jsonValue `json:"power_factor,omitempty"`
	PowerBasis  string     `json:"power_basis"`
	PowerFrom   string     `json:"power_from"`
}

type jsonClause struct {
	Limit    string     `json:"limit"`
	Quantity string     `json:"quantity"`
	Value    *jsonValue `json:"value,omitempty"` // SI
	Verdict  string     `json:"verdict"`
	Read     string     `json:"read"`
}

type jsonProfile struct {
	Name    string       `json:"name"`
	About   string       `json:"about"`
	Source  string       `json:"source"`
	Verdict string       `json:"verdict"`
	Clauses []jsonClause `json:"clauses,omitempty"`
}

func runConditionsJSON(c explain.RunConditions) jsonConditions {
	return jsonConditions{Run: c.Run.ID, HeadingDeg: document.Finite(c.Run.HeadingDeg), Grade: valueOf(c.Grade), GradeFrom: c.GradeFrom, GradeBasis: string(explain.BasisOf(c.GradeFrom)),
		HeadWind: valueOf(c.HeadWind), HeadWindFrom: c.HeadWindFrom, WindBasis: string(explain.BasisOf(c.HeadWindFrom)), CrossWind: document.Finite(c.CrossWind),
		Times: each(c.Effects, func(f explain.Effect) jsonEffect {
			return jsonEffect{f.Name, string(f.From), valueOf(f.Headline), valueOf(f.Grade), valueOf(f.HeadWind), valueOf(f.Air), valueOf(f.Power), valueOf(f.Corrected)}
		})}
}

func profileJSON(p air.Profile, found []air.Finding) jsonProfile {
	return jsonProfile{Name: p.Name, About: p.About, Source: p.Source, Verdict: string(air.Overall(found)), Clauses: each(found, func(f air.Finding) jsonClause {
		return jsonClause{f.Clause.Text(), string(f.Clause.Quantity), valueOf(f.Value), string(f.Verdict), string(f.Clause.Read)}
	})}
}

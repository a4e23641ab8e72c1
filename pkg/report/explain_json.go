package report

import (
	"encoding/json"
	"fmt"
	"io"
	"math"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/air"
)

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

// jsonBased is a number with half of its 95 % interval and what it rests on.
type jsonBased struct {
	X     *float64 `json:"value"`
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

func predictedJSON(p *explain.Prediction, e *explain.Explanation) []jsonPredicted {
	var out []jsonPredicted
	for _, t := range explain.Targets {
		j := jsonPredicted{Name: t.Name}
		if p.Run != nil {
			if x, ok := t.Reach(p.Run); ok {
				j.Predicted = based(uncert.Value{X: x, U: math.NaN()}, explain.Modelled)
			}
		}
		if m := e.Mean(p.Mode, t); m.N > 0 {
			j.Measured, j.Runs = based(uncert.Value{X: m.X, U: m.U95 / uncert.Z95}, explain.Measured), m.N
			if g, ok := e.OffBy(p, t); ok {
				j.OffBy = based(g, explain.Modelled)
			}
		}
		if j.Predicted != nil || j.Measured != nil {
			out = append(out, j)
		}
	}
	return out
}

// jsonDifference is by how much a differs from b in one time from rest, and what
// of it the sheet explains.
type jsonDifference struct {
	A           string      `json:"a"`
	B           string      `json:"b"`
	Name        string      `json:"name"`
	Measured    *jsonBased  `json:"measured_s"`
	Explained   []jsonCause `json:"explained"`
	Unexplained *jsonBased  `json:"unexplained_s,omitempty"`
}

type jsonCause struct {
	What    string  `json:"what"`
	Seconds float64 `json:"seconds"`
	Basis   string  `json:"basis"`
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
			u := d.U95 / uncert.Z95
			j := jsonDifference{A: b.A, B: b.B, Name: t.Name, Measured: based(uncert.Value{X: d.Seconds, U: u}, explain.Measured), Explained: []jsonCause{}}
			for _, c := range d.Causes {
				j.Explained = append(j.Explained, jsonCause{c.What, c.Seconds, string(explain.Modelled)})
			}
			if d.Causes != nil {
				j.Unexplained = based(uncert.Value{X: d.Left, U: u}, explain.Modelled)
			}
			out = append(out, j)
		}
	}
	return out
}

// jsonTraced is what the traces tell of the vehicle, on the wire.
type jsonTraced struct {
	Load    jsonLoad          `json:"road_load"`
	Runs    []jsonTracedRun   `json:"runs"`
	Modes   []jsonModeForce   `json:"modes"`
	Bands   []jsonBand        `json:"mode_differences"`
	Missing []explain.Missing `json:"missing"`
}

type jsonLoad struct {
	Rolling *jsonBased `json:"rolling_resistance,omitempty"`
	Drag    *jsonBased `json:"drag_over_mass_per_m,omitempty"`
	Factor  *jsonBased `json:"mass_factor,omitempty"`
	Text    string     `json:"text"`
	Coasts  []string   `json:"coast_downs,omitempty"`
}

type jsonTracedRun struct {
	Run      string      `json:"run"`
	Mode     string      `json:"mode"`
	Shifts   []jsonShift `json:"shifts"`
	NoShifts string      `json:"no_shifts,omitempty"`
	GripPeak *jsonBased  `json:"grip_share_peak,omitempty"`
	GripMean *jsonBased  `json:"grip_share_mean,omitempty"`
}

type jsonShift struct {
	Time     *jsonBased `json:"time_s"`
	Speed    *jsonBased `json:"speed_mps"`
	Duration *jsonBased `json:"duration_s"`
	Cost     *jsonBased `json:"cost_s,omitempty"`
	Step     *jsonBased `json:"force_after_over_before,omitempty"`
	From     int        `json:"from_gear,omitempty"`
	To       int        `json:"to_gear,omitempty"`
	Gears    string     `json:"gears_basis,omitempty"`
}

type jsonModeForce struct {
	Mode   string           `json:"mode"`
	Runs   int              `json:"runs"`
	Basis  string           `json:"basis"`
	Points []jsonForcePoint `json:"points"`
}

type jsonForcePoint struct {
	Speed       float64  `json:"speed_mps"`
	Specific    *float64 `json:"force_over_mass_mps2,omitempty"`
	SpecificU95 *float64 `json:"force_over_mass_u95_mps2,omitempty"`
	Force       *float64 `json:"force_n,omitempty"`
	ForceU95    *float64 `json:"force_u95_n,omitempty"`
	Power       *float64 `json:"power_w,omitempty"`
	PowerU95    *float64 `json:"power_u95_w,omitempty"`
}

type jsonBand struct {
	A       string         `json:"a"`
	B       string         `json:"b"`
	NA      int            `json:"runs_a"`
	NB      int            `json:"runs_b"`
	Parts   []jsonBandPart `json:"parts"`
	Loss    *jsonBased     `json:"driveline_loss_percent,omitempty"`
	LossHow string         `json:"driveline_loss_how"`
	Gear    *jsonBased     `json:"gearing_percent,omitempty"`
	GearHow string         `json:"gearing_how"`
}

type jsonBandPart struct {
	From    float64    `json:"from_mps"`
	To      float64    `json:"to_mps"`
	Gear    int        `json:"gear,omitempty"`
	Limit   string     `json:"limit"`
	Percent *jsonBased `json:"percent"`
}

func tracedJSON(t *explain.Traced) *jsonTraced {
	if t == nil {
		return nil
	}
	l := &t.Load
	out := &jsonTraced{Load: jsonLoad{Rolling: based(l.Rolling, l.RollingBasis), Drag: based(l.Drag, l.DragBasis),
		Factor: based(l.Factor, l.FactorBasis), Text: l.Text, Coasts: l.Coasts},
		Runs: []jsonTracedRun{}, Modes: []jsonModeForce{}, Bands: []jsonBand{}, Missing: t.Missing}
	for i := range t.Runs {
		out.Runs = append(out.Runs, tracedRunJSON(&t.Runs[i]))
	}
	for _, m := range t.Modes {
		j := jsonModeForce{Mode: m.Mode, Runs: m.Runs, Basis: string(m.Basis), Points: []jsonForcePoint{}}
		for _, p := range m.Points {
			if p.InShift {
				continue
			}
			j.Points = append(j.Points, jsonForcePoint{p.Speed, number(p.Specific.X), number(p.Specific.U95()),
				number(p.Force.X), number(p.Force.U95()), number(p.Power.X), number(p.Power.U95())})
		}
		out.Modes = append(out.Modes, j)
	}
	for i := range t.Bands {
		b := &t.Bands[i]
		j := jsonBand{A: b.A, B: b.B, NA: b.NA, NB: b.NB, Parts: []jsonBandPart{}, Loss: based(b.Loss, b.LossBasis), LossHow: b.LossHow,
			Gear: based(b.Gearing, b.GearingBasis), GearHow: b.GearingHow}
		for _, p := range b.Parts {
			j.Parts = append(j.Parts, jsonBandPart{p.From, p.To, p.Gear, p.Limit, based(p.Percent, p.Basis)})
		}
		out.Bands = append(out.Bands, j)
	}
	return out
}

func tracedRunJSON(r *explain.TracedRun) jsonTracedRun {
	j := jsonTracedRun{Run: r.Run.ID, Mode: r.Run.Mode, Shifts: []jsonShift{}, NoShifts: r.NoShifts,
		GripPeak: based(r.Grip.Peak, r.Grip.Basis), GripMean: based(r.Grip.Mean, r.Grip.Basis)}
	for _, s := range r.Shifts {
		k := jsonShift{Time: based(s.Time, explain.ShiftBasis), Speed: based(s.Speed, explain.ShiftBasis),
			Duration: based(s.Duration, explain.ShiftBasis), Cost: based(s.Cost, explain.CostBasis),
			Step: based(s.Step, explain.CostBasis), From: s.From, To: s.To}
		if s.From > 0 {
			k.Gears = string(s.GearBasis)
		}
		j.Shifts = append(j.Shifts, k)
	}
	return j
}

// jsonValue is a value with its half-width; null where not known.
type jsonValue struct {
	X   float64 `json:"value"`
	U95 float64 `json:"u95"`
}

func valueOf(v uncert.Value) *jsonValue {
	if math.IsNaN(v.X) || math.IsInf(v.X, 0) || math.IsNaN(v.U) || math.IsInf(v.U, 0) {
		return nil
	}
	return &jsonValue{v.X, v.U95()}
}

type jsonEffect struct {
	Name      string     `json:"name"`
	From      string     `json:"from"`
	Measured  *jsonValue `json:"measured_s"`
	Grade     *jsonValue `json:"grade_s"`
	HeadWind  *jsonValue `json:"head_wind_s"`
	Air       *jsonValue `json:"air_s"`
	Power     *jsonValue `json:"power_s"`
	Corrected *jsonValue `json:"corrected_s"`
}

type jsonRunConditions struct {
	Run          string       `json:"run"`
	HeadingDeg   *float64     `json:"heading_deg"`
	Grade        *jsonValue   `json:"grade"`
	GradeFrom    string       `json:"grade_from"`
	GradeBasis   string       `json:"grade_basis"` // "measured", "modelled" or ""
	HeadWind     *jsonValue   `json:"head_wind_mps"`
	HeadWindFrom string       `json:"head_wind_from"`
	WindBasis    string       `json:"head_wind_basis"`
	CrossWind    *float64     `json:"cross_wind_mps"`
	Times        []jsonEffect `json:"times"`
}

type jsonAir struct {
	Density     *jsonValue `json:"density_kg_m3"`
	Altitude    *jsonValue `json:"density_altitude_m"`
	Basis       string     `json:"basis"` // "measured", "assumed" or ""
	From        string     `json:"from"`
	PowerFactor *jsonValue `json:"power_factor"`
	PowerBasis  string     `json:"power_basis"`
	PowerFrom   string     `json:"power_from"`
}

type jsonClause struct {
	Limit    string     `json:"limit"`
	Quantity string     `json:"quantity"`
	Value    *jsonValue `json:"value"` // SI
	Verdict  string     `json:"verdict"`
	Read     string     `json:"read"`
}

type jsonProfile struct {
	Name    string       `json:"name"`
	About   string       `json:"about"`
	Source  string       `json:"source"`
	Verdict string       `json:"verdict"`
	Clauses []jsonClause `json:"clauses"`
}

// conditionsForJSON are the conditions of an explanation for scripts: effects are
// modelled, measured times are as measured.
type conditionsForJSON struct {
	Air      jsonAir             `json:"air"`
	Runs     []jsonRunConditions `json:"conditions"`
	Profiles []jsonProfile       `json:"profiles"`
}

func conditionsJSON(e *explain.Explanation) conditionsForJSON {
	a := e.Air
	out := conditionsForJSON{Air: jsonAir{valueOf(a.Density), valueOf(a.Altitude), string(a.Basis), a.From, valueOf(a.PowerFactor), string(a.PowerBasis), a.PowerFrom},
		Runs: []jsonRunConditions{}, Profiles: []jsonProfile{}}
	for i := range e.Conditions {
		c := &e.Conditions[i]
		r := jsonRunConditions{Run: c.Run.ID, HeadingDeg: finite(c.Run.HeadingDeg), Grade: valueOf(c.Grade), GradeFrom: c.GradeFrom, GradeBasis: string(c.GradeBasis()),
			HeadWind: valueOf(c.HeadWind), HeadWindFrom: c.HeadWindFrom, WindBasis: string(c.HeadWindBasis()), CrossWind: finite(c.CrossWind), Times: []jsonEffect{}}
		for _, f := range c.Effects {
			r.Times = append(r.Times, jsonEffect{f.Name, string(f.From), valueOf(f.Headline), valueOf(f.Grade), valueOf(f.HeadWind), valueOf(f.Air), valueOf(f.Power), valueOf(f.Corrected)})
		}
		out.Runs = append(out.Runs, r)
	}
	for _, p := range air.Profiles() {
		fs := e.Profiles[p.Name]
		j := jsonProfile{Name: p.Name, About: p.About, Source: p.Source, Verdict: string(air.Overall(fs)), Clauses: []jsonClause{}}
		for _, f := range fs {
			j.Clauses = append(j.Clauses, jsonClause{f.Clause.Text(), string(f.Clause.Quantity), valueOf(f.Value), string(f.Verdict), string(f.Clause.Read)})
		}
		out.Profiles = append(out.Profiles, j)
	}
	return out
}

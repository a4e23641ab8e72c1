package report

import (
	"math"

	"fromrest/pkg/session/explain"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/air"
)

// jsonValue is a value with its half-width; null where not known.
type jsonValue struct {
	X   float64 `json:"value"`
	U95 float64 `json:"u95"`
}

func known(v uncert.Value) *jsonValue {
	if math.IsNaN(v.X) || math.IsInf(v.X, 0) || math.IsNaN(v.U) || math.IsInf(v.U, 0) {
		return nil
	}
	return &jsonValue{v.X, v.U95()}
}

func knownNumber(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
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
	out := conditionsForJSON{Air: jsonAir{known(a.Density), known(a.Altitude), string(a.Basis), a.From, known(a.PowerFactor), string(a.PowerBasis), a.PowerFrom},
		Runs: []jsonRunConditions{}, Profiles: []jsonProfile{}}
	for i := range e.Conditions {
		c := &e.Conditions[i]
		r := jsonRunConditions{Run: c.Run.ID, HeadingDeg: knownNumber(c.Run.HeadingDeg), Grade: known(c.Grade), GradeFrom: c.GradeFrom, GradeBasis: string(c.GradeBasis()),
			HeadWind: known(c.HeadWind), HeadWindFrom: c.HeadWindFrom, WindBasis: string(c.HeadWindBasis()), CrossWind: knownNumber(c.CrossWind), Times: []jsonEffect{}}
		for _, f := range c.Effects {
			r.Times = append(r.Times, jsonEffect{f.Name, string(f.From), known(f.Headline), known(f.Grade), known(f.HeadWind), known(f.Air), known(f.Power), known(f.Corrected)})
		}
		out.Runs = append(out.Runs, r)
	}
	for _, p := range air.Profiles() {
		fs := e.Profiles[p.Name]
		j := jsonProfile{Name: p.Name, About: p.About, Source: p.Source, Verdict: string(air.Overall(fs)), Clauses: []jsonClause{}}
		for _, f := range fs {
			j.Clauses = append(j.Clauses, jsonClause{f.Clause.Text(), string(f.Clause.Quantity), known(f.Value), string(f.Verdict), string(f.Clause.Read)})
		}
		out.Profiles = append(out.Profiles, j)
	}
	return out
}

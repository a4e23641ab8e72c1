package report

import (
	"math"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/uncert"
)

// jsonBased is a number with half of its 95 % interval and what it rests on.
type jsonBased struct {
	X     *float64 `json:"value"`
	U95   *float64 `json:"u95,omitempty"`
	Basis string   `json:"basis"` // "measured", "modelled" or "assumed"
}

// basedJSON is nil where the number is not known.
func basedJSON(v uncert.Value, b explain.Basis) *jsonBased {
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
				j.Predicted = basedJSON(uncert.Value{X: x, U: math.NaN()}, explain.Modelled)
			}
		}
		if m := e.Mean(p.Mode, t); m.N > 0 {
			j.Measured, j.Runs = basedJSON(uncert.Value{X: m.X, U: m.U95 / uncert.Z95}, explain.Measured), m.N
			if g, ok := e.OffBy(p, t); ok {
				j.OffBy = basedJSON(g, explain.Modelled)
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
			j := jsonDifference{A: b.A, B: b.B, Name: t.Name, Measured: basedJSON(uncert.Value{X: d.Seconds, U: u}, explain.Measured), Explained: []jsonCause{}}
			for _, c := range d.Causes {
				j.Explained = append(j.Explained, jsonCause{c.What, c.Seconds, string(explain.Modelled)})
			}
			if d.Causes != nil {
				j.Unexplained = basedJSON(uncert.Value{X: d.Left, U: u}, explain.Modelled)
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
	out := &jsonTraced{Load: jsonLoad{Rolling: basedJSON(l.Rolling, l.RollingBasis), Drag: basedJSON(l.Drag, l.DragBasis),
		Factor: basedJSON(l.Factor, l.FactorBasis), Text: l.Text, Coasts: l.Coasts},
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
		j := jsonBand{A: b.A, B: b.B, NA: b.NA, NB: b.NB, Parts: []jsonBandPart{}, Loss: basedJSON(b.Loss, b.LossBasis), LossHow: b.LossHow,
			Gear: basedJSON(b.Gearing, b.GearingBasis), GearHow: b.GearingHow}
		for _, p := range b.Parts {
			j.Parts = append(j.Parts, jsonBandPart{p.From, p.To, p.Gear, p.Limit, basedJSON(p.Percent, p.Basis)})
		}
		out.Bands = append(out.Bands, j)
	}
	return out
}

func tracedRunJSON(r *explain.TracedRun) jsonTracedRun {
	j := jsonTracedRun{Run: r.Run.ID, Mode: r.Run.Mode, Shifts: []jsonShift{}, NoShifts: r.NoShifts,
		GripPeak: basedJSON(r.Grip.Peak, r.Grip.Basis), GripMean: basedJSON(r.Grip.Mean, r.Grip.Basis)}
	for _, s := range r.Shifts {
		k := jsonShift{Time: basedJSON(s.Time, explain.ShiftBasis), Speed: basedJSON(s.Speed, explain.ShiftBasis),
			Duration: basedJSON(s.Duration, explain.ShiftBasis), Cost: basedJSON(s.Cost, explain.CostBasis),
			Step: basedJSON(s.Step, explain.CostBasis), From: s.From, To: s.To}
		if s.From > 0 {
			k.Gears = string(s.GearBasis)
		}
		j.Shifts = append(j.Shifts, k)
	}
	return j
}

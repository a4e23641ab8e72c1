package report

import "fromrest/pkg/session/explain"

// jsonTraced is what the traces tell of the vehicle, on the wire.
type jsonTraced struct {
	Load    jsonLoad        `json:"road_load"`
	Runs    []jsonTracedRun `json:"runs"`
	Modes   []jsonModeForce `json:"modes"`
	Bands   []jsonBand      `json:"mode_differences,omitempty"`
	Missing []jsonMissing   `json:"missing,omitempty"`
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
	Shifts   []jsonShift `json:"shifts,omitempty"`
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
	Points []jsonForcePoint `json:"points,omitempty"`
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
	Parts   []jsonBandPart `json:"parts,omitempty"`
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
	return &jsonTraced{Load: jsonLoad{Rolling: based(l.Rolling, l.RollingBasis), Drag: based(l.Drag, l.DragBasis),
		Factor: based(l.Factor, l.FactorBasis), Text: l.Text, Coasts: l.Coasts},
		Runs: each(t.Runs, tracedRunJSON), Modes: each(t.Modes, modeForceJSON), Bands: each(t.Bands, bandJSON), Missing: each(t.Missing, missingJSON)}
}

func tracedRunJSON(r explain.TracedRun) jsonTracedRun {
	return jsonTracedRun{Run: r.Run.ID, Mode: r.Run.Mode, Shifts: each(r.Shifts, shiftJSON), NoShifts: r.NoShifts,
		GripPeak: based(r.Grip.Peak, r.Grip.Basis), GripMean: based(r.Grip.Mean, r.Grip.Basis)}
}

func shiftJSON(s explain.Shift) jsonShift {
	j := jsonShift{Time: based(s.Time, explain.ShiftBasis), Speed: based(s.Speed, explain.ShiftBasis),
		Duration: based(s.Duration, explain.ShiftBasis), Cost: based(s.Cost, explain.CostBasis),
		Step: based(s.Step, explain.CostBasis), From: s.From, To: s.To}
	if s.From > 0 {
		j.Gears = string(s.GearBasis)
	}
	return j
}

func modeForceJSON(m explain.ModeForce) jsonModeForce {
	driven := only(m.Points, func(p explain.ForcePoint) bool { return !p.InShift })
	return jsonModeForce{Mode: m.Mode, Runs: m.Runs, Basis: string(m.Basis), Points: each(driven, func(p explain.ForcePoint) jsonForcePoint {
		return jsonForcePoint{p.Speed, number(p.Specific.X), number(p.Specific.U95()),
			number(p.Force.X), number(p.Force.U95()), number(p.Power.X), number(p.Power.U95())}
	})}
}

func bandJSON(b explain.ForceBand) jsonBand {
	return jsonBand{A: b.A, B: b.B, NA: b.NA, NB: b.NB, Loss: based(b.Loss, b.LossBasis), LossHow: b.LossHow,
		Gear: based(b.Gearing, b.GearingBasis), GearHow: b.GearingHow,
		Parts: each(b.Parts, func(p explain.BandPart) jsonBandPart {
			return jsonBandPart{p.From, p.To, p.Gear, p.Limit, based(p.Percent, p.Basis)}
		})}
}

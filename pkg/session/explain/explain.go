// Package explain says why one mode is quicker than another: what the sheet's data
// predict of each mode, what grade, wind and air cost each run, and what the traces
// show of gear changes, force at the wheels, grip and driveline loss.
//
// # Model
//
// A vehicle is a mass with rotating parts on a road with a grade. What pushes it is
// m·f·a + m·g·(c·cos β + sin β) + ½ρCdA·(v+w)², with a and v of the trace, f the
// effective mass over the mass, c the rolling resistance, β the slope and w the
// head wind. All forces are taken over the mass, so that the mass is needed only
// where newtons are asked for (forces.go, roadload.go). Thrust is taken to be a
// function of speed: what a condition costs is found by driving the trace again
// without it (effect.go). Modes are compared at the same speeds outside shifts; the
// slope of force against speed tells power, torque and grip apart, and with them
// the driveline's loss from what gearing gains (bands.go). Predictions solve the
// driveline of package driveline for the sheet's data (predict.go, vehicle.go).
//
// # Where things are
//
// Conditions: conditions.go, air.go, wind.go, effect.go. Traces: traces.go, with
// shifts.go, forces.go, grip.go, bands.go, gap.go and roadload.go. The sheet:
// vehicle.go, predict.go. Every allowance and tuning number is in priors.go, what
// stands in for missing data of a vehicle or of the air in packages driveline and
// air.
//
// # States and units
//
// A number is measured, modelled or assumed, and its Basis says which; an empty
// Basis, or NaN, is a number that is not known. SI throughout: speeds in m/s,
// forces in N or over the mass in m/s², grades as rise over run, headings in
// degrees from true north. An uncert.Value carries a standard uncertainty; where
// few runs stand behind it, it is widened so that its normal 95 % interval is
// Student's.
//
// # Limits
//
// Wind and grade are one value for a run. Coast-downs are taken to be in neutral. A
// shift is told only where the log is quick and fine enough, and what limits a mode
// below 4 m/s is left to the launch. A sheet that says little gets few answers, each
// with the keys that would unlock more.
package explain

import (
	"cmp"
	"context"
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
	"fromrest/pkg/vehicle/driveline"
)

// Basis says what a number rests on.
type Basis string

// The bases; an empty one is not known.
const (
	Measured Basis = "measured" // by the log, or noted in the sheet
	Modelled Basis = "modelled" // computed from what was measured
	Assumed  Basis = "assumed"  // stands in for what is not known
)

// weakest is the basis of a number made of several.
func weakest(all ...Basis) Basis {
	order := []Basis{Measured, Modelled, Assumed, ""}
	worst := 0
	for _, b := range all {
		worst = max(worst, slices.Index(order, b))
	}
	return order[worst]
}

// nothing is a value that is not known.
var nothing = uncert.Value{X: math.NaN(), U: math.NaN()}

// orZero is x, and 0 where it is not known.
func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// Missing is a value that a sheet does not give and what it would unlock.
type Missing struct {
	Key     string // of the sheet
	Unlocks string
}

// need lists a value where the sheet does not give it.
func need(list *[]Missing, given bool, key, unlocks string) {
	if !given {
		*list = append(*list, Missing{key, unlocks})
	}
}

// along is the cosine of the angle between two headings in degrees: 1 the same
// way, -1 the way back.
func along(a, b float64) float64 { return math.Cos((a - b) * math.Pi / 180) }

// Explanation is why modes differ: what the data of the sheet predict, what the
// air and the road did, and how wheel forces compare.
type Explanation struct {
	Units       string  // of speeds, for whoever prints them: "mph" or "kmh"
	Density     float64 // kg/m³, that drag is taken in
	Air         SessionAir
	Predictions []*Prediction
	Conditions  []RunConditions
	Profiles    map[string][]air.Finding
	Assumed     []string
	Result      *session.Result // nil without logs
	Sheet       *sheet.Sheet
	Version     string // of the program; to be filled in without logs
	// Traced is what the traces tell of the vehicle, nil without logs.
	Traced *Traced
	// Against are the sheet's values that what was measured contradicts, whole sentences.
	Against []string

	resists resistance           // of any mode
	causes  map[causeKey][]Cause // what the sheet explains of the differences
}

// Target is a time from rest that predictions stand beside.
type Target struct {
	Name     string
	Speed    float64 // m/s, 0 for a distance
	Distance float64 // m
}

// Targets are the times from rest at which modes are explained.
var Targets = []Target{{"0-30 mph", 30 * unit.MPH, 0}, {"0-60 mph", 60 * unit.MPH, 0}, {"1/4 mile", 0, unit.Mile / 4}}

// Reach is when a predicted run gets there, in s, and whether it does.
func (t Target) Reach(r *driveline.Run) (float64, bool) {
	if t.Distance > 0 {
		return r.ReachDistance(t.Distance)
	}
	return r.ReachSpeed(t.Speed)
}

// causeKey is one difference: of mode a to b, to a target by its name.
type causeKey struct{ a, b, target string }

// Of explains a session: what its sheet predicts for some modes, all where none is
// named, and what grade, wind and wheel force the logs show.
func Of(ctx context.Context, res *session.Result, modes ...string) (*Explanation, error) {
	sh := SheetOf(res)
	if len(modes) == 0 {
		modes = ModesOf(res, sh)
	}
	rs, assumed := resistanceOf(sh)
	cs, assumed := rs.conditions(res, sh, assumed)
	traced := TraceOf(ctx, res, cs, sh)
	seen := func(mode string) evidence { return traced.evidence(mode, cs, sh) }
	e, err := predicted(ctx, sh, res.Settings.Units, seen, modes...)
	if err != nil {
		return nil, err
	}
	e.Result, e.Version = res, res.Settings.Version
	e.Conditions, e.Assumed, e.Traced, e.resists = cs, assumed, traced, rs
	e.causes = map[causeKey][]Cause{}
	for _, b := range traced.Bands {
		pa, pb := e.prediction(b.A), e.prediction(b.B)
		if pa == nil || pb == nil {
			continue
		}
		for k, c := range causes(ctx, sh, pa, pb, seen(b.B)) {
			e.causes[causeKey{b.A, b.B, Targets[k].Name}] = c
		}
	}
	e.Against = e.against()
	e.Profiles = Profiled(e.Conditions, sh)
	return e, nil
}

// prediction is that of a mode, nil without one.
func (e *Explanation) prediction(mode string) *Prediction {
	i := slices.IndexFunc(e.Predictions, func(p *Prediction) bool { return p.Mode == mode })
	if i < 0 {
		return nil
	}
	return e.Predictions[i]
}

// Predicted is what a sheet alone predicts for some modes, all where none is named.
// Units are those of speeds: "mph" or "kmh".
func Predicted(ctx context.Context, sh *sheet.Sheet, units string, modes ...string) (*Explanation, error) {
	return predicted(ctx, sh, units, func(string) evidence { return unseen }, modes...)
}

func predicted(ctx context.Context, sh *sheet.Sheet, units string, seen func(mode string) evidence, modes ...string) (*Explanation, error) {
	if len(modes) == 0 {
		modes = ModesOf(nil, sh)
	}
	e := &Explanation{Units: units, Sheet: sh, Air: AirOf(sh), Density: readingOf(&sh.Conditions).rho}
	for _, m := range modes {
		p, err := predict(ctx, sh, m, seen(m))
		if err != nil {
			return nil, err
		}
		e.Predictions = append(e.Predictions, p)
	}
	e.Profiles = Profiled(nil, sh)
	return e, nil
}

// SheetOf is the sheet that a result was made with, an empty one without.
func SheetOf(res *session.Result) *sheet.Sheet { return cmp.Or(res.Sheet, &sheet.Sheet{}) }

// ModesOf are the modes that there is something to say of: the sheet's in its order, or
// else those of the runs of a result, which may be nil, or else the vehicle as the sheet
// describes it.
func ModesOf(res *session.Result, sh *sheet.Sheet) []string {
	modes := sh.ModeNames()
	if len(modes) == 0 && res != nil {
		for _, r := range res.Runs {
			if r.Mode != "" && !slices.Contains(modes, r.Mode) {
				modes = append(modes, r.Mode)
			}
		}
	}
	if len(modes) == 0 {
		return []string{"as described"}
	}
	return modes
}

// Mean is the mean of a mode's counted times from rest; its N is 0 without any.
func (e *Explanation) Mean(mode string, t Target) session.Mean {
	if e.Result == nil {
		return session.Mean{}
	}
	return e.Result.Means([]session.Group{{Name: mode}}, t.Name, timing.FromRest)[0]
}

// OffBy is by how many per cent a predicted time from rest is over the mean of
// the measured ones, with what both may be off by; false where either is not known.
func (e *Explanation) OffBy(p *Prediction, t Target) (uncert.Value, bool) {
	m := e.Mean(p.Mode, t)
	if p.Run == nil || m.N == 0 {
		return uncert.Value{}, false
	}
	x, ok := p.Time(t)
	return uncert.Value{X: 100 * (x.X/m.X - 1), U: 100 / m.X * uncert.Combine(x.X/m.X*m.U95/uncert.Z95, x.U)}, ok
}

// Difference is by how much one mode takes longer than another to a target from
// rest.
type Difference struct {
	Seconds uncert.Value // s, mean of the one less mean of the other; measured
	// Causes are what the sheet explains of it, nil where a time cannot be
	// predicted, or where what was measured contradicts the prediction; modelled.
	Causes []Cause
	Left   uncert.Value // s that the causes leave, with what they may be off by
}

// Difference tells mode a from b at a target as the comparison does, false where that
// has no such pair.
func (e *Explanation) Difference(a, b string, t Target) (Difference, bool) {
	if e.Result == nil {
		return Difference{}, false
	}
	sign := 1.0
	causes, ok := e.causes[causeKey{a, b, t.Name}]
	if !ok {
		causes, sign = e.causes[causeKey{b, a, t.Name}], -1
	}
	seconds, u95, ok := e.Result.Difference(a, b, t.Name, timing.FromRest)
	if !ok {
		return Difference{}, false
	}
	d := Difference{Seconds: uncert.Value{X: seconds, U: u95 / uncert.Z95}}
	if e.contradicted(a, t) || e.contradicted(b, t) {
		causes = nil
	}
	explained, u := 0.0, []float64{d.Seconds.U}
	if causes != nil {
		d.Causes = []Cause{}
	}
	for _, c := range causes {
		c.Seconds.X *= sign
		d.Causes = append(d.Causes, c)
		explained += c.Seconds.X
		u = append(u, c.Seconds.U)
	}
	d.Left = uncert.Value{X: seconds - explained, U: uncert.Combine(u...)}
	return d, true
}

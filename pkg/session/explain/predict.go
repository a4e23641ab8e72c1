package explain

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// Prediction is what a mode's data say it should do on the session's road,
// averaged over nothing: one still-air run on the level unless the sheet tells
// of air.
type Prediction struct {
	Mode    string
	Train   *driveline.Powertrain // nil where gears or torque are not known
	Run     *driveline.Run        // nil as Train
	Grip    *driveline.State      // nil where weights or friction are not known
	Missing []Missing
	Assumed []string // whole sentences
}

// Predict says what a mode should do by the sheet's data. What is missing is
// listed with what it would unlock; what is assumed is said.
func Predict(ctx context.Context, sh *sheet.Sheet, mode string) (*Prediction, error) {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	p := &Prediction{Mode: mode}
	var c driveline.Chassis
	c, p.Missing = Chassis(sh, mode)
	var err error
	if p.Grip, err = mostGrip(sh, mode); err != nil {
		return nil, err
	}
	share := powerShare(sh, mode)
	e, err := engineOf(v, share)
	geared := len(v.Gears) > 0 && v.FinalDrive > 0
	ranged := d.Range != "low" || v.TransferLow > 0
	need(&p.Missing, err == nil, "torque_rpm_nm, or torque and power with their speeds", "the force in each gear and predicted times")
	need(&p.Missing, geared, "gears and final_drive", "the force in each gear, shift speeds and predicted times")
	need(&p.Missing, ranged, "transfer_low", "everything in low range")
	if err != nil || !geared || !ranged || c.TyreRadius == 0 || c.Mass == 0 {
		return p, nil
	}
	p.assume(v, d, share, e)
	air := readingOf(&sh.Conditions)
	p.Assumed = append(p.Assumed, fmt.Sprintf("Air of %.3f kg/m³, %s.", air.rho, air.from))
	p.Train = &driveline.Powertrain{Engine: e, Gears: v.Gears, Final: v.FinalDrive, Transfer: c.Transfer, TyreRadius: v.TyreRadius,
		Efficiency: cmp.Or(d.Efficiency, driveline.DefaultEfficiency), StartGear: d.StartGear, ShiftSpeed: v.ShiftSpeed,
		ShiftTime: cmp.Or(v.ShiftTime, driveline.DefaultShiftTime), ShiftThrust: max(0, min(1, v.ShiftThrust)), BuildUp: driveline.DefaultBuildUp, Launch: v.LaunchSpeed, Mass: c.Mass,
		Inertia: v.MassFactor, DragArea: cmp.Or(v.DragArea, driveline.DefaultDragPerMass*c.Mass), Rolling: cmp.Or(v.RollingResistance, driveline.DefaultRolling), Density: air.rho}
	if p.Grip != nil {
		p.Train.Grip = math.Max(p.Grip.Thrust, leastGrip) // 0 would mean no limit
	}
	if err := p.Train.Check(); err != nil {
		return nil, err
	}
	p.Run, err = p.Train.Accelerate(ctx, unit.Mile/4, 60*unit.MPH)
	return p, err
}

// assume says what stands in for values the sheet leaves out.
func (p *Prediction) assume(v *sheet.Vehicle, d sheet.Driveline, share float64, e *driveline.Engine) {
	say := func(missing bool, text string) {
		if missing {
			p.Assumed = append(p.Assumed, text)
		}
	}
	p.Assumed = append(p.Assumed, fmt.Sprintf("Predicted on the level in still air; thrust is taken to build up over %g s (common practice).", driveline.DefaultBuildUp))
	say(e.Modelled, "The torque curve is drawn through the rated torque and power.")
	say(share == 0, "This mode is taken to give all of the vehicle's torque: power_share says otherwise.")
	say(d.Efficiency == 0, fmt.Sprintf("%.0f %% of the engine's power is taken to reach the wheels (common practice).", 100*driveline.DefaultEfficiency))
	say(v.DragArea == 0, fmt.Sprintf("A drag area of %.2g m² a tonne is assumed.", 1000*driveline.DefaultDragPerMass))
	say(v.RollingResistance == 0, fmt.Sprintf("A rolling resistance of %g is assumed.", driveline.DefaultRolling))
	say(v.ShiftTime == 0, fmt.Sprintf("A shift is taken to cost %g s of thrust.", driveline.DefaultShiftTime))
	say(v.MassFactor == 0, "Rotating parts are modelled as 4 % of the mass and 0.25 % of it for each square of the overall ratio.")
	say(v.ShiftThrust == 0, "No thrust is taken to pass during a shift: shift_thrust_share says otherwise, about 0.5 in a converter gearbox (common practice).")
	say(v.ShiftSpeed == 0, "Shifts are taken where the next gear pushes harder, or at the limit.")
	say(p.Grip == nil, "No grip limit is applied: see what is missing.")
}

// Cause is a part of the difference in time that a sheet predicts between two
// modes; modelled.
type Cause struct {
	What    string  // "power share", "gearing", "driven wheels", "driveline efficiency"
	Seconds float64 // positive where it makes the first mode slower
}

// Causes takes the predicted difference in time between modes a and b apart: from
// b, what the sheet gives a is put in one thing after another, and each step is
// the part of that thing. The parts add up to the predicted difference; which
// part interacting ones go to depends on the order, as in any such sum. It is nil
// where a time cannot be predicted. reach says when a run gets there.
func Causes(ctx context.Context, sh *sheet.Sheet, a, b string, reach func(*driveline.Run) (float64, bool)) []Cause {
	ia := slices.IndexFunc(sh.Modes, func(m sheet.Mode) bool { return m.Name == a })
	ib := slices.IndexFunc(sh.Modes, func(m sheet.Mode) bool { return m.Name == b })
	if ia < 0 || ib < 0 {
		return nil
	}
	mixed := *sh
	mixed.Modes = slices.Clone(sh.Modes)
	m := &mixed.Modes[ib]
	m.Driveline = sh.ModeDriveline(b)
	want := sh.ModeDriveline(a)
	when := func() float64 {
		p, err := Predict(ctx, &mixed, b)
		if err != nil || p.Run == nil {
			return math.NaN()
		}
		t, ok := reach(p.Run)
		if !ok {
			return math.NaN()
		}
		return t
	}
	out := []Cause{}
	last := when()
	for _, step := range []struct {
		what string
		put  func()
	}{
		{"power share", func() { m.PowerShare = sh.Modes[ia].PowerShare }},
		{"gearing", func() { m.Driveline.Range, m.Driveline.StartGear = want.Range, want.StartGear }},
		{"driven wheels", func() {
			e := m.Driveline.Efficiency
			m.Driveline = want
			m.Driveline.Efficiency = e
		}},
		{"driveline efficiency", func() { m.Driveline.Efficiency = want.Efficiency }},
	} {
		step.put()
		t := when()
		if math.IsNaN(t) || math.IsNaN(last) {
			return nil
		}
		if math.Abs(t-last) >= causeLeast {
			out = append(out, Cause{step.what, t - last})
		}
		last = t
	}
	return out
}

// LimitTime is for how long one thing limits a predicted run.
type LimitTime struct {
	By      driveline.Limit
	Seconds float64 // together
	Until   float64 // m/s at which it last ends
	N       int     // stretches of the run
}

// Limits are what limits a predicted run up to an instant in s, in the order met,
// shifts last.
func (p *Prediction) Limits(end float64) []LimitTime {
	var out []LimitTime
	shifts := LimitTime{By: driveline.ByShift}
	for _, q := range p.Run.Parts(end) {
		to := &shifts
		if q.By != driveline.ByShift {
			k := slices.IndexFunc(out, func(l LimitTime) bool { return l.By == q.By })
			if k < 0 {
				k, out = len(out), append(out, LimitTime{By: q.By})
			}
			to = &out[k]
		}
		to.Seconds += q.End - q.Begin
		to.Until = q.ToSpeed
		to.N++
	}
	if shifts.N > 0 {
		out = append(out, shifts)
	}
	return out
}

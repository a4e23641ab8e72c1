package explain

import (
	"context"
	"fmt"
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
	"fromrest/pkg/vehicle/driveline"
)

// Missing is a value that a sheet does not give and what it would unlock.
type Missing struct {
	Key     string // of the sheet
	Unlocks string
}

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

// Chassis makes the solver's vehicle of a sheet, with what is missing.
func Chassis(sh *sheet.Sheet, mode string) (driveline.Chassis, []Missing) {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	var miss []Missing
	need := func(ok bool, key, unlocks string) {
		if !ok {
			miss = append(miss, Missing{key, unlocks})
		}
	}
	c := driveline.Chassis{Mass: vehicleMass(v), TyreRadius: v.TyreRadius, FinalDrive: v.FinalDrive,
		Wheelbase: v.Wheelbase, CGHeight: v.CGHeight, Transfer: transferOf(v, d)}
	if v.FrontMass+v.RearMass > 0 {
		c.FrontShare = v.FrontMass / (v.FrontMass + v.RearMass)
	}
	need(c.Mass > 0, "mass_kg", "forces, power and the grip limit")
	need(c.TyreRadius > 0, "tyre_radius_m", "torque at the wheels and speed in each gear")
	need(v.FrontMass > 0 && v.RearMass > 0, "front_axle_kg and rear_axle_kg", "the grip limit and which wheels push")
	need(v.Friction > 0, "friction", "the grip limit")
	need(d.Driven != "", "driven", "which wheels push")
	need(c.Wheelbase > 0 && c.CGHeight > 0, "wheelbase_m and cg_height_m", "load transfer under thrust")
	diff := func(s string) driveline.Differential {
		k := driveline.Kind(s)
		if s == "none" {
			k = driveline.Locked // no differential: the shafts turn as one
		}
		return driveline.Differential{Kind: k, Bias: d.Bias}
	}
	c.Front.Driven = d.Driven == "front" || d.Driven == "all" || d.Driven == "part-time"
	c.Rear.Driven = d.Driven == "rear" || d.Driven == "all" || d.Driven == "part-time"
	c.Front.Differential, c.Rear.Differential, c.Centre = diff(d.Front), diff(d.Rear), diff(d.Centre)
	if d.Driven == "part-time" && d.Centre == "" {
		c.Centre.Kind = driveline.Locked
	}
	c.Centre.Share = d.Share
	c.Front.Track, c.Rear.Track = v.FrontTrack, v.RearTrack
	c.Front.Solid, c.Rear.Solid = v.FrontSolid, v.RearSolid
	if v.RollShare > 0 { // the solver wants only their ratio
		c.Front.RollStiffness, c.Rear.RollStiffness = v.RollShare, 1-v.RollShare
	}
	return c, miss
}

func vehicleMass(v *sheet.Vehicle) float64 {
	if v.Mass > 0 {
		return v.Mass
	}
	if v.FrontMass > 0 && v.RearMass > 0 {
		return v.FrontMass + v.RearMass
	}
	return 0
}

func transferOf(v *sheet.Vehicle, d sheet.Driveline) float64 {
	if d.Range == "low" {
		return v.TransferLow
	}
	return v.TransferHigh
}

// SheetDensity is the density of the air that a sheet describes in kg/m³, with
// the standard atmosphere for what it leaves out, and in words what it rests on.
func SheetDensity(c *sheet.Conditions) (float64, string) {
	if c.Temperature != nil && c.Pressure != nil {
		h, how := air.DefaultHumidity, "from the sheet's temperature and pressure, humidity assumed 50 %"
		if c.Humidity != nil {
			h, how = *c.Humidity, "from the sheet's temperature, pressure and humidity"
		}
		return air.Density(*c.Temperature, *c.Pressure, h), how
	}
	if c.Altitude != nil {
		if a, err := air.Standard(air.Geopotential(*c.Altitude)); err == nil {
			return a.Density, "assumed: the standard atmosphere at the sheet's altitude"
		}
	}
	return air.StandardDensity, "assumed: the standard atmosphere at sea level"
}

// engineOf makes the mode's engine.
func engineOf(v *sheet.Vehicle, share float64) (*driveline.Engine, error) {
	if share == 0 {
		share = 1
	}
	if len(v.Torque) > 1 {
		var w, t []float64
		for _, p := range v.Torque {
			w, t = append(w, p.Speed), append(t, p.Torque*share)
		}
		return driveline.NewEngine(w, t, v.LimitSpeed)
	}
	return driveline.Rated{Torque: v.RatedTorque * share, TorqueSpeed: v.TorqueSpeed, Power: v.RatedPower * share,
		PowerSpeed: v.PowerSpeed, Idle: v.IdleSpeed, Limit: v.LimitSpeed}.Engine()
}

// Predict says what a mode should do by the sheet's data. What is missing is
// listed with what it would unlock; what is assumed is said.
func Predict(ctx context.Context, sh *sheet.Sheet, mode string) (*Prediction, error) {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	p := &Prediction{Mode: mode}
	var c driveline.Chassis
	c, p.Missing = Chassis(sh, mode)
	if c.Mass > 0 && c.TyreRadius > 0 && v.FrontMass > 0 && v.RearMass > 0 && v.Friction > 0 && d.Driven != "" {
		s, err := driveline.Solve(c, driveline.Even(v.Friction), driveline.Most)
		if err != nil {
			return nil, err
		}
		p.Grip = s
	}
	share := 0.0
	for _, m := range sh.Modes {
		if m.Name == mode {
			share = m.PowerShare
		}
	}
	e, err := engineOf(v, share)
	if err != nil {
		p.Missing = append(p.Missing, Missing{"torque_rpm_nm, or torque and power with their speeds", "the force in each gear and predicted times"})
	}
	if len(v.Gears) == 0 || v.FinalDrive == 0 {
		p.Missing = append(p.Missing, Missing{"gears and final_drive", "the force in each gear, shift speeds and predicted times"})
	}
	if d.Range == "low" && v.TransferLow == 0 {
		p.Missing = append(p.Missing, Missing{"transfer_low", "everything in low range"})
	}
	if e == nil || len(v.Gears) == 0 || v.FinalDrive == 0 || c.TyreRadius == 0 || c.Mass == 0 || d.Range == "low" && v.TransferLow == 0 {
		return p, nil
	}
	p.assume(v, d, share, e)
	rho, how := SheetDensity(&sh.Conditions)
	p.Assumed = append(p.Assumed, fmt.Sprintf("Air of %.3f kg/m³, %s.", rho, how))
	or := func(x, other float64) float64 {
		if x == 0 {
			return other
		}
		return x
	}
	p.Train = &driveline.Powertrain{Engine: e, Gears: v.Gears, Final: v.FinalDrive, Transfer: c.Transfer, TyreRadius: v.TyreRadius,
		Efficiency: or(d.Efficiency, driveline.DefaultEfficiency), StartGear: d.StartGear, ShiftSpeed: v.ShiftSpeed,
		ShiftTime: or(v.ShiftTime, driveline.DefaultShiftTime), ShiftThrust: math.Max(0, math.Min(1, v.ShiftThrust)), BuildUp: driveline.DefaultBuildUp, Launch: v.LaunchSpeed, Mass: c.Mass,
		Inertia: v.MassFactor, DragArea: or(v.DragArea, driveline.DefaultDragPerMass*c.Mass), Rolling: or(v.RollingResistance, driveline.DefaultRolling), Density: rho}
	if p.Grip != nil {
		p.Train.Grip = math.Max(p.Grip.Thrust, 1e-9) // 0 would mean no limit
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

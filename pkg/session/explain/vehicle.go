package explain

import (
	"cmp"
	"errors"
	"fmt"
	"strings"

	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// Chassis makes the solver's vehicle of a sheet, with what is missing.
func Chassis(sh *sheet.Sheet, mode string) (driveline.Chassis, []Missing) {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	var miss []Missing
	c := driveline.Chassis{Mass: vehicleMass(v), TyreRadius: v.TyreRadius, FinalDrive: v.FinalDrive,
		Wheelbase: v.Wheelbase, CGHeight: v.CGHeight, Transfer: transferOf(v, d)}
	if v.FrontMass+v.RearMass > 0 {
		c.FrontShare = v.FrontMass / (v.FrontMass + v.RearMass)
	}
	need(&miss, c.Mass > 0, "mass_kg", "forces, power and the grip limit")
	need(&miss, c.TyreRadius > 0, "tyre_radius_m", "torque at the wheels and speed in each gear")
	need(&miss, v.FrontMass > 0 && v.RearMass > 0, "front_axle_kg and rear_axle_kg", "the grip limit and which wheels push")
	need(&miss, v.Friction > 0, "friction", "the grip limit")
	need(&miss, d.Driven != "", "driven", "which wheels push")
	need(&miss, c.Wheelbase > 0 && c.CGHeight > 0, "wheelbase_m and cg_height_m", "load transfer under acceleration")
	diff := func(s string) driveline.Differential {
		k := driveline.Kind(s)
		if s == "none" {
			k = driveline.Locked // no differential: the shafts turn as one
		}
		return driveline.Differential{Kind: k, Bias: d.Bias, Brake: d.Brake}
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

// SingleSpeed reports whether the sheet's vehicle has one ratio: nothing is then said of
// shifts.
func SingleSpeed(sh *sheet.Sheet) bool {
	return sh.Vehicle.Gearbox == "single-speed" || len(sh.Vehicle.Gears) == 1
}

// powerShare is the sheet's for a mode, 0 where it says nothing.
func powerShare(sh *sheet.Sheet, mode string) float64 {
	for _, m := range sh.Modes {
		if m.Name == mode {
			return m.PowerShare
		}
	}
	return 0
}

// engineOf makes the mode's engine.
func engineOf(v *sheet.Vehicle, share float64) (*driveline.Engine, error) {
	share = cmp.Or(share, 1)
	if v.Engine == "electric" && len(v.Torque) < 2 {
		return driveline.Motor(v.RatedTorque*share, v.RatedPower*share, v.LimitSpeed)
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

// mostGrip is a mode's driveline with as much torque as its wheels pass on the
// sheet's friction, nil where the sheet lacks what that needs.
func mostGrip(sh *sheet.Sheet, mode string) (*driveline.State, error) {
	v := &sh.Vehicle
	c, _ := Chassis(sh, mode)
	if !(c.Mass > 0 && c.TyreRadius > 0 && v.FrontMass > 0 && v.RearMass > 0 && v.Friction > 0) || !c.Front.Driven && !c.Rear.Driven {
		return nil, nil
	}
	return driveline.Solve(c, driveline.Even(v.Friction), driveline.Most)
}

// Stand is what the wheels of a vehicle stand on, and what drives it.
type Stand struct {
	Bare, Air [driveline.Wheels]bool    // without grip; in the air
	Friction  [driveline.Wheels]float64 // of one wheel where not 0; else the sheet's
	Grade     float64                   // rise over run
	Gear      int                       // from 1; the mode's start gear if 0
	Endless   bool                      // as much torque as the wheels take, whatever the engine gives
}

// Wheels answers which wheels of a mode's driveline push, and the torque on every
// shaft: on the sheet's friction but for what the stand says, with the greatest torque of
// the engine in the gear and range, or, where the sheet does not tell it, as much as the
// wheels take. A sheet that lacks what the answer needs is an error that names it.
func Wheels(sh *sheet.Sheet, mode string, on Stand) (driveline.Chassis, *driveline.State, error) {
	c, missing := Chassis(sh, mode)
	v := &sh.Vehicle
	if c.Mass == 0 || c.TyreRadius == 0 || c.FrontShare == 0 || v.Friction == 0 || !c.Front.Driven && !c.Rear.Driven {
		var keys []string
		for _, m := range missing {
			keys = append(keys, m.Key)
		}
		return c, nil, errors.New("which wheels push cannot be said: the sheet lacks " + strings.Join(keys, ", "))
	}
	g := driveline.Even(v.Friction)
	g.InAir, g.Grade = on.Air, on.Grade
	for k := range g.Friction {
		g.Friction[k] = cmp.Or(on.Friction[k], v.Friction)
		if on.Bare[k] {
			g.Friction[k] = 0
		}
	}
	g.Resistance = cmp.Or(v.RollingResistance, driveline.DefaultRolling) * c.Mass * unit.GravityStandard
	torque, from, err := standTorque(sh, mode, on)
	if err != nil {
		return c, nil, err
	}
	s, err := driveline.Solve(c, g, torque)
	if err == nil {
		s.Notes = append([]string{from}, s.Notes...)
	}
	return c, s, err
}

// standTorque is the torque in N·m on the gearbox's output shaft, and what it rests on.
func standTorque(sh *sheet.Sheet, mode string, on Stand) (torque float64, from string, err error) {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	gear := max(1, cmp.Or(on.Gear, d.StartGear))
	if len(v.Gears) > 0 && gear > len(v.Gears) {
		return 0, "", fmt.Errorf("gear %d: the sheet has %d", gear, len(v.Gears))
	}
	e, fault := engineOf(v, powerShare(sh, mode))
	if on.Endless || fault != nil || len(v.Gears) == 0 {
		return driveline.Most, "With as much torque as the wheels take.", nil
	}
	stall := cmp.Or(v.StallRatio, 1)
	if v.StallRatio == 0 && v.Gearbox == "converter" {
		stall = driveline.DefaultStall
	}
	torque = e.PeakTorque() * v.Gears[gear-1] * stall * cmp.Or(d.Efficiency, driveline.DefaultEfficiency)
	from = fmt.Sprintf("With the engine's greatest torque of %.0f N·m in gear %d", e.PeakTorque(), gear)
	if stall > 1 {
		from += fmt.Sprintf(", %.2g times that by the converter at stall", stall)
	}
	return torque, from + ".", nil
}

package explain

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// model is a mode's vehicle with every value filled in: the sheet's, or what stands in
// for it.
type model struct {
	sheet.Vehicle
	line    sheet.Driveline
	share   float64 // of the engine's torque
	scale   float64 // of the torque curve, 1 as it is
	rho     float64 // kg/m³
	inputs  []input
	assumed []string // whole sentences
}

// input is one value of a model and how far it may be off.
type input struct {
	key  string
	vary func(m *model, z float64) // by z of its standard uncertainties
}

// off adds an input that is off by a share of itself.
func (m *model) off(key string, u float64, at func(*model) *float64) {
	m.inputs = append(m.inputs, input{key, func(m *model, z float64) { *at(m) *= math.Exp(z * u) }})
}

// by adds an input that is off by an amount, at least lo.
func (m *model) by(key string, u, lo float64, at func(*model) *float64) {
	m.inputs = append(m.inputs, input{key, func(m *model, z float64) { *at(m) = max(lo, *at(m)+z*u) }})
}

// fill takes a default with its standard uncertainty where the sheet gives no value, and
// says so; else the tolerance of what it gives, as a share of it.
func (m *model) fill(key string, at func(*model) *float64, tolerance, standIn, u float64, what string) {
	if x := at(m); *x == 0 {
		*x = standIn
		m.by(key, u, 0, at)
		m.assumed = append(m.assumed, fmt.Sprintf(what+": %s would replace it.", short(standIn)+" ±"+short(uncert.Z95*u), key))
		return
	}
	m.off(key, tolerance, at)
}

// short is a number for a sentence.
func short(x float64) string { return fmt.Sprintf("%.2g", x) }

// modelOf fills in a mode's vehicle, with what its traces show.
func modelOf(sh *sheet.Sheet, mode string, seen evidence) *model {
	m := &model{Vehicle: sh.Vehicle, line: sh.ModeDriveline(mode), share: powerShare(sh, mode), scale: 1, rho: readingOf(&sh.Conditions).rho}
	m.Mass = vehicleMass(&m.Vehicle)
	m.off("mass_kg", massU, func(m *model) *float64 { return &m.Mass })
	m.off("tyre_radius_m", radiusU, func(m *model) *float64 { return &m.TyreRadius })
	if len(m.Torque) > 1 {
		m.off("torque_rpm_nm", powerU, func(m *model) *float64 { return &m.scale })
	} else {
		m.off("torque_nm", ratedU, func(m *model) *float64 { return &m.scale })
	}
	if m.share == 0 {
		m.share = 1
		if len(sh.Modes) > 1 {
			m.inputs = append(m.inputs, input{"power_share of " + mode, func(m *model, z float64) { m.share *= 1 + min(0, z)*shareAssumedU }})
		}
	} else {
		m.off("power_share of "+mode, shareU, func(m *model) *float64 { return &m.share })
	}
	m.resists(seen)
	m.turns()
	m.launches()
	m.grips(seen)
	return m
}

// resists fills in what slows the vehicle.
func (m *model) resists(seen evidence) {
	m.fill("drag_area_m2", func(m *model) *float64 { return &m.DragArea }, dragGivenU, driveline.DefaultDragPerMass*m.Mass, dragAssumedU*driveline.DefaultDragPerMass*m.Mass, "A drag area of %s m²")
	m.fill("rolling_resistance", func(m *model) *float64 { return &m.RollingResistance }, rollingGivenU, driveline.DefaultRolling, rollingAssumedU*driveline.DefaultRolling, "A rolling resistance of %s")
	u := gradeUnknownU
	if !math.IsNaN(seen.grade.X) && seen.grade.U > 0 {
		m.RollingResistance += seen.grade.X // on a small slope a grade is as much more of it
		u = seen.grade.U
	}
	m.by("grade_percent", u, -1, func(m *model) *float64 { return &m.RollingResistance })
	loss, spread := driveline.DefaultEfficiency, efficiencyAssumedU
	if m.Engine == "electric" {
		loss = driveline.ElectricEfficiency
	}
	m.fill("driveline_efficiency", func(m *model) *float64 { return &m.line.Efficiency }, efficiencyGivenU, loss, spread, "A share of %s of the engine's power at the wheels")
}

// turns fills in what rotates.
func (m *model) turns() {
	if m.MassFactor > 0 {
		m.off("mass_factor", factorGivenU, func(m *model) *float64 { return &m.MassFactor })
		return
	}
	body := m.Mass * m.TyreRadius * m.TyreRadius
	m.fill("wheel_inertia_kgm2", func(m *model) *float64 { return &m.WheelInertia }, inertiaGivenU, (driveline.NeutralFactor-1)*body, neutralU*body, "An inertia of all wheels of %s kg·m²")
	e, err := engineOf(&m.Vehicle, 1)
	if err != nil {
		return
	}
	if m.EngineInertia > 0 {
		m.off("engine_inertia_kgm2", inertiaGivenU, func(m *model) *float64 { return &m.EngineInertia })
		return
	}
	x, sd := driveline.EngineInertia(m.Engine, e.PeakTorque())
	m.EngineInertia = x
	m.off("engine_inertia_kgm2", sd, func(m *model) *float64 { return &m.EngineInertia })
	kind := cmp.Or(m.Engine, "kind of engine that the sheet does not name")
	m.assumed = append(m.assumed, fmt.Sprintf("What turns with the engine is taken as %s kg·m² within a factor of %s, for its torque and %s: engine_inertia_kgm2 would replace it.",
		short(x), short(math.Exp(uncert.Z95*sd)), "a "+kind))
}

// launches fills in how thrust begins and goes over shifts.
func (m *model) launches() {
	m.fill("build_up_s", func(m *model) *float64 { return &m.line.BuildUp }, buildUpGivenU, driveline.DefaultBuildUp, buildUpAssumedU, "Thrust builds up over %s s")
	single := SingleSpeed(m.asSheet())
	e, err := engineOf(&m.Vehicle, 1)
	electric := m.Engine == "electric"
	switch {
	case m.LaunchSpeed > 0:
		m.off("launch_rpm", launchGivenU, func(m *model) *float64 { return &m.LaunchSpeed })
	case electric || err != nil:
	default: // anywhere between the curve's first point and the greatest torque
		lo, hi := e.Speed[0], e.Speed[slices.Index(e.Torque, e.PeakTorque())]
		m.LaunchSpeed = (lo + hi) / 2
		m.by("launch_rpm", uncert.Rectangular((hi-lo)/2), lo, func(m *model) *float64 { return &m.LaunchSpeed })
		m.assumed = append(m.assumed, fmt.Sprintf("The engine is taken to be held at %.0f/min at the launch, at any speed from %.0f to %.0f as likely: launch_rpm would replace it.", m.LaunchSpeed/unit.RPM, lo/unit.RPM, hi/unit.RPM))
	}
	switch {
	case m.StallRatio > 0:
		m.off("stall_torque_ratio", stallGivenU, func(m *model) *float64 { return &m.StallRatio })
	case m.Gearbox == "converter":
		m.StallRatio = driveline.DefaultStall
		m.by("stall_torque_ratio", stallAssumedU, 1, func(m *model) *float64 { return &m.StallRatio })
		m.assumed = append(m.assumed, fmt.Sprintf("The converter is taken to multiply torque %s ±%s times at stall: stall_torque_ratio would replace it.", short(m.StallRatio), short(uncert.Z95*stallAssumedU)))
	case m.Gearbox == "" && !single && !electric && m.ShiftThrust == 0: // nothing tells how torque goes through
		m.StallRatio = 1
		m.inputs = append(m.inputs, input{"gearbox", func(m *model, z float64) { m.StallRatio += max(0, z) * (driveline.DefaultStall - 1) / 2 }})
		m.assumed = append(m.assumed, "Whether a clutch or a converter launches it is not known: gearbox would tell.")
	}
	if single {
		return
	}
	m.fill("shift_s", func(m *model) *float64 { return &m.ShiftTime }, shiftGivenU, driveline.DefaultShiftTime, shiftAssumedU, "A shift lasts %s s")
	switch {
	case m.ShiftThrust > 0 || m.Gearbox == "clutch":
		m.by("shift_thrust_share", thrustGivenU, 0, func(m *model) *float64 { return &m.ShiftThrust })
	case m.Gearbox == "converter":
		m.fill("shift_thrust_share", func(m *model) *float64 { return &m.ShiftThrust }, 0, driveline.ConverterThrust, thrustGivenU, "A share of %s of the tractive force is kept during a shift")
	default:
		m.inputs = append(m.inputs, input{"shift_thrust_share", func(m *model, z float64) { m.ShiftThrust += max(0, z) * driveline.ConverterThrust }})
		m.assumed = append(m.assumed, "No tractive force is taken to pass during a shift, as with a clutch: shift_thrust_share or gearbox would tell.")
	}
}

// grips fills in what the tyres pass.
func (m *model) grips(seen evidence) {
	at := func(m *model) *float64 { return &m.Friction }
	if seen.friction > 0 { // more than the sheet's or the default
		m.Friction = seen.friction * (1 + frictionSeenOver)
		m.off("friction", frictionSeenOver, at)
		m.assumed = append(m.assumed, fmt.Sprintf("Friction is taken as %s: the hardest acceleration shows at least %s.", short(m.Friction), short(seen.friction)))
	} else {
		m.fill("friction", at, frictionGivenU, driveline.DefaultFriction, frictionAssumedU, "A friction of %s between tyre and road")
	}
	if m.Sliding > 0 {
		m.off("sliding_friction", frictionGivenU, func(m *model) *float64 { return &m.Sliding })
	}
	if m.FrontMass == 0 || m.RearMass == 0 {
		share := map[string]float64{"front": frontDriven, "rear": rearDriven}[m.line.Driven]
		m.FrontMass = cmp.Or(share, allDriven) * m.Mass
		m.RearMass = m.Mass - m.FrontMass
		m.assumed = append(m.assumed, fmt.Sprintf("%.0f ±%.0f %% of the mass is taken to stand on the front axle: front_axle_kg and rear_axle_kg would replace it.", 100*m.FrontMass/m.Mass, 100*uncert.Z95*axleAssumedU))
		m.moved("front_axle_kg", axleAssumedU)
	} else {
		m.moved("front_axle_kg", axleGivenU)
	}
	if m.Wheelbase == 0 || m.CGHeight == 0 {
		m.Wheelbase = cmp.Or(m.Wheelbase, 1)
		m.CGHeight = transferDefault * m.Wheelbase
		m.by("cg_height_m", transferDefaultU*m.Wheelbase, 0, func(m *model) *float64 { return &m.CGHeight })
		m.assumed = append(m.assumed, fmt.Sprintf("The centre of gravity is taken to stand %s ±%s of the wheelbase above ground: wheelbase_m and cg_height_m would replace it.", short(transferDefault), short(uncert.Z95*transferDefaultU)))
	} else {
		m.off("cg_height_m", heightGivenU, func(m *model) *float64 { return &m.CGHeight })
	}
	if m.line.Driven == "all" && m.line.Centre == "" {
		m.inputs = append(m.inputs, input{"centre_differential", func(m *model, z float64) {
			if z > 0 {
				m.line.Centre = string(driveline.Locked)
			}
		}})
		m.assumed = append(m.assumed, "The centre differential is taken as open, or as locked at the other end of the interval: centre_differential would tell.")
	}
}

// moved adds that a share of the mass may stand on the other axle.
func (m *model) moved(key string, u float64) {
	m.inputs = append(m.inputs, input{key, func(m *model, z float64) {
		sum := m.FrontMass + m.RearMass
		m.FrontMass = max(0, min(sum, m.FrontMass+z*u*sum))
		m.RearMass = sum - m.FrontMass
	}})
}

// asSheet is a sheet of this mode alone.
func (m *model) asSheet() *sheet.Sheet {
	v := m.Vehicle
	v.Driveline = m.line
	return &sheet.Sheet{Vehicle: v}
}

// ungripped is what the model drives with, whatever the tyres pass.
func (m *model) ungripped() (*driveline.Powertrain, error) {
	e, err := engineOf(&m.Vehicle, m.share*m.scale)
	if err != nil {
		return nil, err
	}
	p := &driveline.Powertrain{Engine: e, Gears: m.Gears, Final: m.FinalDrive, Transfer: transferOf(&m.Vehicle, m.line), TyreRadius: m.TyreRadius,
		Efficiency: min(1, m.line.Efficiency), StartGear: m.line.StartGear, ShiftSpeed: m.ShiftSpeed, ShiftTime: m.ShiftTime, ShiftThrust: min(1, m.ShiftThrust),
		BuildUp: m.line.BuildUp, Launch: m.LaunchSpeed, Stall: m.StallRatio, Auxiliary: m.Auxiliary, Mass: m.Mass, Inertia: m.MassFactor,
		Spinning: m.EngineInertia, Wheels: m.WheelInertia, DragArea: m.DragArea, Rolling: m.RollingResistance, Density: m.rho}
	return p, p.Check()
}

// train is what the model drives with; grip is nil where it is not known which wheels
// push.
func (m *model) train() (*driveline.Powertrain, *driveline.State, error) {
	p, err := m.ungripped()
	if err != nil {
		return nil, nil, err
	}
	grip, err := mostGrip(m.asSheet(), "")
	if err != nil {
		return nil, nil, err
	}
	if grip != nil {
		p.Grip = math.Max(grip.Thrust, leastGrip) // 0 would mean no limit
		if m.Sliding > 0 {
			p.Slide = p.Grip * m.Sliding / m.Friction
		}
	}
	return p, grip, nil
}

// varied is a run with one input off by its standard uncertainty one way and the other.
type varied struct {
	key      string
	up, down *driveline.Run
}

// variations are the runs of a model with each input off, roughly, and the run that they
// are off from.
func (m *model) variations(ctx context.Context, distance, speed float64) (*driveline.Run, []varied, error) {
	run := func(in *input, z float64) (*driveline.Run, error) {
		x := *m
		if in != nil {
			in.vary(&x, z)
		}
		p, _, err := x.train()
		if err != nil {
			return nil, err
		}
		return p.Roughly(ctx, distance, speed)
	}
	base, err := run(nil, 0)
	if err != nil {
		return nil, nil, err
	}
	var out []varied
	for i := range m.inputs {
		up, err := run(&m.inputs[i], 1)
		if err != nil {
			return nil, nil, err
		}
		down, err := run(&m.inputs[i], -1)
		if err != nil {
			return nil, nil, err
		}
		out = append(out, varied{m.inputs[i].key, up, down})
	}
	return base, out, nil
}

// evidence is what the traces show that a model goes by.
type evidence struct {
	grade    uncert.Value // rise over run along the mode's runs; NaN where not known
	friction float64      // that the hardest acceleration shows at least, 0 where none does
}

// unseen is a mode of which there are no traces.
var unseen = evidence{grade: nothing}

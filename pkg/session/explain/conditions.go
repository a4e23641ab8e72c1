package explain

import (
	"fmt"
	"math"

	"fromrest/pkg/session"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/driveline"
)

// RunConditions is the road and the air of one run, along its heading.
type RunConditions struct {
	Run          *session.TimedRun
	Grade        uncert.Value // rise over run; NaN where not known
	GradeFrom    string       // "vertical velocity", "altitude", "the sheet"
	HeadWind     uncert.Value // m/s; NaN where not known
	HeadWindFrom string       // "the sheet", "the runs both ways"
	CrossWind    float64      // m/s; NaN where not known
	Effects      []Effect
}

// GradeBasis says whether the grade is measured; "" where it is not known.
func (c *RunConditions) GradeBasis() Basis { return basisOf(c.GradeFrom) }

// HeadWindBasis says whether the head wind is measured or modelled; "" where it is
// not known.
func (c *RunConditions) HeadWindBasis() Basis { return basisOf(c.HeadWindFrom) }

func basisOf(from string) Basis {
	switch from {
	case "":
		return ""
	case FromRuns:
		return Modelled
	}
	return Measured
}

// Effect is what the conditions cost one time, in s: modelled, from thrust taken
// as a function of speed. A positive number made the run slower. NaN is an effect
// that is not known.
type Effect struct {
	Name     string
	From     timing.Origin
	Headline uncert.Value // s, as measured
	Grade    uncert.Value
	HeadWind uncert.Value
	Air      uncert.Value // drag in this air against the reference air
	Power    uncert.Value // engine power in this air against the reference air
	// Corrected is the time on the level, in still air and in the reference air, as
	// far as each is known. Its uncertainty combines the headline's and the effects'.
	Corrected uncert.Value
}

// nothing is a value that is not known.
var nothing = uncert.Value{X: math.NaN(), U: math.NaN()}

// resistance is drag and rotation as used for effects.
type resistance struct {
	dragPerKg float64 // ½ρCdA/m in the session's air, 1/m
	dragU     float64 // relative standard uncertainty of it
	factor    float64 // effective mass over mass
	rolling   float64 // coefficient
	grip      float64 // m/s² that the tyres pass, 0 where not known
	air       SessionAir
}

// Relative standard uncertainties of drag (common practice).
const (
	dragGivenU   = 0.05
	dragAssumedU = 0.25
)

func resistanceOf(sh *sheet.Sheet) (r resistance, assumed []string) {
	v := &sh.Vehicle
	rho, _ := SheetDensity(&sh.Conditions)
	m, area := vehicleMass(v), v.DragArea
	r.factor, r.rolling, r.air = v.MassFactor, v.RollingResistance, AirOf(sh)
	r.dragPerKg, r.dragU = 0.5*rho*area/m, dragGivenU
	if !(m > 0 && area > 0) {
		r.dragPerKg, r.dragU = 0.5*rho*driveline.DefaultDragPerMass, dragAssumedU
		assumed = append(assumed, fmt.Sprintf("The effects of wind and air assume a drag area of %.2g m² a tonne, give or take a quarter: mass_kg and drag_area_m2 would replace it.", 1000*driveline.DefaultDragPerMass))
	}
	if r.factor == 0 {
		r.factor = driveline.DefaultMassFactor
		assumed = append(assumed, fmt.Sprintf("Effects assume an effective mass of %g times the mass: mass_factor would replace it.", r.factor))
	}
	if r.rolling == 0 {
		r.rolling = driveline.DefaultRolling
	}
	return r, assumed
}

// gripOf is the acceleration in m/s² that a mode's tyres pass by the sheet, 0 where
// it lacks what that needs.
func gripOf(sh *sheet.Sheet, mode string) float64 {
	v := &sh.Vehicle
	c, _ := Chassis(sh, mode)
	if !(c.Mass > 0 && c.TyreRadius > 0 && v.FrontMass > 0 && v.RearMass > 0 && v.Friction > 0) || !c.Front.Driven && !c.Rear.Driven {
		return 0
	}
	s, err := driveline.Solve(c, driveline.Even(v.Friction), driveline.Most)
	if err != nil {
		return 0
	}
	return s.Thrust / c.Mass
}

// Uncertainties of what a sheet says of wind and grade where it says no more
// (common practice: one reading beside the course).
const (
	windU     = 0.2   // of the wind, at least windLeast
	windLeast = 0.5   // m/s
	windDirU  = 15.0  // degrees
	gradeU    = 0.001 // rise over run
)

// ConditionsOf finds the conditions of every counted standing start and what
// they cost. Wind comes from the sheet, else from the runs both ways. assumed says
// what stands in for missing data.
func ConditionsOf(res *session.Result, sh *sheet.Sheet) (out []RunConditions, assumed []string) {
	rs, assumed := resistanceOf(sh)
	for _, r := range res.Runs {
		if !r.Counted || r.Trace.Len() < 2 {
			continue
		}
		c := RunConditions{Run: r, HeadWind: nothing, CrossWind: math.NaN()}
		c.Grade, c.GradeFrom = r.Grade()
		c.fromSheet(&sh.Conditions)
		out = append(out, c)
	}
	if len(out) == 0 {
		return nil, assumed
	}
	if k := &sh.Conditions; k.Wind == nil || k.WindFrom == nil {
		w := windAlong(out, &rs)
		w.apply(out)
		assumed = append(assumed, w.Text())
	}
	if rs.air.Basis == "" {
		assumed = append(assumed, "The effect of the air is not known: temperature_c and pressure_hpa would give it.")
	}
	unlimited := false
	grip := map[string]float64{}
	for i := range out {
		mode := out[i].Run.Mode
		if _, ok := grip[mode]; !ok {
			grip[mode] = gripOf(sh, mode)
			unlimited = unlimited || grip[mode] == 0
		}
		one := rs
		one.grip = grip[mode]
		out[i].effects(&one)
	}
	if f := rs.air.PowerFactor; unlimited && f.X != 1 && !math.IsNaN(f.X) {
		assumed = append(assumed, "Where the tyres are the limit the air takes no power. The sheet does not tell where that is, so the effect of power is taken to lie anywhere between both: friction, driven, tyre_radius_m, front_axle_kg and rear_axle_kg would narrow it.")
	}
	return out, assumed
}

// fromSheet fills in what the sheet says of grade and wind along the run.
func (c *RunConditions) fromSheet(k *sheet.Conditions) {
	h := c.Run.HeadingDeg
	if math.IsNaN(h) {
		return
	}
	if k.Grade != nil && k.GradeHeading != nil && (c.GradeFrom == "" || c.Grade.U > gradeU) {
		x := *k.Grade * math.Cos((h-*k.GradeHeading)*math.Pi/180)
		c.Grade, c.GradeFrom = uncert.Value{X: x, U: gradeU}, FromSheet
	}
	if k.Wind != nil && k.WindFrom != nil {
		sin, cos := math.Sincos((*k.WindFrom - h) * math.Pi / 180)
		w := *k.Wind
		c.HeadWind = uncert.Value{X: w * cos, U: uncert.Combine(math.Max(windLeast, windU*w), w*sin*windDirU*math.Pi/180)}
		c.HeadWindFrom, c.CrossWind = FromSheet, math.Abs(w*sin)
	}
}

// Where wind and grade come from.
const (
	FromSheet = "the sheet"
	FromRuns  = "the runs both ways"
)

package explain

import (
	"fmt"
	"math"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// RoadLoad is what resists, per mass, and how heavy rotating parts make the vehicle.
type RoadLoad struct {
	Rolling      uncert.Value // coefficient
	RollingBasis Basis        // measured: noted in the sheet; modelled: by a coast-down
	Drag         uncert.Value // ½ρCdA over mass, 1/m
	DragBasis    Basis
	// DragArea is Drag as an area in m² in the air of the session; NaN without the mass.
	DragArea    uncert.Value
	Factor      uncert.Value // effective mass over mass where the gear is not known
	FactorBasis Basis
	rotates     map[string]*rotating // of each mode, and of the vehicle as described under ""; nil where not known
	factorText  string               // of Text, what is said of rotating parts
	Text        string               // where it all comes from, whole sentences
	Coasts      []string             // each coast-down found: used, or why not; whole sentences
}

// RoadLoadOf finds what resists the vehicle: from coast-downs in the logs where
// some can be used, else from the sheet, else from stated defaults. res may be
// nil.
//
// A coast-down is taken to be one in neutral on a surface as level as the sheet
// says; one in gear would show as more rolling resistance than tyres have, and
// is then left out.
func RoadLoadOf(res *session.Result, sh *sheet.Sheet) RoadLoad {
	v := &sh.Vehicle
	rho := readingOf(&sh.Conditions).rho
	m := vehicleMass(v)
	l := RoadLoad{Rolling: uncert.Value{X: driveline.DefaultRolling, U: rollingAssumedU * driveline.DefaultRolling}, RollingBasis: Assumed,
		Drag: uncert.Value{X: 0.5 * rho * driveline.DefaultDragPerMass, U: dragAssumedU * 0.5 * rho * driveline.DefaultDragPerMass}, DragBasis: Assumed, DragArea: nothing,
		Factor: uncert.Value{X: factorAssumed, U: factorAssumedU}, FactorBasis: Assumed}
	roll := fmt.Sprintf("A rolling resistance of %.3g is assumed: rolling_resistance or a coast-down would replace it.", driveline.DefaultRolling)
	drag := fmt.Sprintf("A drag area of %.2g m² a tonne is assumed: mass_kg and drag_area_m2, or a coast-down, would replace it.", 1000*driveline.DefaultDragPerMass)
	if v.RollingResistance > 0 {
		l.Rolling = uncert.Value{X: v.RollingResistance, U: rollingGivenU * v.RollingResistance}
		l.RollingBasis, roll = Measured, "Rolling resistance is the sheet's."
	}
	if m > 0 && v.DragArea > 0 {
		k := 0.5 * rho * v.DragArea / m
		l.Drag, l.DragBasis, drag = uncert.Value{X: k, U: dragGivenU * k}, Measured, "Drag area is the sheet's."
	}
	factor := l.inertia(v, sh)
	l.factorText = factor
	if n := l.fromCoasts(res, sh); n > 0 {
		roll, drag = fmt.Sprintf("Rolling resistance and drag are from %d coast-down(s) in the logs, taken to be in neutral.", n), ""
	}
	if m > 0 {
		f := m / (0.5 * rho)
		l.DragArea = uncert.Value{X: f * l.Drag.X, U: f * l.Drag.U}
	}
	l.Text = roll + " " + drag + " " + factor
	if drag == "" {
		l.Text = roll + " " + factor
	}
	return l
}

// inertia fills in the effective mass and says what it rests on.
func (l *RoadLoad) inertia(v *sheet.Vehicle, sh *sheet.Sheet) string {
	if v.MassFactor > 0 {
		l.Factor, l.FactorBasis = uncert.Value{X: v.MassFactor, U: factorGivenU * v.MassFactor}, Measured
		return "Rotating parts are the sheet's mass_factor in every gear."
	}
	for _, mode := range append(sh.ModeNames(), "") {
		if r := rotatingOf(sh, mode); r != nil {
			if l.rotates == nil {
				l.rotates = map[string]*rotating{}
			}
			l.rotates[mode] = r
		}
	}
	if r := l.rotates[""]; r != nil {
		l.Factor = spanned(r.byGear)
		return "Rotating parts are those of each gear by its ratio and the inertias, in the gears that the engine's speeds allow."
	}
	return fmt.Sprintf("Rotating parts are taken as %.0f ±%.0f %% of the mass: mass_factor, or gears, final_drive and torque, would replace it.", 100*(factorAssumed-1), 100*uncert.Z95*factorAssumedU)
}

// basis is that of a force at the wheels.
func (l *RoadLoad) basis() Basis {
	return weakest(Modelled, l.RollingBasis, l.DragBasis, l.FactorBasis)
}

// load is the road load over mass in m/s² at speed v with its standard
// uncertainty.
func (c *RunConditions) load(l *RoadLoad, v float64) uncert.Value {
	grade, wind := c.Grade, c.HeadWind
	if math.IsNaN(grade.X) {
		grade = uncert.Value{U: gradeUnknownU} // a level road, by all that is known
	}
	if math.IsNaN(wind.X) {
		wind = uncert.Value{U: windLeast}
	}
	air := v + wind.X
	slope := math.Atan(grade.X)
	return uncert.Value{X: unit.GravityStandard*(l.Rolling.X*math.Cos(slope)+math.Sin(slope)) + l.Drag.X*air*math.Abs(air),
		U: uncert.Combine(unit.GravityStandard*l.Rolling.U, unit.GravityStandard*grade.U, l.Drag.U*air*air, 2*l.Drag.X*air*wind.U)}
}

// fromCoasts takes the mean of the coast-downs that can be used, and returns how
// many there were. Coast-downs both ways take out grade and most of the wind.
func (l *RoadLoad) fromCoasts(res *session.Result, sh *sheet.Sheet) int {
	if res == nil {
		return 0
	}
	// Of either direction: rolling resistance, drag, and the squares of their
	// standard uncertainties.
	var sums [2][4]float64
	var n [2]float64
	used, first := 0, 0.0
	for _, log := range res.Logs {
		for i := range log.Coasts {
			c := &log.Coasts[i]
			grade := sheetGrade(&sh.Conditions, c.HeadingDeg)
			roll := driveline.NeutralFactor*c.Fit.A/unit.GravityStandard - grade
			drag := driveline.NeutralFactor * c.Fit.C
			what := fmt.Sprintf("%s, %.0f s in: from %.1f to %.1f m/s in %.0f s", log.Name, c.LogSeconds, c.From, c.To, c.Seconds)
			if why := unusable(c, roll, drag); why != "" {
				l.Coasts = append(l.Coasts, what+", not used: "+why+".")
				continue
			}
			l.Coasts = append(l.Coasts, what+", used.")
			if used == 0 {
				first = c.HeadingDeg
			}
			used++
			k := session.Way(c.HeadingDeg, first)
			n[k]++
			uRoll, uDrag := driveline.NeutralFactor*c.Fit.UA/unit.GravityStandard, driveline.NeutralFactor*c.Fit.UC
			for i, x := range [4]float64{roll, drag, uRoll * uRoll, uDrag * uDrag} {
				sums[k][i] += x
			}
		}
	}
	if used == 0 {
		return 0
	}
	// Each direction counts once: means of means.
	var roll, drag, uRoll, uDrag, ways float64
	for k, s := range sums {
		if n[k] > 0 {
			roll, drag, ways = roll+s[0]/n[k], drag+s[1]/n[k], ways+1
			uRoll, uDrag = uRoll+s[2]/n[k]/n[k], uDrag+s[3]/n[k]/n[k]
		}
	}
	roll, drag, uRoll, uDrag = roll/ways, drag/ways, math.Sqrt(uRoll)/ways, math.Sqrt(uDrag)/ways
	slope, wind := gradeUnknownU, coastWindU
	if sh.Conditions.Grade != nil && sh.Conditions.GradeHeading != nil {
		slope = gradeU
	}
	if ways == 2 { // what a grade adds one way it takes the other
		slope, wind = slope/coastBothGrade, wind/coastBothWind
	}
	l.Rolling = uncert.Value{X: roll, U: uncert.Combine(uRoll, slope, coastNeutralU*roll)}
	l.Drag = uncert.Value{X: drag, U: uncert.Combine(uDrag, wind*drag, coastNeutralU*drag)}
	l.RollingBasis, l.DragBasis = Modelled, Modelled
	return used
}

// unusable says why a coast-down is left out, "" if it is not.
func unusable(c *session.Coasting, roll, drag float64) string {
	f := &c.Fit
	switch {
	case f.Residual > coastScatter:
		return fmt.Sprintf("speeds scatter by %.2g m/s about it", f.Residual)
	case f.UA > coastUncertain*f.A || f.UC > coastUncertain*f.C:
		return "too short to tell rolling resistance and drag apart"
	case roll < coastRollLeast || roll > coastRollMost:
		return fmt.Sprintf("a rolling resistance of %.2g is not that of tyres on a level road", roll)
	case drag < coastDragLeast || drag > coastDragMost:
		return fmt.Sprintf("a drag of %.2g m⁻¹ over mass is not that of a road vehicle", drag)
	}
	return ""
}

// sheetGrade is the sheet's grade along a heading, 0 where it gives none.
func sheetGrade(k *sheet.Conditions, heading float64) float64 {
	if k.Grade == nil || k.GradeHeading == nil || math.IsNaN(heading) {
		return 0
	}
	return *k.Grade * along(heading, *k.GradeHeading)
}

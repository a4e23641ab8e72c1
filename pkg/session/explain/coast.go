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

// What a coast-down must show to be used (common practice: tyres on a road and
// bodies that people drive).
const (
	coastNeutralU   = 0.01  // of the effective mass with the engine out
	coastGradeU     = 0.003 // rise over run, where the grade is not known
	coastWindU      = 0.15  // of drag, for wind that is not known
	coastRollLeast  = 0.004
	coastRollMost   = 0.04
	coastDragLeast  = 1e-4 // 1/m: ½ρCdA over mass
	coastDragMost   = 1.5e-3
	coastFitLeast   = 0.4  // the largest relative standard uncertainty of either
	coastScatter    = 0.25 // m/s about the fit
	rollingGivenU   = 0.1  // relative
	rollingAssumedU = 0.25 // relative
	factorGivenU    = 0.01
	factorAssumedU  = 0.03
	factorGearU     = 0.02
)

// RoadLoadOf finds what resists the vehicle: from coast-downs in the logs where
// some can be used, else from the sheet, else from stated defaults. res may be
// nil.
//
// A coast-down is taken to be one in neutral on a surface as level as the sheet
// says; one in gear would show as more rolling resistance than tyres have, and
// is then left out.
func RoadLoadOf(res *session.Result, sh *sheet.Sheet) RoadLoad {
	v := &sh.Vehicle
	rho, _ := SheetDensity(&sh.Conditions)
	m := vehicleMass(v)
	l := RoadLoad{Rolling: uncert.Value{X: driveline.DefaultRolling, U: rollingAssumedU * driveline.DefaultRolling}, RollingBasis: Assumed,
		Drag: uncert.Value{X: 0.5 * rho * driveline.DefaultDragPerMass, U: dragAssumedU * 0.5 * rho * driveline.DefaultDragPerMass}, DragBasis: Assumed, DragArea: nothing,
		Factor: uncert.Value{X: driveline.DefaultMassFactor, U: factorAssumedU}, FactorBasis: Assumed}
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
	if len(v.Gears) > 0 && v.FinalDrive > 0 {
		transfer := transferOf(v, sh.ModeDriveline(""))
		if transfer == 0 {
			transfer = 1
		}
		for _, g := range v.Gears {
			l.ByGear = append(l.ByGear, driveline.MassFactor(g*v.FinalDrive*transfer))
		}
		return "Rotating parts are modelled from the ratio of each gear where the gear is known, else taken as 6 % of the mass."
	}
	return "Rotating parts are taken as 6 % of the mass, give or take half of it: mass_factor, or gears and final_drive, would replace it."
}

// factor is effective mass over mass in a gear from 1, 0 where not known.
func (l *RoadLoad) factor(gear int) uncert.Value {
	if gear > 0 && gear <= len(l.ByGear) {
		return uncert.Value{X: l.ByGear[gear-1], U: factorGearU * l.ByGear[gear-1]}
	}
	return l.Factor
}

// fromCoasts takes the mean of the coast-downs that can be used, and returns how
// many there were. Coast-downs both ways take out grade and most of the wind.
func (l *RoadLoad) fromCoasts(res *session.Result, sh *sheet.Sheet) int {
	if res == nil {
		return 0
	}
	type one struct{ roll, drag, uRoll, uDrag, heading float64 }
	var used []one
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
			used = append(used, one{roll, drag, driveline.NeutralFactor * c.Fit.UA / unit.GravityStandard, driveline.NeutralFactor * c.Fit.UC, c.HeadingDeg})
		}
	}
	if len(used) == 0 {
		return 0
	}
	// Each direction counts once: means of means.
	var sums [2]struct{ roll, drag, uRoll, uDrag, n float64 }
	for _, o := range used {
		k := 0
		if math.Cos((o.heading-used[0].heading)*math.Pi/180) < 0 {
			k = 1
		}
		s := &sums[k]
		s.roll, s.drag, s.uRoll, s.uDrag, s.n = s.roll+o.roll, s.drag+o.drag, s.uRoll+o.uRoll*o.uRoll, s.uDrag+o.uDrag*o.uDrag, s.n+1
	}
	var roll, drag, uRoll, uDrag, ways float64
	for _, s := range sums {
		if s.n > 0 {
			roll, drag, ways = roll+s.roll/s.n, drag+s.drag/s.n, ways+1
			uRoll, uDrag = uRoll+s.uRoll/s.n/s.n, uDrag+s.uDrag/s.n/s.n
		}
	}
	roll, drag, uRoll, uDrag = roll/ways, drag/ways, math.Sqrt(uRoll)/ways, math.Sqrt(uDrag)/ways
	slope, wind := coastGradeU, coastWindU
	if sh.Conditions.Grade != nil && sh.Conditions.GradeHeading != nil {
		slope = gradeU
	}
	if ways == 2 { // what a grade adds one way it takes the other
		slope, wind = slope/5, wind/3
	}
	l.Rolling = uncert.Value{X: roll, U: uncert.Combine(uRoll, slope, coastNeutralU*roll)}
	l.Drag = uncert.Value{X: drag, U: uncert.Combine(uDrag, wind*drag, coastNeutralU*drag)}
	l.RollingBasis, l.DragBasis = Modelled, Modelled
	return len(used)
}

// unusable says why a coast-down is left out, "" if it is not.
func unusable(c *session.Coasting, roll, drag float64) string {
	f := &c.Fit
	switch {
	case f.Residual > coastScatter:
		return fmt.Sprintf("speeds scatter by %.2g m/s about it", f.Residual)
	case f.UA > coastFitLeast*f.A || f.UC > coastFitLeast*f.C:
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
	return *k.Grade * math.Cos((heading-*k.GradeHeading)*math.Pi/180)
}

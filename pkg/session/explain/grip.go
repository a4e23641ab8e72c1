package explain

import (
	"fmt"
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// What a friction may be off by.
const (
	frictionAssumedU = 0.06 // ±0.1, rectangular
	frictionGivenU   = 0.05 // relative
	powerBegins      = 0.9  // of the greatest power of a run: from there power limits
)

// gripLimit is the grip that a mode has.
type gripLimit struct {
	perMass  uncert.Value // m/s², NaN where not known
	force    float64      // N, NaN without the mass
	friction float64
	basis    Basis
	text     string
}

// gripLimitOf works out the most the driven wheels pass on the level, with load
// transfer where wheelbase and centre of gravity are known.
func gripLimitOf(sh *sheet.Sheet, mode string) gripLimit {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	g := gripLimit{friction: v.Friction, basis: Modelled, force: math.NaN()}
	u, how := frictionGivenU, fmt.Sprintf("friction %.2f by the sheet", v.Friction)
	if g.friction == 0 {
		g.friction, g.basis, u = driveline.DefaultFriction, Assumed, frictionAssumedU/driveline.DefaultFriction
		how = fmt.Sprintf("friction assumed %.2f as on dry asphalt", driveline.DefaultFriction)
	}
	c, _ := Chassis(sh, mode)
	weights := v.FrontMass > 0 && v.RearMass > 0
	switch {
	case d.Driven == "all" && !weights:
		// However the weight sits, locked or shared right all of it pushes.
		g.perMass, g.basis = uncert.Value{X: g.friction * unit.GravityStandard}, Assumed
		g.text = "Grip of all wheels with the torque shared as their loads are, " + how + "."
	case d.Driven == "":
		g.perMass, g.basis = uncert.Value{X: g.friction * unit.GravityStandard}, Assumed
		g.text = "Grip as if all wheels were driven, " + how + ": with two the share is higher; driven and the axle weights would tell."
	case !weights:
		return gripLimit{perMass: nothing, force: math.NaN(), friction: g.friction, text: "Not known: front_axle_kg and rear_axle_kg would give the load on the driven wheels."}
	default:
		if c.TyreRadius == 0 {
			c.TyreRadius = 1 // forces do not depend on it
		}
		s, err := driveline.Solve(c, driveline.Even(g.friction), driveline.Most)
		if err != nil {
			return gripLimit{perMass: nothing, force: math.NaN(), friction: g.friction, text: "Not known: " + err.Error() + "."}
		}
		g.perMass = uncert.Value{X: s.Thrust / c.Mass}
		transfer := "with load transfer"
		if c.Wheelbase == 0 || c.CGHeight == 0 {
			transfer = "without load transfer, which needs wheelbase_m and cg_height_m"
			u = uncert.Combine(u, 0.08)
		}
		g.text = fmt.Sprintf("Grip of the driven wheels (%s) %s, %s.", d.Driven, transfer, how)
	}
	g.perMass.U = u * g.perMass.X
	if c.Mass > 0 {
		g.force = c.Mass * g.perMass.X
	}
	return g
}

// use is the share of the grip that a run used: what passes between tyres and
// road, which is wheel force less what speeds up the rotating parts.
func (g *gripLimit) use(points []ForcePoint, l *RoadLoad, c *RunConditions) GripUse {
	out := GripUse{Available: g.force, Friction: g.friction, Basis: g.basis, Text: g.text, Peak: nothing, Mean: nothing, Until: math.NaN()}
	most := 0.0
	for _, p := range points {
		most = math.Max(most, p.Specific.X*p.Speed)
	}
	var sum, su, n float64
	peak := uncert.Value{X: math.Inf(-1)} // the highest that is sure, not the luckiest
	for _, p := range points {
		if !p.InShift && p.Specific.X*p.Speed >= powerBegins*most && math.IsNaN(out.Until) {
			out.Until = p.Speed
		}
		if p.InShift {
			continue
		}
		f := l.factor(p.Gear).X
		load := c.load(l, p.Speed).X
		tyre := (p.Specific.X-load)/f + load
		share := uncert.Value{X: tyre / g.perMass.X, U: uncert.Combine(p.Specific.U/g.perMass.X, tyre/g.perMass.X*g.perMass.U/g.perMass.X)}
		if math.IsInf(peak.X, 0) || share.X-share.U95() > peak.X-peak.U95() {
			peak = share
		}
		if math.IsNaN(out.Until) {
			sum, su, n = sum+share.X, su+share.U, n+1
		}
	}
	if math.IsNaN(g.perMass.X) || math.IsInf(peak.X, 0) {
		out.Basis = ""
		return out
	}
	out.Peak = peak
	if n > 0 {
		out.Mean = uncert.Value{X: sum / n, U: su / n}
	}
	return out
}

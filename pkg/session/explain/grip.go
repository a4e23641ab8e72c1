package explain

import (
	"fmt"
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// GripUse is the share of the grip there is that a run used. Shares are NaN where
// not known.
type GripUse struct {
	Available float64      // N, with load transfer; NaN without the mass
	Peak      uncert.Value // share, where its lower limit is highest
	Mean      uncert.Value // share, from 1 m/s to Until
	Until     float64      // m/s at which power begins to limit, by the trace
	Basis     Basis        // modelled with the sheet's friction, assumed with a default
	Text      string       // what it rests on, whole sentence
	Pull      uncert.Value // m/s², the force between tyres and road over mass at Peak; NaN where not known
}

// gripLimit is the grip that a mode has.
type gripLimit struct {
	perMass uncert.Value // m/s², NaN where not known
	force   float64      // N, NaN without the mass
	basis   Basis
	text    string
}

// gripLimitOf works out the most the driven wheels pass on the level, with load
// transfer where wheelbase and centre of gravity are known.
func gripLimitOf(sh *sheet.Sheet, mode string) gripLimit {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	unknown := func(why string) gripLimit {
		return gripLimit{perMass: nothing, force: math.NaN(), text: "Not known: " + why + "."}
	}
	g := gripLimit{basis: Modelled, force: math.NaN()}
	friction := v.Friction
	u, how := frictionGivenU, fmt.Sprintf("friction %.2f by the sheet", v.Friction)
	if friction == 0 {
		friction, g.basis, u = driveline.DefaultFriction, Assumed, frictionAssumedU/driveline.DefaultFriction
		how = fmt.Sprintf("friction assumed %.2f as on dry asphalt", driveline.DefaultFriction)
	}
	c, _ := Chassis(sh, mode)
	weights := v.FrontMass > 0 && v.RearMass > 0
	switch {
	case d.Driven == "all" && !weights:
		// However the weight sits, locked or shared right all of it pushes.
		g.perMass, g.basis = uncert.Value{X: friction * unit.GravityStandard}, Assumed
		g.text = "Grip of all wheels with the torque shared as their loads are, " + how + "."
	case d.Driven == "":
		g.perMass, g.basis = uncert.Value{X: friction * unit.GravityStandard}, Assumed
		g.text = "Grip as if all wheels were driven, " + how + ": with two the share is higher; driven and the axle weights would tell."
	case !weights:
		return unknown("front_axle_kg and rear_axle_kg would give the load on the driven wheels")
	default:
		if c.TyreRadius == 0 {
			c.TyreRadius = 1 // forces do not depend on it
		}
		lo, hi, err := passed(c, d, friction)
		if err != nil {
			return unknown(err.Error())
		}
		g.perMass = uncert.Value{X: (lo + hi) / 2}
		u = uncert.Combine(u, uncert.Rectangular((hi-lo)/2)/g.perMass.X)
		transfer := "with load transfer"
		if c.Wheelbase == 0 || c.CGHeight == 0 {
			transfer = "without load transfer, which needs wheelbase_m and cg_height_m"
			u = uncert.Combine(u, transferU)
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
	out := GripUse{Available: g.force, Basis: g.basis, Text: g.text, Peak: nothing, Mean: nothing, Until: math.NaN(), Pull: nothing}
	most := 0.0
	for _, p := range points {
		most = math.Max(most, p.Specific.X*p.Speed)
	}
	var sum, su, n float64
	pull := nothing
	peak := uncert.Value{X: math.Inf(-1)} // the highest that is sure, not the luckiest
	for _, p := range points {
		if p.InShift {
			continue
		}
		if math.IsNaN(out.Until) && p.Specific.X*p.Speed >= powerBegins*most {
			out.Until = p.Speed
		}
		f := p.factor
		load := c.load(l, p.Speed).X
		tyre := (p.Specific.X-load)/f + load
		share := uncert.Value{X: tyre / g.perMass.X, U: uncert.Combine(p.Specific.U/g.perMass.X, tyre/g.perMass.X*g.perMass.U/g.perMass.X)}
		if math.IsInf(peak.X, 0) || share.X-share.U95() > peak.X-peak.U95() {
			peak, pull = share, uncert.Value{X: tyre, U: uncert.Combine(p.Specific.U, massU*tyre)}
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
	out.Pull = pull
	if n > 0 {
		out.Mean = uncert.Value{X: sum / n, U: su / n}
	}
	return out
}

// passed is the most that the driven wheels pass on the level over mass in m/s², with the
// centre as it is given, or where it is not, from open to locked.
func passed(c driveline.Chassis, d sheet.Driveline, friction float64) (lo, hi float64, err error) {
	s, err := driveline.Solve(c, driveline.Even(friction), driveline.Most)
	if err != nil {
		return 0, 0, err
	}
	lo, hi = s.Thrust/c.Mass, s.Thrust/c.Mass
	if d.Driven == "all" && d.Centre == "" {
		c.Centre.Kind = driveline.Locked
		if s, err = driveline.Solve(c, driveline.Even(friction), driveline.Most); err != nil {
			return 0, 0, err
		}
		hi = s.Thrust / c.Mass
	}
	return lo, hi, nil
}

// frictionFor is the least friction with which a mode's wheels pass a force over mass in
// m/s², 0 where the sheet does not tell what stands on them.
func frictionFor(sh *sheet.Sheet, mode string, pull float64) float64 {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	c, _ := Chassis(sh, mode)
	if !(v.FrontMass > 0 && v.RearMass > 0 && c.Mass > 0) || d.Driven == "" {
		return 0
	}
	if c.TyreRadius == 0 {
		c.TyreRadius = 1
	}
	lo, hi := 0.0, frictionSought
	for range frictionRounds {
		mid := (lo + hi) / 2
		if _, most, err := passed(c, d, mid); err == nil && most < pull {
			lo = mid
		} else {
			hi = mid
		}
	}
	return lo
}

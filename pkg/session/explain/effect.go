package explain

import (
	"fmt"
	"math"
	"sort"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

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

// resistance is drag and rotation as used for effects.
type resistance struct {
	dragPerKg float64 // ½ρCdA/m in the session's air, 1/m
	dragU     float64 // relative standard uncertainty of it
	load      *RoadLoad
	mode      string
	rolling   float64 // coefficient
	grip      float64 // m/s² that the tyres pass, 0 where not known
	air       SessionAir
}

// factor is effective mass over mass at v m/s.
func (r *resistance) factor(v float64) float64 { return r.load.factor(r.mode, 0, false, v).X }

// resistanceOf takes them from the sheet, and says what stands in for data it lacks.
func resistanceOf(sh *sheet.Sheet) (r resistance, assumed []string) {
	l := RoadLoadOf(nil, sh)
	r = resistance{dragPerKg: l.Drag.X, dragU: dragGivenU, load: &l, rolling: l.Rolling.X, air: AirOf(sh)}
	if l.DragBasis == Assumed {
		r.dragU = dragAssumedU
		assumed = append(assumed, fmt.Sprintf("The effects of wind and air assume a drag area of %.2g m² a tonne, give or take a quarter: mass_kg and drag_area_m2 would replace it.", 1000*driveline.DefaultDragPerMass))
	}
	if l.FactorBasis == Assumed {
		assumed = append(assumed, l.factorText)
	}
	return r, assumed
}

// influence is one condition of a run: what it costs, once as known and once with
// its input moved by its standard uncertainty, and the relative standard uncertainty
// of what the cost is proportional to.
type influence struct {
	base     cost // nil where not known
	moved    cost
	relative float64
	perhaps  cost // what is left where part of the cost may not be there, nil for none
	into     func(*Effect) *uncert.Value
}

// influences are the conditions of the run that cost time.
func (c *RunConditions) influences(rs *resistance) []influence {
	grade := func(s float64) cost {
		a := unit.GravityStandard * math.Sin(math.Atan(s))
		return func(v, _ float64) float64 { return a / rs.factor(v) }
	}
	wind := func(w float64) cost {
		return func(v, _ float64) float64 { return rs.dragPerKg / rs.factor(v) * ((v+w)*math.Abs(v+w) - v*v) }
	}
	air := func(rho float64) cost {
		k := rs.dragPerKg * (rho - ReferenceDensity) / rs.air.Density.X
		return func(v, _ float64) float64 { return k / rs.factor(v) * v * v }
	}
	push := c.push(rs)
	// What an engine lost in this air that gives f times its power in the reference
	// air. Where the tyres, which pass grip in m/s² or 0 where that is not known, are
	// the limit it lost nothing.
	power := func(grip, f float64) cost {
		return func(v, a float64) float64 {
			p := push(v, a)
			if p <= 0 || grip > 0 && p > gripShare*grip {
				return 0
			}
			return (f - 1) * p / rs.factor(v)
		}
	}
	of := func(v uncert.Value, make func(float64) cost, relative float64, into func(*Effect) *uncert.Value) influence {
		if math.IsNaN(v.X) {
			return influence{into: into}
		}
		return influence{base: make(v.X), moved: make(v.X + v.U), relative: relative, into: into}
	}
	known := rs.air.Density
	if rs.air.Basis == "" {
		known = nothing
	}
	engine := of(rs.air.PowerFactor, func(f float64) cost { return power(rs.grip, f) }, 0, func(e *Effect) *uncert.Value { return &e.Power })
	if engine.base != nil && rs.grip == 0 {
		hardest := 0.0
		for i, a := range c.Run.Trace.A {
			hardest = max(hardest, push(c.Run.Trace.V[i], a))
		}
		engine.perhaps = power(hardest*plateauShare/gripShare, rs.air.PowerFactor.X)
	}
	return []influence{
		of(c.Grade, grade, 0, func(e *Effect) *uncert.Value { return &e.Grade }),
		of(c.HeadWind, wind, rs.dragU, func(e *Effect) *uncert.Value { return &e.HeadWind }),
		of(known, air, rs.dragU, func(e *Effect) *uncert.Value { return &e.Air }),
		engine,
	}
}

// push is the force at the wheels over the mass in m/s², grade and wind as far as
// known.
func (c *RunConditions) push(rs *resistance) func(v, a float64) float64 {
	hill := unit.GravityStandard * (rs.rolling + math.Sin(math.Atan(orZero(c.Grade.X))))
	w := orZero(c.HeadWind.X)
	return func(v, a float64) float64 {
		return rs.factor(v)*a + hill + rs.dragPerKg*(v+w)*math.Abs(v+w)
	}
}

// pass is the run without one condition: as known, as far as it is certain to be
// there (nil where that is the same), and with its input moved.
type pass struct {
	influence
	known, certain, moved *relieved
}

// effect is what a condition cost a time that took real seconds in the trace.
func (p *pass) effect(t timing.Time, real float64) uncert.Value {
	x := real - p.known.time(t)
	parts := []float64{modelShare * x, p.relative * x, real - p.moved.time(t) - x}
	if p.certain != nil { // anywhere between the two
		half := (x - (real - p.certain.time(t))) / 2
		x -= half
		parts = append(parts, uncert.Rectangular(half))
	}
	return uncert.Value{X: x, U: uncert.Combine(parts...)}
}

// effects works out what each time would have been on the level, in still air and
// in the reference air, as far as each is known.
func (c *RunConditions) effects(rs *resistance) {
	var ps []pass
	for _, in := range c.influences(rs) {
		if in.base == nil {
			continue
		}
		p := pass{influence: in, known: relieve(c.Run, in.base), moved: relieve(c.Run, in.moved)}
		if in.perhaps != nil {
			p.certain = relieve(c.Run, in.perhaps)
		}
		ps = append(ps, p)
	}
	together := relieve(c.Run, func(v, a float64) float64 {
		sum := 0.0
		for i := range ps {
			sum += ps[i].base(v, a)
		}
		return sum
	})
	// Counted from the trace as it is, so that its grid cancels out.
	asDriven := relieve(c.Run, func(_, _ float64) float64 { return 0 })
	for _, t := range c.Run.Times {
		if t.Reason != "" {
			continue
		}
		e := Effect{Name: t.Name, From: t.From, Headline: uncert.Value{X: t.Seconds, U: t.U95 / uncert.Z95},
			Grade: nothing, HeadWind: nothing, Air: nothing, Power: nothing}
		real := asDriven.time(t)
		e.Corrected = uncert.Value{X: t.Seconds - (real - together.time(t))}
		u := []float64{e.Headline.U}
		for i := range ps {
			v := ps[i].effect(t, real)
			*ps[i].into(&e), u = v, append(u, v.U)
			e.Corrected.X += real - ps[i].known.time(t) - v.X // what is doubted is left in
		}
		e.Corrected.U = uncert.Combine(u...)
		c.Effects = append(c.Effects, e)
	}
}

// relieved is a run as it would have been with something taken away.
type relieved struct{ real, t, s, v []float64 }

// cost is the acceleration in m/s² that a condition takes from a vehicle at speed
// v (m/s) that accelerates by a (m/s²).
type cost func(v, a float64) float64

// relieve takes away what costs acceleration. Thrust is taken to be a function of
// speed while the vehicle pulls, so that a stretch of speed is passed in less time;
// where it does not pull, as in a shift, the time is the same and the speed gained
// shortens what follows.
func relieve(r *session.TimedRun, take cost) *relieved {
	tr := &r.Trace
	out := &relieved{}
	top := 0.0
	for _, a := range tr.A {
		top = math.Max(top, a)
	}
	var t, s, gained float64
	for i := range tr.T {
		if tr.T[i] < 0 {
			continue
		}
		if n := len(out.real); n > 0 {
			dt := tr.T[i] - out.real[n-1]
			v, a := (tr.V[i]+tr.V[i-1])/2, (tr.A[i]+tr.A[i-1])/2
			d := take(v, a)
			if a > math.Max(pullLeast, pullShare*top) && a+d > pullLeft && tr.T[i] > pullFrom {
				dt = dt*a/(a+d) - gained/(a+d)
				gained = 0
			} else {
				gained += d * dt
			}
			t += dt
			s += v * dt
		}
		out.real, out.t, out.s, out.v = append(out.real, tr.T[i]), append(out.t, t), append(out.s, s), append(out.v, tr.V[i])
	}
	return out
}

// time is the target's time in the changed run.
func (w *relieved) time(t timing.Time) float64 {
	start, begin := 0.0, 0.0
	if t.From == timing.FromRollout {
		begin = unit.Rollout
		start = interpolate(w.s, w.t, begin)
	}
	if !math.IsNaN(t.EndSpeed) { // a distance
		return interpolate(w.s, w.t, begin+t.Distance) - start
	}
	return interpolate(w.real, w.t, t.End) - start
}

// interpolate reads y at x by straight lines; x mostly rises.
func interpolate(xs, ys []float64, x float64) float64 {
	i := sort.Search(len(xs), func(i int) bool { return xs[i] >= x })
	switch {
	case len(xs) == 0:
		return math.NaN()
	case i == 0:
		return ys[0]
	case i == len(xs):
		n := len(xs) - 1
		if n > 0 && xs[n] > xs[n-1] { // the changed run is a little shorter
			return ys[n] + (x-xs[n])*(ys[n]-ys[n-1])/(xs[n]-xs[n-1])
		}
		return ys[n]
	}
	f := (x - xs[i-1]) / (xs[i] - xs[i-1])
	return ys[i-1] + f*(ys[i]-ys[i-1])
}

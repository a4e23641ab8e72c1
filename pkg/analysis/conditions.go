package analysis

import (
	"math"
	"sort"

	"fromrest/pkg/atmos"
	"fromrest/pkg/session"
	"fromrest/pkg/timing"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// RunConditions is the road and the air of one run, along its heading.
type RunConditions struct {
	Run       *TimedRun
	Grade     uncert.Value // rise over run; NaN where not known
	GradeFrom string       // "vertical velocity", "altitude", "the sheet"
	HeadWind  uncert.Value // m/s; NaN where not known
	CrossWind float64      // m/s; NaN where not known
	Effects   []Effect
}

// Effect is what grade and head wind cost one time. A positive number made the
// run slower.
type Effect struct {
	Name            string
	From            timing.Origin
	Headline        uncert.Value // s, as measured
	Grade, HeadWind uncert.Value // s; NaN where not known
	Corrected       uncert.Value // s, level and still air as far as both are known
}

// drag and rotation as used for effects.
type resistance struct {
	dragPerKg float64 // ½ρCdA/m, 1/m
	factor    float64 // effective mass over mass
}

func resistanceOf(sh *session.Sheet) (r resistance, assumed []string) {
	v := &sh.Vehicle
	rho, _ := SheetDensity(&sh.Conditions)
	m, area := vehicleMass(v), v.DragArea
	r.factor = v.MassFactor
	switch {
	case m > 0 && area > 0:
		r.dragPerKg = 0.5 * rho * area / m
	default:
		r.dragPerKg = 0.5 * rho * 0.00045
		assumed = append(assumed, "The effect of wind assumes a drag area of 0.45 m² a tonne: mass_kg and drag_area_m2 would replace it.")
	}
	if r.factor == 0 {
		r.factor = 1.06
		assumed = append(assumed, "Effects assume an effective mass of 1.06 times the mass: mass_factor would replace it.")
	}
	return r, assumed
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
// they cost. assumed says what stands in for missing data.
func ConditionsOf(res *Result, sh *session.Sheet) (out []RunConditions, assumed []string) {
	rs, assumed := resistanceOf(sh)
	for _, r := range res.Runs {
		if !r.Counted || r.Trace.Len() < 2 {
			continue
		}
		c := RunConditions{Run: r, HeadWind: uncert.Value{X: math.NaN(), U: math.NaN()}, CrossWind: math.NaN()}
		c.Grade, c.GradeFrom = r.Grade()
		k := &sh.Conditions
		known := !math.IsNaN(r.HeadingDeg)
		if k.Grade != nil && k.GradeHeading != nil && known && (c.GradeFrom == "" || c.Grade.U > gradeU) {
			x := *k.Grade * math.Cos((r.HeadingDeg-*k.GradeHeading)*math.Pi/180)
			c.Grade, c.GradeFrom = uncert.Value{X: x, U: gradeU}, "the sheet"
		}
		if k.Wind != nil && k.WindFrom != nil && known {
			sin, cos := math.Sincos((*k.WindFrom - r.HeadingDeg) * math.Pi / 180)
			w := *k.Wind
			c.HeadWind = uncert.Value{X: w * cos, U: uncert.Combine(math.Max(windLeast, windU*w), w*sin*windDirU*math.Pi/180)}
			c.CrossWind = math.Abs(w * sin)
		}
		c.effects(rs)
		out = append(out, c)
	}
	return out, assumed
}

// effects works out what each time would have been without grade and wind.
func (c *RunConditions) effects(rs resistance) {
	none := uncert.Value{X: math.NaN(), U: math.NaN()}
	grade := func(s float64) func(float64) float64 {
		a := unit.GravityStandard * math.Sin(math.Atan(s)) / rs.factor
		return func(float64) float64 { return a }
	}
	wind := func(w float64) func(float64) float64 {
		return func(v float64) float64 {
			return rs.dragPerKg / rs.factor * ((v+w)*math.Abs(v+w) - v*v)
		}
	}
	knownG, knownW := !math.IsNaN(c.Grade.X), !math.IsNaN(c.HeadWind.X)
	var g, gu, w, wu *without
	if knownG {
		g, gu = c.Run.without(grade(c.Grade.X)), c.Run.without(grade(c.Grade.X+c.Grade.U))
	}
	if knownW {
		w, wu = c.Run.without(wind(c.HeadWind.X)), c.Run.without(wind(c.HeadWind.X+c.HeadWind.U))
	}
	for _, t := range c.Run.Times {
		e := Effect{Name: t.Name, From: t.From, Headline: uncert.Value{X: t.Seconds, U: t.U95 / uncert.Z95}, Grade: none, HeadWind: none}
		e.Corrected = e.Headline
		add := func(a, b *without) uncert.Value {
			x := t.Seconds - a.time(t)
			// A tenth of the effect for the model: thrust taken as a function of speed.
			v := uncert.Value{X: x, U: uncert.Combine(t.Seconds-b.time(t)-x, 0.1*x)}
			e.Corrected.X -= v.X
			e.Corrected.U = uncert.Combine(e.Corrected.U, v.U)
			return v
		}
		if knownG {
			e.Grade = add(g, gu)
		}
		if knownW {
			e.HeadWind = add(w, wu)
		}
		c.Effects = append(c.Effects, e)
	}
}

// without is a run as it would have been with some resistance taken away.
type without struct{ real, t, s, v []float64 }

// without takes away a resistance, given as the acceleration in m/s² it costs at
// a speed. Thrust is taken to be a function of speed while the vehicle pulls, so
// that a stretch of speed is passed in less time; where it does not pull, as in
// a shift, the time is the same and the speed gained shortens what follows.
func (r *TimedRun) without(cost func(v float64) float64) *without {
	tr := &r.Trace
	out := &without{}
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
			d := cost(v)
			if a > math.Max(0.3, 0.12*top) && a+d > 0.1 && tr.T[i] > 0.25 {
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
func (w *without) time(t timing.Time) float64 {
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

// Profiled holds the session against the published condition profiles.
func Profiled(cs []RunConditions, sh *session.Sheet) map[string][]atmos.Finding {
	k := &sh.Conditions
	c := atmos.Conditions{}
	worst := func(q atmos.Quantity, v uncert.Value) {
		v.X = math.Abs(v.X)
		if old, ok := c[q]; !math.IsNaN(v.X) && (!ok || v.X > old.X) {
			c[q] = v
		}
	}
	ways := map[bool]int{}
	for i := range cs {
		worst(atmos.Grade, cs[i].Grade)
		worst(atmos.CrossWind, uncert.Value{X: cs[i].CrossWind})
		if h := cs[i].Run.HeadingDeg; !math.IsNaN(h) {
			ways[math.Cos((h-cs[0].Run.HeadingDeg)*math.Pi/180) > 0]++
		}
	}
	set := func(q atmos.Quantity, p *float64) {
		if p != nil {
			c[q] = uncert.Value{X: *p}
		}
	}
	set(atmos.MeanWind, k.Wind)
	set(atmos.Gusts, k.Gust)
	set(atmos.Temperature, k.Temperature)
	set(atmos.Humidity, k.Humidity)
	if k.Temperature != nil && k.Pressure != nil {
		rho, _ := SheetDensity(k)
		c[atmos.AirDensity] = uncert.Value{X: rho}
	}
	if len(ways) > 0 {
		c[atmos.Directions] = uncert.Value{X: float64(len(ways))}
		c[atmos.RunsEachWay] = uncert.Value{X: float64(min(ways[true], ways[false]))}
	}
	out := map[string][]atmos.Finding{}
	for _, p := range atmos.Profiles() {
		out[p.Name] = p.Check(c)
	}
	return out
}

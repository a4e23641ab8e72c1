package explain

import (
	"math"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/air"
)

// Where wind and grade come from.
const (
	FromSheet = "the sheet"
	FromRuns  = "the runs both ways"
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

// BasisOf says whether a grade or a head wind is measured or modelled by where it is
// from; "" where it is not known.
func BasisOf(from string) Basis {
	switch from {
	case "":
		return ""
	case FromRuns:
		return Modelled
	}
	return Measured
}

// ConditionsOf finds the conditions of every counted standing start and what
// they cost. Wind comes from the sheet, else from the runs both ways. assumed says
// what stands in for missing data.
func ConditionsOf(res *session.Result, sh *sheet.Sheet) (out []RunConditions, assumed []string) {
	rs, assumed := resistanceOf(sh)
	return rs.conditions(res, sh, assumed)
}

// conditions is ConditionsOf with what resists the vehicle, and what that assumes.
func (rs resistance) conditions(res *session.Result, sh *sheet.Sheet, assumed []string) (out []RunConditions, _ []string) {
	for _, r := range res.Runs {
		if !r.Counted || r.Trace.Len() < 2 {
			continue
		}
		c := RunConditions{Run: r, HeadWind: nothing, CrossWind: math.NaN()}
		c.Grade, c.GradeFrom = r.Grade()
		c.fromSheet(sh)
		out = append(out, c)
	}
	if len(out) == 0 {
		return nil, assumed
	}
	if k := &sh.Conditions; len(sh.Winds) == 0 && (k.Wind == nil || k.WindFrom == nil) {
		w := windAlong(out, &rs)
		w.apply(out)
		assumed = append(assumed, w.Text())
	}
	if rs.air.Basis == "" {
		assumed = append(assumed, "The effect of the air is not known: temperature_c and pressure_hpa would give it.")
	}
	unlimited := false
	grip := map[string]float64{} // m/s² that a mode's tyres pass, 0 where not known
	for i := range out {
		mode := out[i].Run.Mode
		if _, ok := grip[mode]; !ok {
			grip[mode] = 0
			if s, err := mostGrip(sh, mode); err == nil && s != nil {
				grip[mode] = s.Thrust / vehicleMass(&sh.Vehicle)
			}
			unlimited = unlimited || grip[mode] == 0
		}
		one := rs
		one.grip, one.mode = grip[mode], mode
		out[i].effects(&one)
	}
	if f := rs.air.PowerFactor; unlimited && f.X != 1 && !math.IsNaN(f.X) {
		assumed = append(assumed, "Where the tyres are the limit the air takes no power. The sheet does not tell where that is, so the effect of power is taken to lie anywhere between both: friction, driven, tyre_radius_m, front_axle_kg and rear_axle_kg would narrow it.")
	}
	return out, assumed
}

// fromSheet fills in what the sheet says of grade and wind along the run.
func (c *RunConditions) fromSheet(sh *sheet.Sheet) {
	k, h := &sh.Conditions, c.Run.HeadingDeg
	if math.IsNaN(h) {
		return
	}
	if k.Grade != nil && k.GradeHeading != nil && (c.GradeFrom == "" || c.Grade.U > gradeU) {
		x := *k.Grade * along(h, *k.GradeHeading)
		c.Grade, c.GradeFrom = uncert.Value{X: x, U: gradeU}, FromSheet
	}
	if w, u, from, ok := windOf(sh, c.Run); ok {
		sin, cos := math.Sincos((from - h) * math.Pi / 180)
		c.HeadWind = uncert.Value{X: w * cos, U: uncert.Combine(u, w*sin*windDirU*math.Pi/180)}
		c.HeadWindFrom, c.CrossWind = FromSheet, math.Abs(w*sin)
	}
}

// windOf is the wind of a run in m/s with its standard uncertainty and where it comes from in
// degrees: by the readings about its launch, else the one of the session.
func windOf(sh *sheet.Sheet, r *session.TimedRun) (w, u, from float64, ok bool) {
	if r.Log == nil || r.Log.Clock != "elapsed" {
		if at, ok := sh.WindAt(r.Launch); ok {
			var u95 *float64
			if at.U95 > 0 {
				u95 = &at.U95
			}
			return at.Speed, uncert.Combine(readTo(u95, math.Max(windLeast, windU*at.Speed)), at.Between), at.From, true
		}
	}
	k := &sh.Conditions
	if k.Wind == nil || k.WindFrom == nil {
		return 0, 0, 0, false
	}
	return *k.Wind, readTo(k.WindU95, math.Max(windLeast, windU**k.Wind)), *k.WindFrom, true
}

// Profiled holds the session against the published condition profiles.
func Profiled(cs []RunConditions, sh *sheet.Sheet) map[string][]air.Finding {
	k := &sh.Conditions
	c := air.Conditions{}
	worst := func(q air.Quantity, v uncert.Value) {
		v.X = math.Abs(v.X)
		if old, ok := c[q]; !math.IsNaN(v.X) && (!ok || v.X > old.X) {
			c[q] = v
		}
	}
	var ways [2]int // runs each way
	for i := range cs {
		worst(air.Grade, cs[i].Grade)
		// The direction's uncertainty turns part of the head wind across.
		across := math.Abs(cs[i].HeadWind.X) * windDirU * math.Pi / 180
		worst(air.CrossWind, uncert.Value{X: cs[i].CrossWind, U: uncert.Combine(windU*cs[i].CrossWind, across)})
		if h := cs[i].Run.HeadingDeg; !math.IsNaN(h) {
			ways[session.Way(h, cs[0].Run.HeadingDeg)]++
		}
	}
	set := func(q air.Quantity, p *float64) {
		if p != nil {
			c[q] = uncert.Value{X: *p}
		}
	}
	if k.Wind != nil {
		c[air.MeanWind] = uncert.Value{X: *k.Wind, U: math.Max(windLeast, windU**k.Wind)}
	}
	set(air.Gusts, k.Gust)
	for _, w := range sh.Winds { // the worst of the day
		u := math.Max(windLeast, windU*w.Speed)
		if w.U95 > 0 {
			u = w.U95 / uncert.Z95
		}
		worst(air.MeanWind, uncert.Value{X: w.Speed, U: u})
		if w.Gust > 0 {
			worst(air.Gusts, uncert.Value{X: w.Gust})
		}
	}
	set(air.Temperature, k.Temperature)
	set(air.Humidity, k.Humidity)
	if k.Temperature != nil && k.Pressure != nil {
		c[air.AirDensity] = AirOf(sh).Density
	}
	if n := ways[0] + ways[1]; n > 0 {
		c[air.Directions] = uncert.Value{X: float64(min(1, ways[0]) + min(1, ways[1]))}
		c[air.RunsEachWay] = uncert.Value{X: float64(min(ways[0], ways[1]))}
	}
	out := map[string][]air.Finding{}
	for _, p := range air.Profiles() {
		out[p.Name] = p.Check(c)
	}
	return out
}

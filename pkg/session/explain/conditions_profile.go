package explain

import (
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/air"
)

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
	ways := map[bool]int{}
	for i := range cs {
		worst(air.Grade, cs[i].Grade)
		// The direction's uncertainty turns part of the head wind across.
		across := math.Abs(cs[i].HeadWind.X) * windDirU * math.Pi / 180
		worst(air.CrossWind, uncert.Value{X: cs[i].CrossWind, U: uncert.Combine(windU*cs[i].CrossWind, across)})
		if h := cs[i].Run.HeadingDeg; !math.IsNaN(h) {
			ways[math.Cos((h-cs[0].Run.HeadingDeg)*math.Pi/180) > 0]++
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
	set(air.Temperature, k.Temperature)
	set(air.Humidity, k.Humidity)
	if k.Temperature != nil && k.Pressure != nil {
		c[air.AirDensity] = AirOf(sh).Density
	}
	if len(ways) > 0 {
		c[air.Directions] = uncert.Value{X: float64(len(ways))}
		c[air.RunsEachWay] = uncert.Value{X: float64(min(ways[true], ways[false]))}
	}
	out := map[string][]air.Finding{}
	for _, p := range air.Profiles() {
		out[p.Name] = p.Check(c)
	}
	return out
}

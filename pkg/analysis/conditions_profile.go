package analysis

import (
	"math"

	"fromrest/pkg/atmos"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

// Profiled holds the session against the published condition profiles.
func Profiled(cs []RunConditions, sh *sheet.Sheet) map[string][]atmos.Finding {
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
		// The direction's uncertainty turns part of the head wind across.
		across := math.Abs(cs[i].HeadWind.X) * windDirU * math.Pi / 180
		worst(atmos.CrossWind, uncert.Value{X: cs[i].CrossWind, U: uncert.Combine(windU*cs[i].CrossWind, across)})
		if h := cs[i].Run.HeadingDeg; !math.IsNaN(h) {
			ways[math.Cos((h-cs[0].Run.HeadingDeg)*math.Pi/180) > 0]++
		}
	}
	set := func(q atmos.Quantity, p *float64) {
		if p != nil {
			c[q] = uncert.Value{X: *p}
		}
	}
	if k.Wind != nil {
		c[atmos.MeanWind] = uncert.Value{X: *k.Wind, U: math.Max(windLeast, windU**k.Wind)}
	}
	set(atmos.Gusts, k.Gust)
	set(atmos.Temperature, k.Temperature)
	set(atmos.Humidity, k.Humidity)
	if k.Temperature != nil && k.Pressure != nil {
		c[atmos.AirDensity] = AirOf(sh).Density
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

// Package air is the air a run was driven in: density of humid air, density
// altitude, the US Standard Atmosphere 1976, the correction of engine power to
// reference air, and the conditions published test procedures ask for.
//
// Temperatures are in K, pressures in Pa, densities in kg/m³, humidity is
// relative from 0 to 1, altitudes are geopotential metres. Humid air is a mixture
// of two ideal gases, within 0.06 % of the CIPM-2007 equation between 0 and
// 40 °C. The standard atmosphere is given from -5 to 32 km. No formula here looks
// at a vehicle: what density does to a time is worked out where the drag is known.
package air

import (
	"fmt"
	"math"

	"fromrest/pkg/unit"
)

// StandardDensity is the density of the standard atmosphere at sea level in kg/m³.
const StandardDensity = StandardPressure / (gasConstant * StandardTemperature)

// layer is a part of the atmosphere with one lapse rate.
type layer struct {
	base, t, p float64 // geopotential m, K, Pa
	lapse      float64 // K/m
}

var layers = makeLayers()

func makeLayers() []layer {
	ls := []layer{{0, StandardTemperature, StandardPressure, -lapse}, {base: tropopause}, {base: warming, lapse: warmingLapse}}
	for i := 1; i < len(ls); i++ {
		t, p := ls[i-1].at(ls[i].base)
		ls[i].t, ls[i].p = t, p
	}
	return ls
}

// at is temperature and pressure at geopotential altitude h.
func (l layer) at(h float64) (t, p float64) {
	t = l.t + l.lapse*(h-l.base)
	if l.lapse == 0 {
		return t, l.p * math.Exp(-unit.GravityStandard*(h-l.base)/(gasConstant*l.t))
	}
	return t, l.p * math.Pow(t/l.t, -unit.GravityStandard/(gasConstant*l.lapse))
}

// Air is a state of the air.
type Air struct {
	Temperature float64 // K
	Pressure    float64 // Pa
	Density     float64 // kg/m³
}

// Standard returns the US Standard Atmosphere 1976 at geopotential altitude h in
// metres, from -5000 to 32000.
func Standard(h float64) (Air, error) {
	if !(h >= lowest && h <= highest) {
		return Air{}, fmt.Errorf("altitude %g m: the standard atmosphere is given from %g to %g m", h, lowest, highest)
	}
	l := layers[0]
	for _, k := range layers[1:] {
		if h >= k.base {
			l = k
		}
	}
	t, p := l.at(h)
	return Air{t, p, p / (gasConstant * t)}, nil
}

// Geopotential converts a geometric altitude z in metres.
func Geopotential(z float64) float64 { return earthRadius * z / (earthRadius + z) }

// DensityAltitude is the geopotential altitude in metres at which the standard
// atmosphere has the given density in kg/m³; NaN for densities it never has
// between -5 and 32 km.
func DensityAltitude(density float64) float64 {
	lo, hi := lowest, highest
	air := func(h float64) float64 { a, _ := Standard(h); return a.Density }
	if !(density <= air(lo) && density >= air(hi)) {
		return math.NaN()
	}
	for range halvings { // density falls all the way up
		if mid := (lo + hi) / 2; air(mid) > density {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

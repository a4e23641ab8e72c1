package air

import (
	"cmp"
	"fmt"
	"math"

	"fromrest/pkg/uncert"
)

// SaturationPressure is the pressure of water vapour over water in Pa at t in K:
// the formula of CIPM-2007, within 0.1 % of that of IAPWS from 0 to 40 °C.
func SaturationPressure(t float64) float64 {
	return math.Exp(satA*t*t + satB*t + satC + satD/t)
}

// VapourPressure is the partial pressure of water vapour in Pa at t in K and
// relative humidity rh from 0 to 1.
func VapourPressure(t, rh float64) float64 { return rh * SaturationPressure(t) }

// Density is that of humid air in kg/m³ at temperature t (K), pressure p (Pa)
// and relative humidity rh (0 to 1): a mixture of two ideal gases. It lies
// within 0.06 % of CIPM-2007.
func Density(t, p, rh float64) float64 {
	e := VapourPressure(t, rh)
	return (p-e)/(gasDry*t) + e/(gasVapour*t)
}

// Reading is what was measured of the air, each with its standard uncertainty.
type Reading struct {
	Temperature uncert.Value // K
	Pressure    uncert.Value // Pa, at the site
	Humidity    uncert.Value // relative, 0 to 1
}

// Density is the air's density in kg/m³ with its standard uncertainty from those
// of the readings and the model's 0.03 %.
func (r Reading) Density() uncert.Value {
	t, p, h := r.Temperature, r.Pressure, r.Humidity
	x := Density(t.X, p.X, h.X)
	u := uncert.Combine(Density(t.X+t.U, p.X, h.X)-x, Density(t.X, p.X+p.U, h.X)-x, Density(t.X, p.X, h.X+h.U)-x, modelU*x)
	return uncert.Value{X: x, U: u}
}

// DensityAltitude is the density altitude in m with its standard uncertainty.
func (r Reading) DensityAltitude() uncert.Value {
	d := r.Density()
	x := DensityAltitude(d.X)
	return uncert.Value{X: x, U: math.Abs(DensityAltitude(d.X-d.U) - x)}
}

// Engine says how an engine breathes, which decides whether its power may be
// corrected to standard air.
type Engine string

// The kinds of engine.
const (
	NaturallyAspirated Engine = "naturally aspirated" // spark ignition
	Turbocharged       Engine = "turbocharged"        // or supercharged
	Diesel             Engine = "diesel"              // compression ignition
	Electric           Engine = "electric"            // or hybrid
	UnknownEngine      Engine = ""
)

// SAEJ1349 names the way power is corrected to the reference air.
const SAEJ1349 = "SAE J1349 (1990)"

// PowerFactor is what measured full-throttle power is multiplied with to correct
// it to the reference air by SAE J1349. t is the temperature in K, p the dry
// air's pressure in Pa. It refuses engines whose power does not follow the
// density of the air, and air that cannot be.
func PowerFactor(e Engine, t, p float64) (float64, error) {
	if e != NaturallyAspirated {
		return 0, fmt.Errorf("%s corrects naturally aspirated spark-ignition engines only, this one is %s: its power does not follow the density of the air", SAEJ1349, cmp.Or(e, "unknown"))
	}
	if !(t > coldest && t < hottest && p > thinnest && p < densest) {
		return 0, fmt.Errorf("%s: air of %.1f K and %.0f Pa is not plausible", SAEJ1349, t, p)
	}
	return (1+frictionShare)*(ReferencePressure/p)*math.Sqrt((t-roundKelvin)/(ReferenceTemperature-roundKelvin)) - frictionShare, nil
}

package air

import (
	"fmt"
	"math"

	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// SaturationPressure is the pressure of water vapour over water in Pa at t in K:
// the formula of CIPM-2007 (Picard and others, Metrologia 45, 2008, 149; its
// coefficients from memory, its values checked in the tests). Within 0.1 % of
// the IAPWS formula from 0 to 40 °C.
func SaturationPressure(t float64) float64 {
	return math.Exp(1.2378847e-5*t*t - 1.9121316e-2*t + 33.93711047 - 6.3431645e3/t)
}

// VapourPressure is the partial pressure of water vapour in Pa at t in K and
// relative humidity rh from 0 to 1.
func VapourPressure(t, rh float64) float64 { return rh * SaturationPressure(t) }

// Specific gas constants in J/(kg·K).
const (
	gasDry    = 287.05
	gasVapour = 461.495
)

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
	f := func(t, p, h float64) float64 { return Density(t, p, h) }
	t, p, h := r.Temperature, r.Pressure, r.Humidity
	x := f(t.X, p.X, h.X)
	u := uncert.Combine(f(t.X+t.U, p.X, h.X)-x, f(t.X, p.X+p.U, h.X)-x, f(t.X, p.X, h.X+h.U)-x, 3e-4*x)
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

// Correction is a way to correct power to standard air.
type Correction string

// The corrections.
const (
	SAEJ1349 Correction = "SAE J1349 (1990)" // 99 kPa dry, 25 °C
	ISO1585  Correction = "ISO 1585"         // 99 kPa dry, 25 °C, spark ignition
	DIN70020 Correction = "DIN 70020"        // 101.3 kPa, 20 °C
	SAEJ607  Correction = "SAE J607"         // 29.92 inHg dry, 60 °F
)

// Corrections lists them.
func Corrections() []Correction { return []Correction{SAEJ1349, ISO1585, DIN70020, SAEJ607} }

// PowerFactor is what measured full-throttle power is multiplied with to correct
// it to the method's standard air. p is the dry air's pressure in Pa, for DIN
// 70020 the whole air's, t the temperature in K. It refuses engines whose power
// does not follow the density of the air, and, for ISO 1585, factors outside
// the 0.93 to 1.07 that the method allows.
//
// Sources: J1349 and J607 as quoted by engine builders, their worked examples
// reproduced; ISO 1585 from memory; DIN 70020 as quoted.
func PowerFactor(c Correction, e Engine, t, p float64) (float64, error) {
	if e != NaturallyAspirated {
		name := string(e)
		if e == UnknownEngine {
			name = "unknown"
		}
		return 0, fmt.Errorf("%s corrects naturally aspirated spark-ignition engines only, this one is %s: its power does not follow the density of the air", c, name)
	}
	if !(t > 180 && t < 350 && p > 20000 && p < 120000) {
		return 0, fmt.Errorf("%s: air of %.1f K and %.0f Pa is not plausible", c, t, p)
	}
	switch c {
	case SAEJ1349:
		return 1.18*(99000/p)*math.Sqrt(round(t)/298) - 0.18, nil
	case ISO1585:
		f := math.Pow(99000/p, 1.2) * math.Pow(round(t)/298, 0.6)
		if f < 0.93 || f > 1.07 {
			return f, fmt.Errorf("%s: factor %.3f is outside 0.93 to 1.07, where the method is valid", c, f)
		}
		return f, nil
	case DIN70020:
		return 101300 / p * math.Sqrt(round(t)/293), nil
	case SAEJ607:
		f := (t-unit.ZeroCelsius)*9/5 + 32
		return 29.92 * unit.InchOfMercury / p * math.Sqrt((f+460)/520), nil
	}
	return 0, fmt.Errorf("no power correction %q", c)
}

// round takes the 0.15 K off that the methods leave out: they count 0 °C as
// 273 K, so that the factor at 25 °C is exactly 1.
func round(t float64) float64 { return t - 0.15 }

// Package unit holds the exact constants of the trade: its units in SI, and the
// figure of the Earth.
//
// Everything inside fromrest is SI in plain float64. A value is converted once,
// where it enters or leaves, by multiplying or dividing with a constant of this
// package: v := kn * unit.Knot. The constants are exact by definition (SI
// brochure; NIST SP 811; the international foot of 1959) unless their line says
// otherwise. What is assumed of a vehicle or of a receiver is not here but in
// the package that assumes it.
package unit

import "math"

// Lengths in metres.
const (
	Foot         = 0.3048   // m
	Inch         = 0.0254   // m
	Mile         = 1609.344 // m
	NauticalMile = 1852.0   // m
)

// Speeds in metres per second, and of rotation in radians per second.
const (
	Knot = NauticalMile / 3600 // m/s
	MPH  = 0.44704             // m/s
	KMH  = 1 / 3.6             // m/s
	RPM  = 2 * math.Pi / 60    // rad/s
)

// Other quantities.
const (
	GravityStandard  = 9.80665            // m/s²
	Pound            = 0.45359237         // kg
	PoundForce       = 4.4482216152605    // N
	Horsepower       = 745.69987158227022 // W, 550 ft·lbf/s
	MetricHorsepower = 735.49875          // W
	PSI              = 6894.757293168361  // Pa
	InchOfMercury    = 3386.389           // Pa, conventional
	ZeroCelsius      = 273.15             // K
)

// AirDensityStandard is the density of the standard atmosphere at sea level in
// kg/m³ as it is printed (ICAO Doc 7488); pkg/vehicle/air computes it.
const AirDensityStandard = 1.225 // kg/m³

// The Earth as WGS 84 has it (NIMA TR8350.2): the semi-major axis and the
// flattening define it, the others follow from them.
const (
	EarthSemiMajor     = 6378137.0 // m
	earthFlattening    = 1 / 298.257223563
	EarthEccentricity2 = earthFlattening * (2 - earthFlattening)  // first eccentricity squared
	EarthMeanRadius    = EarthSemiMajor * (1 - earthFlattening/3) // m, for what a sphere is good enough for
)

// EarthRadii are how many m on the ground one radian north and one radian east are, at sea
// level and a latitude in degrees.
func EarthRadii(latDeg float64) (north, east float64) {
	sin, cos := math.Sincos(latDeg * math.Pi / 180)
	w := 1 - EarthEccentricity2*sin*sin
	return EarthSemiMajor * (1 - EarthEccentricity2) / (w * math.Sqrt(w)), EarthSemiMajor / math.Sqrt(w) * cos
}

// Rollout is the distance covered before timing starts "with rollout", in
// metres: one foot, the initial vehicle movement of SAE J1491:2006.
const Rollout = Foot // m

// TrapLength is the stretch before a distance mark over which the trap speed is
// the mean, in metres: 66 ft.
const TrapLength = 66 * Foot // m

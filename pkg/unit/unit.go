// Package unit holds the exact unit constants of the trade and reads and
// prints speeds and distances written with a unit.
//
// Everything inside fromrest is SI in plain float64. A value is converted once,
// where it enters or leaves, by multiplying or dividing with a constant of this
// package: v := kn * unit.Knot. The constants are exact by definition (SI
// brochure; NIST SP 811; the international foot of 1959).
package unit

// Lengths in metres.
const (
	Foot         = 0.3048   // m
	Inch         = 0.0254   // m
	Yard         = 0.9144   // m
	Mile         = 1609.344 // m
	NauticalMile = 1852.0   // m
)

// Speeds in metres per second.
const (
	Knot = 1852.0 / 3600 // m/s
	MPH  = 0.44704       // m/s
	KMH  = 1 / 3.6       // m/s
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

// Rollout is the distance covered before timing starts "with rollout", in
// metres: one foot, the initial vehicle movement of SAE J1491:2006.
const Rollout = Foot // m

// TrapLength is the stretch before a distance mark over which the trap speed is
// the mean, in metres: 66 ft.
const TrapLength = 66 * Foot // m

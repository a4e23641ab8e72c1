package worlds

import (
	"math"
	"math/rand/v2"
)

// Vehicle is what the pedal moves.
type Vehicle struct {
	Plateau float64   // m/s², thrust over mass once it is built up
	Power   float64   // W/kg
	Rolling float64   // m/s², rolling resistance over mass, which holds it until thrust is more
	Gears   []float64 // m/s, speeds at which thrust is taken away for Shift
	Shift   float64   // s
	Spin    float64   // share of thrust lost while the wheels spin, which they do for SpinFor
	SpinFor float64   // s
	Judder  float64   // share of thrust that swings while they do
	Bog     float64   // share of thrust lost while the engine is dragged down
	bogAt   float64   // s
	swing   float64   // Hz
}

// again is the same vehicle another time.
func (c Vehicle) again(rng *rand.Rand) Vehicle {
	c.Plateau, c.Power = about(rng, c.Plateau, 0.01), about(rng, c.Power, 0.005)
	c.bogAt, c.swing = within(rng, 0.35, 0.7), within(rng, 6, 11)
	c.Spin, c.Judder, c.Bog = c.Spin*within(rng, 0.7, 1.3), c.Judder*within(rng, 0.7, 1.3), c.Bog*within(rng, 0.7, 1.3)
	return c
}

// thrust is the acceleration that a share of the thrust gives at a speed, some time
// after the launch.
func (c *Vehicle) thrust(share, v, t float64) float64 {
	a := c.Plateau * share
	if c.SpinFor > 0 && t < c.SpinFor {
		a *= 1 - c.Spin + c.Judder*math.Sin(2*math.Pi*c.swing*t)
	}
	if c.Bog > 0 {
		x := (t - c.bogAt) / 0.16
		a *= 1 - min(0.9, c.Bog)*math.Exp(-x*x)
	}
	return min(a, c.Power/max(v, 1))
}

// rolling is that of tyres on a hard surface (common practice).
func rolling(rng *rand.Rand) float64 { return gravity * within(rng, 0.009, 0.016) }

func car(rng *rand.Rand) Vehicle {
	return Vehicle{Plateau: within(rng, 3, 6), Power: within(rng, 45, 110), Rolling: rolling(rng)}
}

func truck(rng *rand.Rand) Vehicle {
	return Vehicle{Plateau: within(rng, 1.4, 2.2), Power: within(rng, 18, 28), Rolling: rolling(rng)}
}

func manual(rng *rand.Rand) Vehicle {
	c := car(rng)
	c.Gears, c.Shift = []float64{within(rng, 9, 12), within(rng, 17, 20), within(rng, 25, 26)}, within(rng, 0.3, 0.6)
	return c
}

func spinning(rng *rand.Rand) Vehicle {
	c := car(rng)
	c.Spin, c.SpinFor, c.Judder = 0.25, within(rng, 0.6, 1.5), 0.12
	return c
}

func bogging(rng *rand.Rand) Vehicle {
	c := car(rng)
	c.Bog = 0.45
	return c
}

// Foot is how thrust is fed in.
type Foot struct {
	Build float64 // s until 95 % of it; 0 for a step
	Shape Shape
}

// Shape is the way in which thrust rises.
type Shape int

// The shapes.
const (
	Straight Shape = iota
	Rounded        // half a cosine
	Slowing        // towards its end as by a filter of the first order
	Stepped        // a third at once, the rest straight
)

// again is the same foot another time.
func (f Foot) again(rng *rand.Rand) Foot {
	f.Build = about(rng, f.Build, 0.15)
	return f
}

// Thrust is the share of thrust some seconds after the launch.
func (f Foot) Thrust(t float64) float64 {
	if f.Build <= 0 {
		return 1
	}
	x := t / f.Build
	switch f.Shape {
	case Rounded:
		if x *= 0.8564; x < 1 { // where half a cosine is at 95 %
			return (1 - math.Cos(math.Pi*x)) / 2
		}
		return 1
	case Slowing:
		return 1 - math.Exp(-2.9957*x) // ln 20
	case Stepped:
		return min(1, 1.0/3+0.6167*x)
	}
	return min(1, 0.95*x)
}

func shape(rng *rand.Rand) Shape { return Shape(rng.IntN(3)) }

// feet draws a build-up evenly in its logarithm.
func feet(lo, hi float64) func(*rand.Rand) Foot {
	return func(rng *rand.Rand) Foot {
		return Foot{Build: lo * math.Exp(math.Log(hi/lo)*rng.Float64()), Shape: shape(rng)}
	}
}

// measured draws a build-up from a median and the 5th and 95th per cent of real
// departures, as a logarithmic normal with two halves.
func measured(low, median, high float64) func(*rand.Rand) Foot {
	return func(rng *rand.Rand) Foot {
		z := rng.NormFloat64() / 1.6449
		ends := math.Log(high / median)
		if z < 0 {
			ends = math.Log(median / low)
		}
		return Foot{Build: median * math.Exp(ends*z), Shape: shape(rng)}
	}
}

func stepped(*rand.Rand) Foot { return Foot{} }

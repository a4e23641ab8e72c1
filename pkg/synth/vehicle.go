// Package synth simulates test sessions whose truth is known: a vehicle that
// leaves the line again and again, a receiver and an accelerometer that see it
// with the faults real ones have, and logs of it in any of the formats.
//
// The vehicle is a point mass with an effective mass: thrust at the wheels,
// limited by torque, power and grip, against drag, rolling resistance and
// grade. Thrust builds up over 40-250 ms, shifts interrupt it, spinning wheels
// make it fluctuate. It is integrated by a fourth-order Runge-Kutta method on a
// grid of 1-4 ms with the shifts as exact events, and speed between two nodes
// is the cubic through speeds and accelerations, so that every crossing is the
// root of a known polynomial. Everything is seeded: same seed, same bytes.
//
// It is a source of test data, not a prediction: no tyre curve, no suspension,
// no engine map finer than a power with a sag after each shift.
package synth

import (
	"math"
	"math/rand/v2"

	"fromrest/pkg/unit"
)

// Vehicle is what pushes and what resists. The zero value of a limit means no
// such limit; a Vehicle needs Mass and at least one of Force and Power, and
// without Force its thrust is limited to Grip or, failing that, to 1.2 g.
type Vehicle struct {
	Name string

	Mass     float64 // kg
	Inertia  float64 // effective mass over mass, for rotating parts; 1 if 0
	DragArea float64 // m², drag coefficient times frontal area
	Rolling  float64 // rolling resistance coefficient
	Loss     float64 // share of thrust lost in the driveline, 0..1

	Force float64 // N at the wheels before loss: torque limit in the lowest gear
	Power float64 // W at the wheels before loss
	Grip  float64 // N, the most thrust the tyres pass

	// Converter is the extra share of Force at zero speed, fading to nothing at
	// ConverterSpeed, as a torque converter gives.
	Converter      float64
	ConverterSpeed float64 // m/s

	Gears []Gear  // upshifts in order, none for a single-speed driveline
	Sag   float64 // share of power missing right after an upshift

	FadeSpeed float64 // m/s above which power falls in proportion to 1/v, 0 for never

	// Spin is the relative amplitude by which thrust fluctuates (2-7 Hz) while
	// the wheels spin, up to SpinSpeed.
	Spin      float64
	SpinSpeed float64 // m/s

	// BuildMin and BuildMax bound the time thrust takes to build up; each run
	// draws its own. Both 0 means thrust is there at once.
	BuildMin, BuildMax float64 // s
}

// Gear is an upshift.
type Gear struct {
	UpSpeed            float64 // m/s at which it begins
	ShiftMin, ShiftMax float64 // s, its duration; each run draws its own
	Depth              float64 // share of thrust missing in its middle; above 1 the engine drags
	Ratio              float64 // of the gear shifted into, over the lowest; 0 for no torque limit in it
}

// Road is the ground and the air of one run, in the direction of that run.
type Road struct {
	Grade      float64 // rise over run, +0.01 climbs 1 %
	HeadWind   float64 // m/s against the vehicle
	AirDensity float64 // kg/m³, 1.225 if 0
}

func (r Road) reversed() Road {
	r.Grade, r.HeadWind = -r.Grade, -r.HeadWind
	return r
}

// upshift makes a Gear from an upshift speed in mph.
func upshift(mph, lo, hi, depth float64) Gear {
	return Gear{UpSpeed: mph * unit.MPH, ShiftMin: lo, ShiftMax: hi, Depth: depth}
}

// Electric is a car with instant torque, a power limit and a single gear.
func Electric() Vehicle {
	return Vehicle{Name: "electric", Mass: 1950, Inertia: 1.06, DragArea: 0.62, Rolling: 0.010,
		Force: 12500, Power: 230e3, FadeSpeed: 38, BuildMin: 0.04, BuildMax: 0.12}
}

// Automatic is a car with a torque converter and six gears.
func Automatic() Vehicle {
	return Vehicle{Name: "automatic", Mass: 1650, Inertia: 1.07, DragArea: 0.68, Rolling: 0.011,
		Force: 6600, Power: 135e3, Converter: 0.35, ConverterSpeed: 9, Sag: 0.22, BuildMin: 0.08, BuildMax: 0.25,
		Gears: []Gear{upshift(33, 0.15, 0.4, 0.45), upshift(57, 0.15, 0.4, 0.45), upshift(84, 0.15, 0.4, 0.4), upshift(112, 0.15, 0.4, 0.4)}}
}

// Manual is a car with a clutch, whose driver leaves gaps in the thrust.
func Manual() Vehicle {
	return Vehicle{Name: "manual", Mass: 1280, Inertia: 1.08, DragArea: 0.64, Rolling: 0.011,
		Force: 6100, Power: 96e3, Sag: 0.25, BuildMin: 0.08, BuildMax: 0.25,
		Gears: []Gear{upshift(31, 0.3, 0.6, 1.04), upshift(55, 0.3, 0.6, 1.05), upshift(82, 0.3, 0.6, 1.06)}}
}

// CVT is a small car with a continuously variable ratio: no shifts.
func CVT() Vehicle {
	return Vehicle{Name: "cvt", Mass: 1340, Inertia: 1.10, DragArea: 0.66, Rolling: 0.010,
		Force: 4700, Power: 78e3, Converter: 0.15, ConverterSpeed: 6, BuildMin: 0.12, BuildMax: 0.25}
}

// TractionLimited is a powerful car whose tyres limit it up to about 50 mph.
func TractionLimited() Vehicle {
	return Vehicle{Name: "traction-limited", Mass: 1720, Inertia: 1.06, DragArea: 0.66, Rolling: 0.011,
		Force: 19000, Power: 330e3, Grip: 11800, Sag: 0.12, BuildMin: 0.05, BuildMax: 0.18,
		Gears: []Gear{upshift(48, 0.15, 0.2, 0.3), upshift(78, 0.15, 0.2, 0.3), upshift(108, 0.15, 0.2, 0.3)}}
}

// Spinning is a rear-driven car on a damp surface whose wheels spin early, so
// that its acceleration fluctuates.
func Spinning() Vehicle {
	return Vehicle{Name: "spinning", Mass: 1480, Inertia: 1.08, DragArea: 0.63, Rolling: 0.011,
		Force: 9500, Power: 190e3, Grip: 6600, Sag: 0.18, Spin: 0.22, SpinSpeed: 15, BuildMin: 0.06, BuildMax: 0.2,
		Gears: []Gear{upshift(40, 0.18, 0.3, 0.7), upshift(68, 0.18, 0.3, 0.7), upshift(98, 0.18, 0.3, 0.7)}}
}

// VanModes are the names of the power maps of Van, the gentlest first.
var VanModes = []string{"calm", "plain", "full"}

// Van is an invented electric-hybrid panel van with the power map of the given
// mode, one of VanModes; any other name gives the strongest map.
func Van(mode string) Vehicle {
	v := Vehicle{Name: "van " + mode, Mass: 2280, Inertia: 1.07, DragArea: 1.45, Rolling: 0.012,
		Force: 7600, Power: 118e3, Converter: 0.2, ConverterSpeed: 8, Sag: 0.15, BuildMin: 0.10, BuildMax: 0.20,
		Gears: []Gear{upshift(36, 0.2, 0.35, 0.5), upshift(63, 0.2, 0.35, 0.5)}}
	switch mode {
	case "calm":
		v.Force, v.Power = 5300, 88e3
	case "plain":
		v.Force, v.Power = 6900, 106e3
	}
	return v
}

// Vehicles returns one of each kind, for trials over all of them.
func Vehicles() []Vehicle {
	return []Vehicle{Electric(), Automatic(), Manual(), CVT(), TractionLimited(), Spinning(), Van("full")}
}

// shape is how thrust builds up from 0 to 1.
type shape int

const (
	linear shape = iota
	raisedCosine
	firstOrder
	shapes
)

// rise returns the share of thrust there is t seconds after the pedal. dur is
// the whole build-up, for the first-order shape three time constants.
func (s shape) rise(t, dur float64) float64 {
	switch {
	case dur <= 0:
		return 1
	case t <= 0:
		return 0
	case s == firstOrder:
		return 1 - math.Exp(-3*t/dur)
	case t >= dur:
		return 1
	case s == raisedCosine:
		return 0.5 - 0.5*math.Cos(math.Pi*t/dur)
	}
	return t / dur
}

// push is one run's thrust: the vehicle with everything drawn that varies.
type push struct {
	*Vehicle
	road   Road
	factor float64 // on Force and Power
	shape  shape
	build  float64 // s
	shifts []float64
	spinF  [3]float64 // rad/s
	spinP  [3]float64 // rad

	liftAt, liftFor float64 // s since the pedal; liftFor 0 for none

	gear             int
	shiftAt, shiftTo float64 // the shift in progress, or the last one
	effective        float64 // kg
	drag, roll, hill float64 // ½ρCdA, N, N
}

func newPush(rng *rand.Rand, v *Vehicle, road Road, opt Variation) *push {
	p := &push{Vehicle: v, road: road, factor: 1, shiftTo: math.Inf(-1)}
	p.build = v.BuildMin + (v.BuildMax-v.BuildMin)*rng.Float64()
	p.shape = shape(rng.IntN(int(shapes)))
	if opt.Power > 0 {
		p.factor = math.Max(0.5, 1+opt.Power*rng.NormFloat64())
	}
	if opt.Build > 0 {
		p.build = math.Max(0, p.build+opt.Build*rng.NormFloat64())
	}
	for _, g := range v.Gears {
		p.shifts = append(p.shifts, g.ShiftMin+(g.ShiftMax-g.ShiftMin)*rng.Float64())
	}
	for i := range p.spinF {
		p.spinF[i] = 2 * math.Pi * (2 + 5*rng.Float64())
		p.spinP[i] = 2 * math.Pi * rng.Float64()
	}
	inertia, rho := v.Inertia, road.AirDensity
	if inertia == 0 {
		inertia = 1
	}
	if rho == 0 {
		rho = 1.225
	}
	p.effective = v.Mass * inertia
	p.drag = 0.5 * rho * v.DragArea
	slope := math.Atan(road.Grade)
	p.roll = v.Rolling * v.Mass * unit.GravityStandard * math.Cos(slope)
	p.hill = v.Mass * unit.GravityStandard * math.Sin(slope)
	return p
}

// capability is the steady thrust at the wheels in the given gear, in newtons.
func (p *push) capability(v float64, gear int) float64 {
	most := p.Grip
	if most == 0 {
		most = 1.2 * unit.GravityStandard * p.Mass
		if p.Force > most {
			most = 2 * p.Force
		}
	}
	through := p.factor * (1 - p.Loss)
	if p.Force > 0 {
		f := p.Force
		if v < p.ConverterSpeed {
			f *= 1 + p.Converter*(1-v/p.ConverterSpeed)
		}
		if gear > 0 {
			f *= p.Gears[gear-1].Ratio
		}
		if f > 0 {
			most = math.Min(most, f*through)
		}
	}
	if p.Power > 0 && v > 0 {
		w := p.Power * through
		if gear > 0 && p.Sag > 0 { // recovers towards the next shift
			lo := p.Gears[gear-1].UpSpeed
			hi := 1.45 * lo
			if gear < len(p.Gears) {
				hi = p.Gears[gear].UpSpeed
			}
			x := math.Max(0, 1-(v-lo)/(hi-lo))
			w *= 1 - p.Sag*x*x
		}
		if p.FadeSpeed > 0 && v > p.FadeSpeed {
			w *= p.FadeSpeed / v
		}
		most = math.Min(most, w/v)
	}
	return most
}

// thrust is the force at the wheels t seconds after the pedal, in newtons.
func (p *push) thrust(t, v float64) float64 {
	gear, f := p.gear, 1.0
	if t < p.shiftTo {
		x := (t - p.shiftAt) / (p.shiftTo - p.shiftAt)
		if x < 0.5 {
			gear-- // the old gear still carries
		}
		f = 1 - p.Gears[p.gear-1].Depth*dip(x)
	}
	f *= p.capability(v, gear) * p.shape.rise(t, p.build)
	if p.Spin > 0 && v < p.SpinSpeed {
		w := 0.0
		for i := range p.spinF {
			w += math.Sin(p.spinF[i]*t + p.spinP[i])
		}
		f *= 1 + p.Spin*w/math.Sqrt(1.5)*math.Min(1, 4*(1-v/p.SpinSpeed))*math.Min(1, v)
	}
	if p.liftFor > 0 && t > p.liftAt && t < p.liftAt+p.liftFor {
		d := dip((t - p.liftAt) / p.liftFor)
		f = f*(1-d) - d*0.5*p.Mass // overrun of 0.5 m/s²
	}
	return f
}

// dip is a window that falls in the first fifth, stays and comes back in the
// last two fifths.
func dip(x float64) float64 {
	switch {
	case x <= 0 || x >= 1:
		return 0
	case x < 0.2:
		return 0.5 - 0.5*math.Cos(math.Pi*x/0.2)
	case x > 0.6:
		return 0.5 + 0.5*math.Cos(math.Pi*(x-0.6)/0.4)
	}
	return 1
}

// accel is the acceleration t seconds after the pedal, in m/s².
func (p *push) accel(t, v float64) float64 {
	air := v + p.road.HeadWind
	return (p.thrust(t, v) - p.drag*air*math.Abs(air) - p.roll - p.hill) / p.effective
}

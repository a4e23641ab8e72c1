package synth

import (
	"cmp"
	"math"
	"math/rand/v2"

	"fromrest/pkg/unit"
)

// How thrust behaves (assumed).
const (
	timeConstants = 3    // of a first-order build-up, in the time it is said to take
	leastFactor   = 0.5  // of force and power, whatever is drawn
	usualGrip     = 1.2  // g, of a vehicle for which nothing limits thrust
	lastGear      = 1.45 // times its lowest speed, where the last gear has recovered from a shift
	overrun       = 0.5  // m/s², while the driver lifts
	spinSlowest   = 2    // Hz, of the fluctuation while wheels spin
	spinSpan      = 5    // Hz more at most
	spinFade      = 4    // the last quarter of the speeds at which they spin
	dipEnds       = 0.2  // of a shift, when thrust has gone
	dipBack       = 0.6  // of a shift, when it comes back
)

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
		return 1 - math.Exp(-timeConstants*t/dur)
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
		p.factor = max(leastFactor, 1+opt.Power*rng.NormFloat64())
	}
	if opt.Build > 0 {
		p.build = max(0, p.build+opt.Build*rng.NormFloat64())
	}
	for _, g := range v.Gears {
		p.shifts = append(p.shifts, g.ShiftMin+(g.ShiftMax-g.ShiftMin)*rng.Float64())
	}
	for i := range p.spinF {
		p.spinF[i] = 2 * math.Pi * (spinSlowest + spinSpan*rng.Float64())
		p.spinP[i] = 2 * math.Pi * rng.Float64()
	}
	p.effective = v.Mass * cmp.Or(v.Inertia, 1)
	p.drag = 0.5 * cmp.Or(road.AirDensity, unit.AirDensityStandard) * v.DragArea
	slope := math.Atan(road.Grade)
	p.roll = v.Rolling * v.Mass * unit.GravityStandard * math.Cos(slope)
	p.hill = v.Mass * unit.GravityStandard * math.Sin(slope)
	return p
}

// capability is the steady thrust at the wheels in the given gear, in newtons.
func (p *push) capability(v float64, gear int) float64 {
	most := p.Grip
	if most == 0 {
		most = usualGrip * unit.GravityStandard * p.Mass
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
			most = min(most, f*through)
		}
	}
	if p.Power > 0 && v > 0 {
		w := p.Power * through
		if gear > 0 && p.Sag > 0 { // recovers towards the next shift
			lo := p.Gears[gear-1].UpSpeed
			hi := lastGear * lo
			if gear < len(p.Gears) {
				hi = p.Gears[gear].UpSpeed
			}
			x := max(0, 1-(v-lo)/(hi-lo))
			w *= 1 - p.Sag*x*x
		}
		if p.FadeSpeed > 0 && v > p.FadeSpeed {
			w *= p.FadeSpeed / v
		}
		most = min(most, w/v)
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
		f *= 1 + p.Spin*w/math.Sqrt(float64(len(p.spinF))/2)*min(1, spinFade*(1-v/p.SpinSpeed))*min(1, v)
	}
	if p.liftFor > 0 && t > p.liftAt && t < p.liftAt+p.liftFor {
		d := dip((t - p.liftAt) / p.liftFor)
		f = f*(1-d) - d*overrun*p.Mass
	}
	return f
}

// dip is a window that falls in the first fifth, stays and comes back in the
// last two fifths.
func dip(x float64) float64 {
	switch {
	case x <= 0 || x >= 1:
		return 0
	case x < dipEnds:
		return 0.5 - 0.5*math.Cos(math.Pi*x/dipEnds)
	case x > dipBack:
		return 0.5 + 0.5*math.Cos(math.Pi*(x-dipBack)/(1-dipBack))
	}
	return 1
}

// accel is the acceleration t seconds after the pedal, in m/s².
func (p *push) accel(t, v float64) float64 { return p.net(p.thrust(t, v), v) }

// net is the acceleration under a thrust in N at v m/s, in m/s².
func (p *push) net(thrust, v float64) float64 {
	air := v + p.road.HeadWind
	return (thrust - p.drag*air*math.Abs(air) - p.roll - p.hill) / p.effective
}

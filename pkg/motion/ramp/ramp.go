package ramp

import "math"

// Shape is how thrust builds up after the launch, as a share of its full value
// against u, the time since the launch over the build-up time.
type Shape int

// The shapes.
const (
	Linear Shape = iota
	Cosine       // half a cosine without the foot that rolling resistance holds
	Lag          // first order, 95 % at u = 1
	numShapes
	Square = numShapes // of brakes let go: the square of u
)

// r is the share of full thrust at u, r1 its integral and r2 the integral of
// that, all from 0; u is not negative.
func (sh Shape) r(u float64) (r, r1, r2 float64) {
	switch {
	case sh == Lag:
		e := math.Exp(-3 * u)
		return 1 - e, u - (1-e)/3, u*u/2 - u/3 + (1-e)/9
	case sh == Square && u < 1:
		return u * u, u * u * u / 3, u * u * u * u / 12
	case sh == Square:
		return 1, u - 2.0/3, 1.0/12 + (u-1)/3 + (u-1)*(u-1)/2
	case sh == Cosine:
		r, r1, r2 = halfCosine(u + heldUntil)
		return (r - heldShare) / (1 - heldShare), (r1 - held1 - heldShare*u) / (1 - heldShare),
			(r2 - held2 - held1*u - heldShare*u*u/2) / (1 - heldShare)
	case u >= 1:
		return 1, u - 0.5, 1.0/6 + (u-1)/2 + (u-1)*(u-1)/2
	}
	return u, u * u / 2, u * u * u / 6
}

// heldUntil is where the half cosine reaches heldShare; held1 and held2 are its
// integrals there.
var (
	heldUntil       = math.Acos(1-2*heldShare) / math.Pi
	_, held1, held2 = halfCosine(heldUntil)
)

// halfCosine is a half cosine from 0 to 1 over u from 0 to 1, its integral, and
// the integral of that.
func halfCosine(u float64) (r, r1, r2 float64) {
	if u >= 1 {
		return 1, u - 0.5, 0.25 - 1/(math.Pi*math.Pi) + (u-1)/2 + (u-1)*(u-1)/2
	}
	c, s := math.Cos(math.Pi*u), math.Sin(math.Pi*u)
	return (1 - c) / 2, u/2 - s/(2*math.Pi), u*u/4 + (c-1)/(2*math.Pi*math.Pi)
}

// delay is how much later, as a share of the build-up time, a step would have to
// come to give the same speed afterwards.
func (sh Shape) delay() float64 {
	switch sh {
	case Lag:
		return 1.0 / 3
	case Square:
		return 2.0 / 3
	case Cosine:
		return (0.5 - heldUntil + held1) / (1 - heldShare)
	}
	return 0.5
}

// Ramp is one way of building up thrust.
type Ramp struct {
	Shape Shape
	Tau   float64 // s, build-up time; 0 is a step
}

// All are the build-ups that are tried: a step, then every shape with every time.
var All = all()

func all() []Ramp {
	out := []Ramp{{Linear, 0}}
	for sh := range numShapes {
		for _, tau := range taus {
			out = append(out, Ramp{sh, tau})
		}
	}
	return out
}

// column is the place of a ramp's time among those tried, 0 for the step.
func column(i int) int {
	if i == 0 {
		return 0
	}
	return 1 + (i-1)%len(taus)
}

// Every reports whether ramp i of All is among every n-th of each shape.
func Every(i, n int) bool { return column(i)%n == 0 }

// Over is the time in s after which the ramp no longer changes acceleration.
func (rp Ramp) Over() float64 {
	if rp.Shape == Lag {
		return lagOver * rp.Tau
	}
	return rp.Tau
}

// Delay is by how many s a step would have to come later to give the same speed
// afterwards.
func (rp Ramp) Delay() float64 { return rp.Shape.delay() * rp.Tau }

// Gains are what one unit of full thrust adds to distance, speed and
// acceleration between two times since the launch, beyond what the speed and
// acceleration at the first already carry forward.
func (rp Ramp) Gains(t1, t2 float64) (gs, gv, ga float64) {
	dt := t2 - t1
	if rp.Tau <= 0 {
		if t1 <= 0 {
			return dt * dt / 2, dt, 1
		}
		return 0, 0, 0
	}
	a, a1, a2 := rp.Shape.r(t1 / rp.Tau)
	b, b1, b2 := rp.Shape.r(t2 / rp.Tau)
	gs = rp.Tau*rp.Tau*(b2-a2) - rp.Tau*a1*dt - a*dt*dt/2
	gv = rp.Tau*(b1-a1) - a*dt
	return gs, gv, b - a
}

// Response is the speed and the acceleration that one unit of full thrust has given a
// time after the launch.
func (rp Ramp) Response(t float64) (v, a float64) {
	if rp.Tau <= 0 {
		return t, 1
	}
	r, r1, _ := rp.Shape.r(t / rp.Tau)
	return rp.Tau * r1, r
}

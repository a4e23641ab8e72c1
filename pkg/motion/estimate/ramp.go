package estimate

import "math"

// shape is how thrust builds up after the launch, as a share of its full value
// against u, the time since the launch over the build-up time.
type shape int

const (
	linear shape = iota
	cosine       // half a cosine without the foot that rolling resistance holds
	lag          // first order, 95 % at u = 1
	numShapes
)

// r is the share of full thrust at u, r1 its integral and r2 the integral of
// that, all from 0; u is not negative.
func (sh shape) r(u float64) (r, r1, r2 float64) {
	switch {
	case sh == lag:
		e := math.Exp(-3 * u)
		return 1 - e, u - (1-e)/3, u*u/2 - u/3 + (1-e)/9
	case sh == cosine:
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
func (sh shape) delay() float64 {
	switch sh {
	case lag:
		return 1.0 / 3
	case cosine:
		return (0.5 - heldUntil + held1) / (1 - heldShare)
	}
	return 0.5
}

// ramp is one hypothesis of the build-up.
type ramp struct {
	shape shape
	tau   float64 // s, build-up time; 0 is a step
}

// over is the build-up after which the ramp no longer changes acceleration.
func (rp ramp) over() float64 {
	if rp.shape == lag {
		return lagOver * rp.tau
	}
	return rp.tau
}

// gains are what one unit of full thrust adds to distance, speed and
// acceleration between two times since the launch, beyond what the speed and
// acceleration at the first already carry forward.
func (rp ramp) gains(t1, t2 float64) (gs, gv, ga float64) {
	dt := t2 - t1
	if rp.tau <= 0 {
		if t1 <= 0 {
			return dt * dt / 2, dt, 1
		}
		return 0, 0, 0
	}
	a, a1, a2 := rp.shape.r(t1 / rp.tau)
	b, b1, b2 := rp.shape.r(t2 / rp.tau)
	gs = rp.tau*rp.tau*(b2-a2) - rp.tau*a1*dt - a*dt*dt/2
	gv = rp.tau*(b1-a1) - a*dt
	return gs, gv, b - a
}

// response is the speed and the acceleration that one unit of full thrust has given a
// time after the launch.
func (rp ramp) response(t float64) (v, a float64) {
	if rp.tau <= 0 {
		return t, 1
	}
	r, r1, _ := rp.shape.r(t / rp.tau)
	return rp.tau * r1, r
}

// tauPrior weighs the build-up times before the data speak: even in the logarithm from
// the quickest powertrain to a foot that feeds thrust in over seconds, since a mode, a
// driver or a trailer shifts it by a factor and not by a sum. A step has a weight of its
// own.
var tauPrior = tauWeights()

// tauWeights is each build-up time's share of the logarithms between leastTau and
// mostTau that lie nearer to it than to the next ones.
func tauWeights() []float64 {
	w := make([]float64, len(taus))
	w[0] = stepShare
	whole := math.Log(mostTau / leastTau)
	for i := 1; i < len(taus); i++ {
		lo, hi := leastTau, mostTau
		if i > 1 {
			lo = math.Sqrt(taus[i-1] * taus[i])
		}
		if i+1 < len(taus) {
			hi = math.Sqrt(taus[i] * taus[i+1])
		}
		w[i] = (1 - stepShare) * math.Log(hi/lo) / whole
	}
	return w
}

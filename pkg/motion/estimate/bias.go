package estimate

import (
	"math"

	"fromrest/pkg/motion/kalman"
)

// stillBias is what the accelerometer's readings up to one of them tell of its
// bias with the vehicle at rest, and their log-likelihood.
type stillBias struct{ t, mean, v, ll float64 }

// restBias filters the bias under no motion.
func (so *solver) restBias() {
	if so.acc == nil {
		return
	}
	so.still = so.still[:0]
	b := stillBias{t: so.t[0], v: so.s.Accel.biasVariance()}
	for i := range so.acc {
		a := &so.acc[i]
		b.v += so.walk * max(a.t-b.t, 0)
		b.t = a.t
		if !a.bad {
			s := b.v + so.rv/a.n
			d := a.a - b.mean
			b.ll -= 0.5 * (math.Log(2*math.Pi*s) + d*d/s)
			b.mean += b.v / s * d
			b.v *= 1 - b.v/s
		}
		so.still = append(so.still, b)
	}
}

// pushesBefore is what the accelerometer told at rest before node k0.
func (so *solver) pushesBefore(k0 int) stillBias {
	if so.acc == nil {
		return stillBias{}
	}
	if i := before(so.am, k0); i >= 0 {
		return so.still[i]
	}
	return stillBias{t: so.t[0], v: so.s.Accel.biasVariance()}
}

// biasAt puts the bias at an instant at rest into the state.
func (so *solver) biasAt(t float64, k0 int, x *kalman.Vec, p *kalman.Mat) {
	if so.acc == nil {
		return
	}
	b := so.pushesBefore(k0)
	x[stB], p[stB][stB] = b.mean, b.v+so.walk*max(t-b.t, 0)
}

// wander fits the intensity of the bias's walk under way.
func (so *solver) wander(k0 int) {
	if so.acc == nil {
		return
	}
	up, down := 0.0, 0.0
	for a := k0 + 1; a < len(so.t); {
		qs, ns, g, n := 0.0, 0.0, 0.0, 0.0
		b := a
		for ; b < len(so.t) && so.t[b] < so.t[a]+walkBlock; b++ {
			nd := &so.node[b]
			r, nn := nd.Score()
			q := nd.Q[stB][stB]
			g += q * (r[stB]*r[stB] - nn[stB][stB])
			qs += q
			ns += nn[stB][stB]
			n++
		}
		up += g
		down += (qs * ns / n) * (qs * ns / n)
		a = b
	}
	up -= math.Log(so.walk/(biasWalk*biasWalk)) / (walkSpread * walkSpread)
	down += 1 / (walkSpread * walkSpread)
	w := so.walk * math.Exp(min(max(up/down, -maxStep), maxStep))
	so.walk = min(max(w, biasWalk*biasWalk), mostWalk*mostWalk)
}

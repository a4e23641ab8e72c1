package estimate

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/kalman"
)

// What an accelerometer senses besides the motion: a bias that wanders, and
// vibration.

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

// shake fits the variance of an accelerometer's sample under way, by one step of
// Fisher scoring on its logarithm; how it changes along the run is told by the
// samples' own roughness.
func (so *solver) shake(k0 int) {
	if so.acc == nil {
		return
	}
	slope, info := 0.0, 0.0
	for k := k0; k < len(so.t); k++ {
		if so.am[k] < 0 || !so.node[k].Has {
			continue
		}
		g, i := so.node[k].ObsScore()
		r := so.node[k].Obs.R
		slope += r * g
		info += r * r * i
	}
	if info <= 0 {
		return
	}
	told := so.told(so.t[k0])
	so.av = so.av * math.Exp(min(max(slope/info, -maxShake), maxShake))
	so.av = min(max(so.av, leastShake*told), shakeRange*told)
	so.spread(so.t[k0])
}

// told is the variance of a sample under way that the log tells for this run: its
// usual one in proportion to the roughness.
func (so *solver) told(launch float64) float64 {
	sum, n := 0.0, 0.0
	for i := range so.acc {
		if a := &so.acc[i]; a.t > launch {
			sum, n = sum+a.rough, n+1
		}
	}
	v := so.s.Accel.startVariance()
	if usual := so.s.Accel.usual; sum > 0 && usual > 0 {
		v *= sum / n / usual
	}
	return v
}

// spread gives every reading its variance: along the run in proportion to the
// samples' roughness. Up to the build-up it does not change, and is no less than
// at rest, or the launch would be found where the vibration changes.
func (so *solver) spread(launch float64) {
	sum, n, first, m := 0.0, 0.0, 0.0, 0.0
	for i := range so.acc {
		switch a := &so.acc[i]; {
		case a.t > launch+settle:
			sum, n = sum+a.rough, n+1
		case a.t > launch:
			first, m = first+a.rough, m+1
		}
	}
	if sum <= 0 || n == 0 {
		sum, n = 1, 1
	}
	mean := (sum + first) / (n + m)
	so.rv = so.idle
	if m > 0 {
		so.rv = max(so.idle, so.av*max(first/m/mean, leastRoughness))
	}
	for i := range so.acc {
		a := &so.acc[i]
		if a.v = so.rv; a.t > launch+settle {
			a.v = so.av * max(a.rough/mean, leastRoughness)
		}
	}
	so.weighPushes()
}

// weighPushes sets the readings' variances.
func (so *solver) weighPushes() {
	for k, i := range so.am {
		if i >= 0 {
			so.node[k].Obs.R = so.acc[i].v / so.acc[i].n
		}
	}
}

// settlePushes gives all readings the variance to start from, and finds that of
// the standstill on the readings before the given instant: an engine may run
// rougher before this launch than at rest elsewhere.
func (so *solver) settlePushes(until float64) {
	so.av = so.s.Accel.startVariance()
	var still []push
	for i := range so.acc {
		a := &so.acc[i]
		a.v = so.av
		if a.t < until && !a.bad {
			still = append(still, *a)
		}
	}
	so.idle = 0
	if r := so.s.Accel.Rest; r > 0 {
		so.idle = r * r * so.s.Accel.widen()
	}
	if len(still) > leastStills {
		off := make([]float64, len(still))
		for i, a := range still {
			off[i] = a.a
		}
		mid := median(off)
		for i, a := range still {
			off[i] = math.Abs(a.a-mid) * math.Sqrt(a.n)
		}
		sd := motion.SDOfMedian * median(off)
		so.idle = max(so.idle, sd*sd)
	}
	so.rv = max(so.idle, so.av)
}

package estimate

import (
	"math"
	"sort"

	"fromrest/pkg/motion/kalman"
)

// Of the launch and the adaptation with an accelerometer.
const (
	// spanFused is searchSpan with an accelerometer, which sees the build-up.
	spanFused = 1.0 // s
	// leastOffset is the clock uncertainty below which it is not integrated over.
	leastOffset = 0.5e-3 // s
	// settle is how long after the launch thrust is taken to have built up, in s;
	// thrustShare and leastThrust make the standard deviation of the full thrust
	// about what is seen then.
	settle      = 0.5
	thrustShare = 0.3
	leastThrust = 0.3 // m/s²
	// launchQ is the least jerk intensity then, in m²/s⁵: no thrust builds up in
	// exactly one of the shapes.
	launchQ = 0.5
	// roundsFused is rounds with an accelerometer, whose score tells less in one
	// step; memoryTimes is memory in time constants.
	roundsFused = 10
	memoryTimes = 2.5
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
	if so.acc != nil {
		for k := k0 - 1; k >= 0; k-- {
			if i := so.am[k]; i >= 0 {
				return so.still[i]
			}
		}
		return stillBias{t: so.t[0], v: so.s.Accel.biasVariance()}
	}
	return stillBias{}
}

// biasAt puts the bias at an instant at rest into the state.
func (so *solver) biasAt(t float64, k0 int, x *kalman.Vec, p *kalman.Mat) {
	if so.acc == nil {
		return
	}
	b := so.pushesBefore(k0)
	x[stB], p[stB][stB] = b.mean, b.v+so.walk*max(t-b.t, 0)
}

// fine is where an accelerometer is read closely: from before the search for the
// launch to after the build-up.
func (s *Samples) fine(w Window) (from, to float64) {
	moving := s.T[w.Moving]
	if w.Reversed {
		moving = -moving
	}
	if !w.Standing {
		return moving, moving
	}
	return moving - s.searchBack() - 0.1, moving + spanFused + 0.2
}

// span is how much of the run after the launch decides on the launch.
func (so *solver) span() float64 {
	if so.acc != nil {
		return spanFused
	}
	return searchSpan
}

// moved is the solver with the accelerometer's clock moved, with everything that
// was adapted.
func (so *solver) moved(by float64, h hypothesis) *solver {
	m := newSolver(so.s, so.rd, so.move(by), 0)
	for i := range m.acc {
		like := &so.acc[min(i, len(so.acc)-1)]
		m.acc[i].bad, m.acc[i].v = m.acc[i].bad || like.bad, like.v
	}
	m.sd, m.av, m.rv, m.idle, m.clock, m.walk = so.sd, so.av, so.rv, so.idle, so.clock, so.walk
	m.thrust, m.thrustV = so.thrust, so.thrustV
	for k, t := range m.t {
		m.q[k] = so.q[min(so.first(t-1e-9), len(so.q)-1)]
	}
	m.weighPushes()
	m.prepare(0, len(m.t))
	m.atRest()
	h.launch += by
	if k0 := m.run(h); k0 < len(m.t) {
		m.instants(k0)
	}
	return m
}

// overOffset integrates the hypotheses over what is not known of the clock offset,
// at three Gauss-Hermite points. The offset was found from the whole log, so
// the points' weights are fixed and not scored again on this run.
func (so *solver) overOffset(hs []hypothesis, guess, width float64) []hypothesis {
	if so.acc == nil || len(hs) == 0 {
		return hs
	}
	best := hs[0]
	u := so.s.Accel.offsetU(math.Abs(best.launch)) // negative in a reversed window
	if u < leastOffset {
		return hs
	}
	var out []hypothesis
	for j, z := range [3]float64{0, -math.Sqrt(3), math.Sqrt(3)} {
		part := hs
		if j > 0 {
			by := z * u
			part = so.moved(by, best).posterior(guess+by, width, 1)
		}
		for _, h := range part {
			h.weight *= [3]float64{2.0 / 3, 1.0 / 6, 1.0 / 6}[j]
			out = append(out, h)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].weight > out[j].weight })
	sum := 0.0
	for _, h := range out {
		sum += h.weight
	}
	return prune(out, sum)
}

// settleLaunch keeps the launch to the build-up's shapes: an accelerometer is so
// fine that the jerk, if free to stand in for the build-up, lets any earlier
// instant pass for the launch. The full thrust is told by what follows.
func (so *solver) settleLaunch(k0 int, common float64) {
	t0 := so.t[k0]
	sum, n := 0.0, 0.0
	for k := 0; k < len(so.t) && so.t[k] < t0+settle; k++ {
		so.q[k] = max(min(so.q[k], common), launchQ)
		if k > k0 && so.t[k] > t0+settle/2 {
			sum += so.node[k].Mean()[stA]
			n++
		}
	}
	if n > 0 {
		so.thrust = sum / n
		u := thrustShare*so.thrust + leastThrust
		so.thrustV = u * u
	}
}

// memory is the share of a block over which the jerk's score stays the same: an
// accelerometer tells acceleration anew within the time in which jerk of
// intensity q outgrows its noise.
func (so *solver) memory(q float64) float64 {
	if so.acc == nil {
		return 1
	}
	return min(memoryTimes*math.Sqrt(so.av/so.s.Accel.Rate/q)/block, 1)
}

// rounds is how many rounds of scoring are made.
func (so *solver) rounds() int {
	if so.acc != nil {
		return roundsFused
	}
	return rounds
}

// firstQ is the jerk intensity that adaptation starts from.
func (so *solver) firstQ() float64 {
	if so.acc != nil {
		return searchQ
	}
	return startQ
}

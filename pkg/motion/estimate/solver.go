package estimate

import (
	"math"
	"sort"

	"fromrest/pkg/motion/kalman"
	"fromrest/pkg/motion/ramp"
)

// solver holds the nodes of one run and reuses them for every hypothesis.
type solver struct {
	s    *Samples
	pace pace
	rd   []reading
	acc  []push                  // accelerometer's readings, nil without one
	move func(by float64) []push // the same with its clock moved
	// until is the instant up to which there is nothing but the standstill.
	until     float64
	backwards bool // the clock runs the other way

	t    []float64 // node times
	at   []int     // reading of a node, -1 for none
	am   []int     // accelerometer's reading of a node, -1 for none
	node []kalman.Node
	mean []kalman.Vec // of the path that was asked for last

	evidence ramp.Evidence // of the launch found

	sd    float64   // m/s
	q     []float64 // m²/s⁵, jerk intensity of the step into each node
	rho   []float64 // noise correlation over the step into each node
	more  []float64 // m²/s², variance of the reading at a node beside that at rest
	clock float64   // s², variance of the instants of the samples, found in the run
	walk  float64   // m²/s⁵, intensity of the accelerometer's wandering bias
	idle  float64   // m²/s⁴, variance of one accelerometer sample in this standstill
	rv    float64   // m²/s⁴, the same as used up to the build-up
	av    float64   // m²/s⁴, variance of one accelerometer sample

	thrust, thrustV float64 // m/s² and its variance, prior of the full thrust

	rest   []float64   // rest[i]: log-likelihood of readings 0..i-1 with the vehicle at rest
	still  []stillBias // the same of the accelerometer's readings 0..i
	ramped stretch     // nodes whose steps hold a hypothesis' ramp
}

// pace is how much of the run after the launch decides on the launch, in s, and
// how the jerk is adapted: from what intensity on, in m²/s⁵, and in how many
// rounds.
type pace struct {
	span, firstQ float64
	rounds       int
}

func newSolver(s *Samples, rd []reading, acc []push, until float64) *solver {
	so := &solver{s: s, pace: pace{searchSpan, startQ, rounds}, rd: rd, sd: s.SD, acc: acc, until: until, thrust: usualThrust, thrustV: usualThrustU * usualThrustU}
	so.t, so.at, so.am = grid(rd, acc, until+closeFor)
	if acc != nil {
		so.pace = pace{spanFused, searchQ, roundsFused}
		so.settlePushes(until)
		so.walk = biasWalk * biasWalk
	}
	so.q = make([]float64, len(so.t))
	so.rho = make([]float64, len(so.t))
	so.more = make([]float64, len(so.t))
	so.node = make([]kalman.Node, len(so.t))
	for k := range so.t {
		so.q[k] = searchQ
		dt := so.s.Step
		if k > 0 {
			dt = so.t[k] - so.t[k-1]
		}
		so.rho[k] = so.corr(dt)
		if k > 0 {
			so.more[k] = so.more[k-1]
		}
		if i := so.at[k]; i >= 0 {
			so.more[k] = rd[i].more
			n := &so.node[k]
			n.Obs.H[stV], n.Obs.H[stE] = 1, 1
			n.Obs.Y, n.Obs.R = rd[i].y, rd[i].r
			n.Has = rd[i].kind == signed || rd[i].kind == length
		}
		if i := so.am[k]; i >= 0 {
			n := &so.node[k]
			n.Obs.H[stA], n.Obs.H[stB] = 1, 1
			n.Obs.Y, n.Obs.R = acc[i].a, acc[i].v/acc[i].n
			n.Has = !acc[i].bad
		}
	}
	so.prepare(0, len(so.t))
	so.atRest()
	return so
}

// corr is the correlation of the sample noise over dt seconds.
func (so *solver) corr(dt float64) float64 {
	if so.s.Rho <= 0 || dt <= 0 {
		return 0
	}
	return math.Pow(so.s.Rho, dt/so.s.Step)
}

// prepare sets the template steps into nodes from..to-1.
func (so *solver) prepare(from, to int) {
	for k := from; k < to; k++ {
		dt := 0.0
		if k > 0 {
			dt = so.t[k] - so.t[k-1]
		}
		so.process(&so.node[k], dt, so.q[k], so.rho[k], so.more[k])
	}
}

// atRest accumulates the likelihood of the readings under no motion.
func (so *solver) atRest() {
	so.rest = make([]float64, len(so.rd)+1)
	v := so.sd * so.sd
	prev := -1
	for i := range so.rd {
		rd := &so.rd[i]
		ll := 0.0
		switch rd.kind {
		case signed:
			m, va := 0.0, v
			if prev >= 0 {
				c := so.corr(rd.t - so.rd[prev].t)
				m, va = c*so.rd[prev].y, v*(1-c*c)
			}
			va += rd.r
			ll = -0.5 * (math.Log(2*math.Pi*va) + (rd.y-m)*(rd.y-m)/va)
			prev = i
		case length:
			// Rayleigh; a step of the printed value keeps its logarithm finite.
			z := max(rd.z, so.s.Quantum/2, leastLength*so.sd)
			ll = math.Log(z/v) - z*z/(2*v)
			prev = -1
		}
		so.rest[i+1] = so.rest[i] + ll
	}
	so.restBias()
}

// hypothesis is a launch instant with a way of building up thrust and of showing it.
type hypothesis struct {
	ramp.Seen
	index  int     // in ramp.All, and as many more for every filter before its own
	launch float64 // s, mean
	sd     float64 // s, its standard deviation
	weight float64 // probability
	ll     float64 // log of the integral of the likelihood over the launch instant
	of     *solver // whose nodes it is about
}

// first is the first node after an instant.
func (so *solver) first(t float64) int { return firstAfter(so.t, t) }

// firstAfter is the first of rising instants after another.
func firstAfter(ts []float64, t float64) int {
	return sort.Search(len(ts), func(k int) bool { return ts[k] > t })
}

// set puts a hypothesis' launch and ramp into the nodes and returns the first
// node under way, with the prior mean and covariance at the launch.
func (so *solver) set(h hypothesis) (k0 int, x kalman.Vec, p kalman.Mat) {
	begin := h.launch - h.Lead()
	k0 = so.first(begin)
	so.prepare(so.ramped.from, so.ramped.to) // undo the previous ramp
	so.ramped = stretch{k0, k0}
	if k0 >= len(so.t) {
		return k0, x, p
	}
	x[stG], p[stG][stG] = so.thrust, so.thrustV
	so.noiseAt(begin, k0, &x, &p)
	so.biasAt(begin, k0, &x, &p)
	prev := begin
	for k := k0; k < len(so.t); k++ {
		n := &so.node[k]
		dt := so.t[k] - prev
		switch {
		case so.t[k] <= h.launch:
			so.process(n, dt, 0, so.corr(dt), so.more[k])
		case k == k0:
			so.process(n, dt, so.q[k], so.corr(dt), so.more[k])
		}
		gs, gv, ga := h.Gains(prev-h.launch, so.t[k]-h.launch)
		n.F.Set(stS, stG, gs)
		n.F.Set(stV, stG, gv)
		n.F.Set(stA, stG, ga)
		prev = so.t[k]
		so.ramped.to = k + 1
		if prev-h.launch > h.Over() {
			break
		}
	}
	return k0, x, p
}

// noiseAt is the state of the sample noise at an instant at rest: what the last
// reading showed was all noise.
func (so *solver) noiseAt(t float64, k0 int, x *kalman.Vec, p *kalman.Mat) {
	p[stE][stE] = so.sd * so.sd
	i := before(so.at, k0)
	if i < 0 || so.rd[i].kind != signed {
		return
	}
	rd := &so.rd[i]
	c := so.corr(t - rd.t)
	v := so.sd * so.sd
	g := v / (v + rd.r)
	x[stE] = c * g * rd.y
	p[stE][stE] = v * (1 - c*c*g)
}

// before is the last reading at a node before k0, -1 for none; of are the
// readings of the nodes.
func before(of []int, k0 int) int {
	for k := k0 - 1; k >= 0; k-- {
		if of[k] >= 0 {
			return of[k]
		}
	}
	return -1
}

// likelihood is the log-likelihood of all readings up to the given time.
func (so *solver) likelihood(rp *ramp.Seen, launch, until float64) float64 {
	return so.under(so.whiten(launch, rp.Lead(), until), rp)
}

// run filters and smooths all nodes under a hypothesis and returns the first
// node under way.
func (so *solver) run(h hypothesis) int {
	k0, x, p := so.set(h)
	kalman.Filter(so.node[k0:], x, p)
	kalman.Smooth(so.node[k0:])
	return k0
}

// runRolling filters and smooths from the first reading, with nothing known of
// the motion before it.
func (so *solver) runRolling() {
	var x kalman.Vec
	var p kalman.Mat
	x[stV] = so.rd[0].y
	p[stV][stV] = rollingSpeedU*rollingSpeedU + rollingSDs*rollingSDs*so.sd*so.sd
	p[stA][stA] = rollingAccelU * rollingAccelU
	if so.acc != nil {
		p[stB][stB] = so.s.Accel.biasVariance()
	}
	p[stE][stE] = so.sd * so.sd
	kalman.Filter(so.node, x, p)
	kalman.Smooth(so.node)
}

package estimate

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/kalman"
)

// Path is a run under one hypothesis of the launch: a normal distribution of the
// whole motion. It is valid only inside the call of Estimate.Paths.
type Path struct {
	Weight float64 // probability; the paths' weights sum to one
	Launch float64 // s on the samples' clock, the mean under the hypothesis
	SD     float64 // s, standard deviation of the launch
	Ramp   int     // in ramp.All, and as many more for every filter before its own
	so     *solver
	undo   *unfilter // how the motion follows from the states; nil where they are it
	k0     int       // first node under way
	mean   []kalman.Vec
	t      []float64
	node   []kalman.Node
	join   *join // from which on the nodes are those of another path; nil for none
	// differs is how much the covariance at the join differs from that path's.
	differs kalman.Mat
}

// Event is an instant that a path defines, such as a speed being reached. To
// first order the instant moves by the negative of G'dx when the states at its
// node move by dx.
type Event struct {
	T float64 // s on the samples' clock
	k int
	g kalman.Vec
}

// path runs a hypothesis, to the join where there is one.
func (so *solver) path(h hypothesis, rolling bool, j *join) *Path {
	p := &Path{Weight: h.weight, Launch: h.launch, SD: h.sd, Ramp: h.index, so: so, node: so.node, t: so.t, join: j}
	if so.mean == nil {
		so.mean = make([]kalman.Vec, len(p.t))
	}
	p.mean = so.mean
	end := len(p.t)
	switch {
	case rolling:
		so.runRolling()
		p.Launch = so.t[0]
	case j != nil:
		end = j.k + 1
		k0, x, v := so.set(h)
		kalman.Filter(so.node[k0:end], x, v)
		kalman.Join(so.node[k0:end], &j.ahead)
		p.k0 = k0
	default:
		p.k0 = so.run(h)
	}
	for k := p.k0; k < end; k++ {
		p.mean[k] = p.node[k].Mean()
	}
	if j != nil {
		j.onto(p)
	}
	p.unfilter(h, rolling)
	return p
}

// LaunchEvent is the launch, certain within its path.
func (p *Path) LaunchEvent() Event { return Event{T: p.Launch, k: p.k0} }

// from returns the time and state at the left end of the step into node k.
func (p *Path) from(k int) (float64, kalman.Vec) {
	if k == p.k0 {
		if k == 0 {
			return p.t[0], p.mean[0]
		}
		return p.Launch, kalman.Vec{}
	}
	return p.t[k-1], p.mean[k-1]
}

// inStep interpolates distance, speed and acceleration within the step into node
// k by the polynomials that agree with both ends.
func (p *Path) inStep(k int, t float64) (s, v, a float64) {
	t0, x0 := p.from(k)
	x1 := &p.mean[k]
	h := p.t[k] - t0
	if h <= 0 {
		return x1[stS], x1[stV], x1[stA]
	}
	u := (t - t0) / h
	a0 := x0[stA]
	if t0 == p.Launch && x0[stV] == 0 {
		// The launch may be a step: take the acceleration that fits the speed.
		a0 = 2*(x1[stV]-x0[stV])/h - x1[stA]
	}
	v = hermite(u, h, x0[stV], a0, x1[stV], x1[stA])
	s = hermite(u, h, x0[stS], x0[stV], x1[stS], x1[stV])
	a = a0 + (x1[stA]-a0)*u
	return s, v, a
}

// hermite is the cubic with the given values y and slopes d at both ends.
func hermite(u, h, y0, d0, y1, d1 float64) float64 {
	u2, u3 := u*u, u*u*u
	return y0*(2*u3-3*u2+1) + h*d0*(u3-2*u2+u) + y1*(3*u2-2*u3) + h*d1*(u3-u2)
}

// reach finds the first instant after t at which the state rises through level.
func (p *Path) reach(state int, level, after float64) (Event, bool) {
	for k := p.k0; k < len(p.t); k++ {
		if p.t[k] < after || p.mean[k][state] < level {
			continue
		}
		t0, x0 := p.from(k)
		lo, hi := max(t0, after), p.t[k]
		if x0[state] >= level && k > p.k0 {
			continue // above it before: not a rise
		}
		at := motion.Root(lo, hi, instantTol, func(t float64) float64 {
			s, v, _ := p.inStep(k, t)
			if state == stS {
				return s - level
			}
			return v - level
		})
		return p.event(k, at, state), true
	}
	return Event{}, false
}

// event builds the sensitivity of an instant at which a state meets a level.
func (p *Path) event(k int, t float64, state int) Event {
	_, v, a := p.inStep(k, t)
	rate := a
	if state == stS {
		rate = v
	}
	t0, _ := p.from(k)
	if k > p.k0 && t-t0 < p.t[k]-t {
		k--
	}
	e := Event{T: t, k: k}
	// Where the rise is all but flat the instant is not told; a floor keeps the
	// number finite and large.
	e.g[state] = 1 / max(rate, motion.FlatRise)
	e.g = p.form(k, e.g)
	return e
}

// ReachSpeed is the instant at which the speed first rises through v m/s, after
// the instant given (-Inf for the launch).
func (p *Path) ReachSpeed(v, after float64) (Event, bool) { return p.reach(stV, v, after) }

// ReachDistance is the instant at which d metres from the launch are covered.
func (p *Path) ReachDistance(d float64) (Event, bool) { return p.reach(stS, d, math.Inf(-1)) }

// At returns distance from the launch, speed and acceleration at an instant.
func (p *Path) At(t float64) (s, v, a float64) {
	if t <= p.Launch && p.Launch > p.t[0] {
		return 0, 0, 0
	}
	k := max(p.first(t), p.k0)
	if k >= len(p.t) {
		k = len(p.t) - 1
		return p.mean[k][stS], p.mean[k][stV], p.mean[k][stA]
	}
	return p.inStep(k, t)
}

// SDAt returns the standard deviations of distance, speed and acceleration at the
// node nearest to an instant.
func (p *Path) SDAt(t float64) (s, v, a float64) {
	if t <= p.Launch && p.Launch > p.t[0] {
		return 0, 0, 0
	}
	k := min(max(p.first(t), p.k0), len(p.t)-1)
	if k > p.k0 && t-p.t[k-1] < p.t[k]-t {
		k--
	}
	var out [stA + 1]float64
	for i := range out {
		var g kalman.Vec
		g[i] = 1
		g = p.form(k, g)
		out[i] = root(p.covariance(k, &g, &g))
	}
	return out[stS], out[stV], out[stA]
}

// covariance is that of two combinations of the states at a node.
func (p *Path) covariance(k int, g, h *kalman.Vec) float64 {
	sum := 0.0
	for i, gi := range g {
		for j, hj := range h {
			if gi != 0 && hj != 0 {
				sum += gi * hj * p.node[k].Cov(i, j)
			}
		}
	}
	if p.after(k) {
		a, b := p.join.at(k, g), p.join.at(k, h)
		sum += form(&a, &p.differs, &b)
	}
	return sum
}

// after reports whether a node lies after the join.
func (p *Path) after(k int) bool { return p.join != nil && k > p.join.k }

func root(x float64) float64 { return math.Sqrt(max(x, 0)) }

// Between returns the variance of the time from an earlier event to later ones,
// in s², in the order given; the later events must be sorted by time.
func (p *Path) Between(from Event, to []Event) []float64 {
	out := make([]float64, len(to))
	if from.g == (kalman.Vec{}) {
		for i, e := range to {
			out[i] = p.variance(e)
		}
		return out
	}
	v0 := p.variance(from)
	c := kalman.StartCarry(&p.node[from.k], &from.g)
	k := from.k
	var atJoin kalman.Vec // covariances with the states there
	for i, e := range to {
		cov := 0.0
		if p.after(e.k) && !p.after(from.k) {
			for ; k < p.join.k; k++ {
				c.Step(&p.node[k], &p.node[k+1])
			}
			if atJoin == (kalman.Vec{}) {
				atJoin = c.All(&p.node[k])
			}
			w := p.join.at(e.k, &e.g)
			for s := range w {
				cov += w[s] * atJoin[s]
			}
		} else {
			for ; k < e.k; k++ {
				c.Step(&p.node[k], &p.node[k+1])
			}
			cov = c.Cov(&p.node[k], &e.g)
			if p.after(from.k) {
				a, b := p.join.at(from.k, &from.g), p.join.at(e.k, &e.g)
				cov += form(&a, &p.differs, &b)
			}
		}
		out[i] = max(v0+p.variance(e)-2*cov, 0)
	}
	return out
}

// variance is the variance of an event's instant within the path, in s².
func (p *Path) variance(e Event) float64 {
	return max(p.covariance(e.k, &e.g, &e.g), 0)
}

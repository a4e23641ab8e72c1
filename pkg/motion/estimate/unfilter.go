package estimate

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/kalman"
	"fromrest/pkg/motion/ramp"
)

// unfilter is how the motion follows from what a receiver that smooths shows of it.
//
// Behind a filter of the first order, what is shown and tau times its rate of change make
// up the motion, exactly: v = y + tau y', and its integral for the distance. Any other
// filter shows a steady pull late by its delay; what the launch is shown otherwise is known
// for each unit of its thrust, which is one of the states.
//
// Either way distance, speed and acceleration are a linear form of the states at a node,
// at the node's instant less the delay.
type unfilter struct {
	seen   ramp.Seen
	launch float64 // s; NaN where there is none
	tau    float64 // s, of the form; 0 for a filter of another kind
	late   float64 // s, by which the instants are put back
}

// unfiltered is how a hypothesis' motion follows from its states; nil where they are it.
func (h *hypothesis) unfiltered(rolling bool) *unfilter {
	if !h.Filtered() {
		return nil
	}
	u := &unfilter{seen: h.Seen, launch: h.launch}
	if rolling {
		u.launch = math.NaN()
	}
	if late := h.Sign() * h.By.Delay(); h.By.Kind == ramp.FirstOrder {
		u.tau = late
	} else {
		u.late = late
	}
	return u
}

// thrust is how much of the thrust's state the distance, speed and acceleration at a node
// take in beside the others.
func (u *unfilter) thrust(t float64) (s, v, a float64) {
	if math.IsNaN(u.launch) {
		return 0, 0, 0
	}
	s, v, a = u.seen.Ramp.Moved(t - u.late - u.launch)
	ys, yv, ya := u.seen.Moved(t - u.launch)
	if u.tau != 0 { // exact but for the acceleration
		return 0, 0, a - ya
	}
	return s - ys, v - yv, a - ya
}

// mean turns the states at a node into those of the motion.
func (u *unfilter) mean(t float64, x *kalman.Vec) {
	s, v, a := u.thrust(t)
	x[stS] += u.tau*x[stV] + s*x[stG]
	x[stV] += u.tau*x[stA] + v*x[stG]
	x[stA] += a * x[stG]
}

// form turns a linear form of the motion at a node into one of the states.
func (u *unfilter) form(t float64, g kalman.Vec) kalman.Vec {
	s, v, a := u.thrust(t)
	g[stG] += s*g[stS] + v*g[stV] + a*g[stA]
	g[stA] += u.tau * g[stV]
	g[stV] += u.tau * g[stS]
	return g
}

// unfilter turns a path of what is shown into one of the motion.
func (p *Path) unfilter(h hypothesis, rolling bool) {
	u := h.unfiltered(rolling)
	if u == nil {
		return
	}
	p.undo = u
	for k := p.k0; k < len(p.t); k++ {
		u.mean(p.t[k], &p.mean[k])
	}
	if u.late != 0 {
		t := make([]float64, len(p.t))
		for k, x := range p.t {
			t[k] = x - u.late
		}
		p.t = t
	}
	if !rolling {
		p.k0 = max(p.k0, p.first(p.Launch))
	}
}

// first is the first node after an instant.
func (p *Path) first(t float64) int { return firstAfter(p.t, t) }

// form is a linear form of the motion at a node as one of the states.
func (p *Path) form(k int, g kalman.Vec) kalman.Vec {
	if p.undo == nil {
		return g
	}
	return p.undo.form(p.so.t[k], g)
}

// Undo takes a filter of the first order with a time constant in s out of the samples
// themselves, where an accelerometer beside them tells of the launch: a speed is what is shown
// and tau times its rate of change. Their noise grows accordingly.
func (s *Samples) Undo(tau float64) {
	v := make([]float64, len(s.Speed))
	for i := range v {
		a, b := max(i-1, 0), min(i+1, len(v)-1)
		v[i] = s.Speed[i]
		if dt := s.T[b] - s.T[a]; dt > 0 && dt < 2*motion.GapIntervals*s.Step && !s.Out[a] && !s.Out[b] {
			v[i] = max(v[i]+tau*(s.Speed[b]-s.Speed[a])/dt, 0)
		}
	}
	s.Speed = v
	x := tau / s.Step
	s.SD *= math.Sqrt(1 + x*x*(1-s.Rho*s.Rho)/2)
	s.Smoothing = Smoothing{}
}

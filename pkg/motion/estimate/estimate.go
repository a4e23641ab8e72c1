// Package estimate turns a log's speed samples into an estimate of the motion in
// each run: distance, speed and acceleration as functions of time with their
// joint uncertainty.
//
// Model. At rest the vehicle has no speed. From the launch on, acceleration is a
// thrust that builds up over a time between nothing and a second or so, in one
// of three shapes, plus integrated white jerk whose intensity is fitted in short
// blocks, so that a smooth pull is smoothed hard and a shift or a spinning wheel
// is followed. A speed sample is the along-track speed plus an error that is
// correlated from one sample to the next (first-order autoregression), with the
// variance of the printed step and of the instant on top. Launch instant,
// build-up time and shape are integrated over: the estimate is a weighted set of
// paths, each a normal distribution from a fixed-interval smoother. Samples
// that a receiver shows as 0 below its hold threshold only say that speed was
// below it.
//
// An aligned accelerometer (Samples.Accel) is a second measurement of the same
// states: its sample is the acceleration plus a bias that wanders slowly and
// begins at rest with what the standstill told of it, plus vibration whose
// variance is fitted in the run. The uncertainty of the clock offset between the
// sensors is integrated over like the launch.
//
// Limits. Speed is along the track and horizontal, as receivers report it; a
// launch backwards is seen as forwards. Below about 4 samples a second the
// build-up is not seen without an accelerometer and its prior carries the from-rest
// time. Error that all
// samples share (scale, delay) is not seen either: callers add an allowance.
//
// Sources: design notes in docs/method.md; de Jong (1988, 1989) and Durbin and
// Koopman (2012) for the smoother; GUM for combination.
package estimate

import (
	"context"
	"errors"
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// Estimate is the motion in one window of a log.
type Estimate struct {
	Launch  uncert.Value // s on the samples' clock, standard deviation beside it
	Heading float64      // degrees from true north, NaN without course
	DF      float64      // degrees of freedom of the sample noise
	Scale   float64      // relative standard uncertainty of the source's speed, shared by all samples
	Offset  float64      // m/s, standard uncertainty of a speed offset shared by all samples
	Noise   float64      // m/s, of one sample, as used
	// Blind is the standard uncertainty in s of the launch and of the rollout where
	// the source shows nothing of the first motion.
	Blind    float64
	SetAside int // samples not used in this run
	// Misfit is set for a run with an accelerometer whose estimate lies farther
	// from the speed samples than their noise explains.
	Misfit bool

	so      *solver
	hs      []hypothesis
	rolling bool
	until   float64 // s, end of the window as asked for
	reading []reading
}

// ErrNoLaunch is returned when no instant in the window can be the launch.
var ErrNoLaunch = errors.New("no launch in the window")

// Run estimates the motion in a window. The context is looked at between steps.
func (s *Samples) Run(ctx context.Context, w Window) (*Estimate, error) {
	if w.To-w.From < leastSamples || w.Moving < w.From || w.Moving >= w.To {
		return nil, ErrNoLaunch
	}
	until := s.T[w.To-1]
	if w.Reversed {
		until = -s.T[w.From]
	}
	w = s.reach(w)
	heading := s.headingAt(w)
	rd := s.readings(w, heading)
	fineFrom, fineTo := s.fine(w)
	so := newSolver(s, rd, s.pushes(w, fineFrom, fineTo, 0), fineFrom)
	so.move = func(by float64) []push { return s.pushes(w, fineFrom, fineTo, by) }
	e := &Estimate{until: until, Heading: heading, so: so, reading: rd, rolling: !w.Standing, DF: s.DF}
	e.allow(s)
	if e.rolling {
		so.adapt(nil)
		e.hs = []hypothesis{{of: so, weight: 1, launch: so.t[0]}}
		e.Launch = uncert.Value{X: so.t[0]}
	} else {
		moving := s.T[w.Moving]
		if w.Reversed {
			moving = -moving
		}
		lo, hi := so.searchRange(moving)
		e.hs = so.findLaunch(lo, hi)
		if len(e.hs) == 0 {
			return nil, ErrNoLaunch
		}
		e.launchMoments()
	}
	e.Noise = so.sd
	if so.acc != nil {
		e.Misfit = so.misfit(e.hs[0], e.rolling)
	}
	for i := range rd {
		if rd[i].kind == unused && !rd[i].none {
			e.SetAside++
		}
	}
	return e, ctx.Err()
}

// searchRange is where the effective launch is looked for: from some while
// before the first sample that clearly moves to just after it.
func (so *solver) searchRange(moving float64) (lo, hi float64) {
	return max(moving-so.s.back(), so.rd[0].t), moving + searchAhead
}

// back is how long before the first sample that clearly moves the launch
// may lie, in s.
func (s *Samples) back() float64 {
	back := searchBack + searchSteps*s.Step
	if s.Hold > 0 {
		back += searchHold
	}
	return back
}

// allow sets the allowances for what all samples share.
func (e *Estimate) allow(s *Samples) {
	switch s.Source {
	case recording.Wheel:
		e.Scale = scaleWheel
		// A bus may cut instead of round: half a step either way.
		e.Offset = uncert.Rectangular(s.Quantum / 2)
		if s.Hold > 0 {
			e.Blind = blindLaunch
		}
	case recording.Position:
		e.Scale = scalePosition
	case recording.Inertial:
		e.Scale = max(s.scale, scaleInertial)
	default:
		e.Scale = scaleGNSS
	}
}

func (e *Estimate) launchMoments() {
	m, v := 0.0, 0.0
	for _, h := range e.hs {
		m += h.weight * h.launch
	}
	for _, h := range e.hs {
		v += h.weight * (h.launch - m) * (h.launch - m)
	}
	e.Launch = uncert.Value{X: m, U: math.Hypot(math.Sqrt(v), e.Blind)}
}

// Paths calls fn for each hypothesis, the most probable first. A path's contents
// are overwritten by the next.
func (e *Estimate) Paths(fn func(*Path)) {
	for _, h := range e.hs {
		fn(h.of.path(h, e.rolling))
	}
}

// Rolling reports whether the estimate has no launch.
func (e *Estimate) Rolling() bool { return e.rolling }

// End is the end of the window that was asked for, in s on the samples' clock
// (negated for a reversed window).
func (e *Estimate) End() float64 { return e.until }

// Raw returns the samples as used: s on the samples' clock (negated and in
// reverse for a reversed window), signed speed in m/s, and whether set aside.
func (e *Estimate) Raw() (t, v []float64, out []bool) {
	for i := range e.reading {
		rd := &e.reading[i]
		if rd.none {
			continue
		}
		t = append(t, rd.t)
		v = append(v, rd.y)
		out = append(out, rd.kind == unused)
	}
	return t, v, out
}

// TraceBuilder accumulates the mean trace over the paths.
type TraceBuilder struct {
	tr     motion.Trace
	launch float64
	sq     [3][]float64
	within [3][]float64 // variances inside one path
}

// NewTrace starts a trace from `before` seconds before the mean launch to the
// end of the window, on a grid of dt seconds.
func (e *Estimate) NewTrace(before, dt float64) *TraceBuilder {
	b := &TraceBuilder{launch: e.Launch.X}
	end := e.until - e.Launch.X
	start := max(-before, e.so.t[0]-e.Launch.X)
	start = math.Ceil(start/dt-slack) * dt
	n := int((end-start)/dt+slack) + 1
	for i := range n {
		b.tr.T = append(b.tr.T, start+float64(i)*dt)
	}
	b.tr.S, b.tr.V, b.tr.A = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range b.sq {
		b.sq[i] = make([]float64, n)
	}
	return b
}

// Add takes in a path. The spread within a path hardly differs from path to
// path, so it is taken from the first, the most probable.
func (b *TraceBuilder) Add(p *Path) {
	if b.within[0] == nil {
		for i := range b.within {
			b.within[i] = make([]float64, len(b.tr.T))
		}
		for i, t := range b.tr.T {
			s, v, a := p.SD(t + b.launch)
			b.within[0][i], b.within[1][i], b.within[2][i] = s*s, v*v, a*a
		}
	}
	w := p.Weight
	for i, t := range b.tr.T {
		s, v, a := p.At(t + b.launch)
		b.tr.S[i] += w * s
		b.tr.V[i] += w * v
		b.tr.A[i] += w * a
		b.sq[0][i] += w * (s*s + b.within[0][i])
		b.sq[1][i] += w * (v*v + b.within[1][i])
		b.sq[2][i] += w * (a*a + b.within[2][i])
	}
}

// Trace returns the mean trace with standard deviations.
func (b *TraceBuilder) Trace() motion.Trace {
	sd := func(sq, m []float64) []float64 {
		out := make([]float64, len(m))
		for i := range m {
			out[i] = root(sq[i] - m[i]*m[i])
		}
		return out
	}
	b.tr.SS, b.tr.SV, b.tr.SA = sd(b.sq[0], b.tr.S), sd(b.sq[1], b.tr.V), sd(b.sq[2], b.tr.A)
	return b.tr
}

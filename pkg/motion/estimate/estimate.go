package estimate

import (
	"context"
	"errors"
	"math"

	"fromrest/pkg/motion/ramp"
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
	Blind float64
	// Untold is set where nothing tells how the receiver smooths: any of the paths' filters is
	// as possible as their probabilities are assumed.
	Untold   bool
	SetAside int // samples not used in this run
	// Misfit is set for a run with an accelerometer whose estimate lies farther
	// from the speed samples than their noise explains.
	Misfit bool
	// Before is the motion that was seen about the launch beside it.
	Before Foregoing

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
	until, moving := s.T[w.To-1], s.T[w.Moving]
	if w.Reversed {
		until, moving = -s.T[w.From], -moving
	}
	w = s.reach(w)
	s = s.at(w)
	heading := s.headingAt(w)
	rd := s.readings(w, heading)
	fineFrom, fineTo := moving, moving // where an accelerometer is read closely
	if w.Standing {
		fineFrom, fineTo = moving-s.back()-fineBefore, moving+spanFused+fineAfter
	}
	so := newSolver(s, rd, s.pushes(w, fineFrom, fineTo, 0), fineFrom)
	so.backwards = w.Reversed
	so.move = func(by float64) []push { return s.pushes(w, fineFrom, fineTo, by) }
	e := &Estimate{until: until, Heading: heading, so: so, reading: rd, rolling: !w.Standing, DF: s.DF}
	e.allow(s)
	if e.rolling {
		so.adapt(nil)
		for _, f := range s.filters() {
			e.hs = append(e.hs, hypothesis{of: so, Seen: ramp.Seen{By: &f.Filter}, weight: f.P, launch: so.t[0]})
		}
		e.hs = prune(e.hs)
		e.Launch = uncert.Value{X: so.t[0]}
	} else {
		// The effective launch lies between some while before the first sample that
		// clearly moves and just after it.
		e.hs = so.findLaunch(max(moving-s.back(), rd[0].t), moving+searchAhead)
		if len(e.hs) == 0 {
			return nil, ErrNoLaunch
		}
		e.launchMoments()
		if !w.Reversed && (s.Signed || s.Source != recording.GNSS) {
			e.Before = so.foregoing(rd, s.T[w.From], e.Launch.X)
		}
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
	e.Untold = s.Smoothing.Most > 0 && s.Accel == nil
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
		v += h.weight * ((h.launch-m)*(h.launch-m) + h.sd*h.sd)
	}
	e.Launch = uncert.Value{X: m, U: math.Hypot(math.Sqrt(v), e.Blind)}
}

// Paths calls fn for the path of each hypothesis, the most probable first, at the mean of
// its launch. Before these it calls slide, where it is not nil, for two paths of the most
// probable hypothesis whose launches are its standard deviation earlier and later: a
// quantity that differs by d between them has the slope d/2 in standard deviations of the
// launch, and hypotheses have the same slope in s. A path's contents are overwritten by
// the next.
func (e *Estimate) Paths(slide func(p *Path, sign float64), fn func(*Path)) {
	joins := map[*solver]*join{}
	at := func(h hypothesis) *Path {
		j, ok := joins[h.of]
		if !ok && !e.rolling {
			j = h.of.joined(e.hs)
			joins[h.of] = j
		}
		return h.of.path(h, e.rolling, j)
	}
	if slide != nil && !e.rolling && e.hs[0].sd > leastSlide {
		for _, sign := range [2]float64{-1, 1} {
			h := e.hs[0]
			h.launch += sign * h.sd
			slide(at(h), sign)
		}
	}
	for _, h := range e.hs {
		fn(at(h))
	}
}

// Told is what the readings tell of the build-up of thrust; its evidence is nil for a
// rolling run.
func (e *Estimate) Told() ramp.Told {
	t := ramp.Told{Evidence: e.so.evidence}
	for _, f := range e.so.s.filters() {
		t.Filters = append(t.Filters, f.P)
	}
	return t
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

// misfit reports whether the path of a hypothesis lies farther from the speed
// samples, those set aside among them, than the noise of the log explains: on the
// whole, or over a good part of a second.
func (so *solver) misfit(h hypothesis, rolling bool) bool {
	t, z := so.residuals(h, rolling)
	if len(z) == 0 {
		return false
	}
	rho := so.s.Rho
	sum := 0.0
	for _, x := range z {
		sum += min(x*x, mostMisfit)
	}
	n := float64(len(z))
	free := n * (1 - rho*rho) / (1 + rho*rho)
	if sum/n > 1+misfitAt*math.Sqrt(2/free) {
		return true
	}
	run, from := 0.0, 0
	for i, x := range z {
		run += x
		for t[i]-t[from] > missSpan {
			run -= z[from]
			from++
		}
		if m := float64(i - from + 1); math.Abs(run) > missAt*math.Sqrt(m*(1+rho)/(1-rho)) {
			return true
		}
	}
	return false
}

// residuals are the speed samples less the path's speed in units of their
// standard deviation, with their instants.
func (so *solver) residuals(h hypothesis, rolling bool) (t, z []float64) {
	p := h.of.path(h, rolling, nil)
	for k := p.k0; k < len(p.t); k++ {
		i := h.of.at[k]
		if i < 0 {
			continue
		}
		rd := &so.rd[i]
		if rd.none || rd.kind == held || rd.kind == length {
			continue
		}
		m := &p.mean[k]
		// An instant's error grows with acceleration.
		v := so.s.SD*so.s.SD + rd.r + m[stA]*m[stA]*so.clock
		t, z = append(t, p.t[k]), append(z, (rd.y-m[stV])/math.Sqrt(v))
	}
	return t, z
}

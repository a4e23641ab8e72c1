package ramp

import (
	"fmt"
	"math"
)

// Filter is how a receiver smooths the speed that it shows. The zero value is a receiver
// that does not.
type Filter struct {
	Kind FilterKind
	// Tau is the time constant of a filter of the first order in s.
	Tau float64
	// Fixes is how many a mean is of, Gain that of a filter that tracks speed and
	// acceleration, Step the time between fixes in s.
	Fixes int
	Gain  float64
	Step  float64

	taps []float64 // weights of the fix itself and of those before it
}

// FilterKind is a family of filters.
type FilterKind int

// The kinds.
const (
	Unfiltered FilterKind = iota
	FirstOrder            // shown = speed less tau times its own rate of change
	MeanOf                // mean of the last fixes
	Tracker               // speed and acceleration predicted, each mended by a share of the miss
)

// FirstOrderOf is a filter with a time constant in s.
func FirstOrderOf(tau float64) Filter { return Filter{Kind: FirstOrder, Tau: tau} }

// MeanOfFixes is the mean of the last n fixes, which come every step seconds.
func MeanOfFixes(n int, step float64) Filter {
	f := Filter{Kind: MeanOf, Fixes: n, Step: step}
	for range n {
		f.taps = append(f.taps, 1/float64(n))
	}
	return f
}

// TrackerOf is a filter that predicts speed from its acceleration, adds a share of the
// miss to the speed and half the square of that share to the acceleration: the gains that
// leave no ringing, to first order (Benedict and Bordner, IRE Transactions on Automatic
// Control 7 (1962) 27, for a small gain).
func TrackerOf(gain, step float64) Filter {
	f := Filter{Kind: Tracker, Gain: gain, Step: step}
	v, a := 0.0, 0.0
	for j := 0; j < mostTaps; j++ {
		v += a
		miss := -v
		if j == 0 {
			miss = 1
		}
		v += gain * miss
		a += gain * gain / 2 * miss
		f.taps = append(f.taps, v)
		if math.Abs(v)+math.Abs(a) < leastTap {
			break
		}
	}
	sum := 0.0
	for _, w := range f.taps {
		sum += w
	}
	for i := range f.taps {
		f.taps[i] /= sum
	}
	return f
}

// Delay is by how many s a steady pull is shown late: a tracker catches up with it.
func (f *Filter) Delay() float64 {
	switch f.Kind {
	case FirstOrder:
		return f.Tau
	case MeanOf:
		return float64(f.Fixes-1) / 2 * f.Step
	}
	return 0
}

// Span is over how many s the filter smooths, by which times from it may be off: its delay,
// or the time that a tracker takes to catch up.
func (f *Filter) Span() float64 {
	if f.Kind == Tracker {
		return f.Step / f.Gain
	}
	return f.Delay()
}

// Memory is how many s of the past the filter still shows.
func (f *Filter) Memory() float64 {
	if f.Kind == FirstOrder {
		return filterOver * f.Tau
	}
	return float64(max(len(f.taps)-1, 0)) * f.Step
}

// String names the filter for a reader.
func (f *Filter) String() string {
	switch f.Kind {
	case FirstOrder:
		return fmt.Sprintf("first order, time constant %.2f s", f.Tau)
	case MeanOf:
		return fmt.Sprintf("mean of %d fixes", f.Fixes)
	case Tracker:
		return fmt.Sprintf("tracks speed and acceleration, gain %.2f", f.Gain)
	}
	return "none"
}

// Seen is a build-up as a receiver shows it. Backwards, the clock runs the other way, as
// where a stop is looked at as a launch: the filter then shows what is still to come.
type Seen struct {
	Ramp
	By        *Filter // nil for none
	Backwards bool
}

// Filtered reports whether the receiver smooths.
func (s *Seen) Filtered() bool { return s.By != nil && s.By.Kind != Unfiltered }

// Sign is 1 where the filter looks back and -1 where it looks ahead.
func (s *Seen) Sign() float64 {
	if s.Backwards {
		return -1
	}
	return 1
}

// Lead is for how many s before the launch something of it shows.
func (s *Seen) Lead() float64 {
	if s.Backwards && s.Filtered() {
		return s.By.Memory()
	}
	return 0
}

// Over is the time in s after which the ramp no longer changes the acceleration shown.
func (s *Seen) Over() float64 {
	if s.Backwards || !s.Filtered() {
		return s.Ramp.Over()
	}
	return s.Ramp.Over() + s.By.Memory()
}

// Delay is by how many s a step, shown as it is, would have to come later to give the same
// speed afterwards.
func (s *Seen) Delay() float64 {
	if !s.Filtered() {
		return s.Ramp.Delay()
	}
	return s.Ramp.Delay() + s.Sign()*s.By.Delay()
}

// Response is the speed and the acceleration that one unit of full thrust shows a time
// after the launch.
func (s *Seen) Response(t float64) (v, a float64) {
	switch {
	case s.Filtered():
		_, v, a = s.Moved(t)
	case t >= 0:
		v, a = s.Ramp.Response(t)
	}
	return v, a
}

// Moved is the distance, speed and acceleration shown.
func (s *Seen) Moved(t float64) (d, v, a float64) {
	switch {
	case !s.Filtered():
		return s.Ramp.Moved(t)
	case s.By.Kind == FirstOrder:
		// What is shown and its own rate of change make up the speed, so both follow from
		// the acceleration.
		tau := s.Sign() * s.By.Tau
		d, v, _ = s.Ramp.Moved(t)
		if a = s.lagged(t, s.By.Tau); s.Backwards {
			a = s.ahead(t, s.By.Tau)
		}
		v -= tau * a
		return d - tau*v, v, a
	}
	for j, w := range s.By.taps {
		dj, vj, aj := s.Ramp.Moved(t - s.Sign()*float64(j)*s.By.Step)
		d, v, a = d+w*dj, v+w*vj, a+w*aj
	}
	return d, v, a
}

// Gains are what one unit of full thrust adds to the distance, speed and acceleration
// shown between two times since the launch, beyond what the speed and acceleration at the
// first already carry forward.
func (s *Seen) Gains(t1, t2 float64) (gs, gv, ga float64) {
	if !s.Filtered() {
		return s.Ramp.Gains(t1, t2)
	}
	dt := t2 - t1
	d1, v1, a1 := s.Moved(t1)
	d2, v2, a2 := s.Moved(t2)
	return d2 - d1 - v1*dt - a1*dt*dt/2, v2 - v1 - a1*dt, a2 - a1
}

// Moved is the distance, speed and acceleration that one unit of full thrust has given a
// time after the launch.
func (rp Ramp) Moved(t float64) (s, v, a float64) {
	switch {
	case t < 0:
		return 0, 0, 0
	case rp.Tau <= 0:
		return t * t / 2, t, 1
	}
	r, r1, r2 := rp.Shape.r(t / rp.Tau)
	return rp.Tau * rp.Tau * r2, rp.Tau * r1, r
}

// lagged is the acceleration behind a filter of the first order.
func (rp Ramp) lagged(t, tau float64) float64 {
	e := math.Exp(-max(t, 0) / tau)
	switch {
	case t <= 0:
		return 0
	case rp.Tau <= 0:
		return 1 - e
	case rp.Shape == Lag:
		b := rp.lag(tau)
		return 1 - (b*math.Exp(-t/b)-tau*e)/(b-tau)
	case rp.Shape == Cosine:
		end := rp.Tau * (1 - heldUntil)
		if t > end {
			return 1 - (1-rp.lagged(end, tau))*math.Exp(-(t-end)/tau)
		}
		return heldMean*(1-e) + heldSwing*(wave(rp.Tau, t, tau)-wave(rp.Tau, 0, tau)*e)
	}
	if rp.Shape == Square {
		if t > rp.Tau {
			return 1 - (1-rp.lagged(rp.Tau, tau))*math.Exp(-(t-rp.Tau)/tau)
		}
		return (t*t - 2*tau*(t-tau*(1-e))) / (rp.Tau * rp.Tau)
	}
	rise := func(t float64) float64 { return t - tau*(1-math.Exp(-t/tau)) }
	return (rise(t) - rise(max(t-rp.Tau, 0))) / rp.Tau
}

// ahead is the same of a filter that shows what is to come.
func (rp Ramp) ahead(t, tau float64) float64 {
	switch {
	case t < 0:
		return rp.ahead(0, tau) * math.Exp(t/tau)
	case rp.Tau <= 0:
		return 1
	case rp.Shape == Lag:
		b := rp.Tau / 3
		return 1 - math.Exp(-t/b)*b/(b+tau)
	case rp.Shape == Cosine:
		end := rp.Tau * (1 - heldUntil)
		if t >= end {
			return 1
		}
		steady := func(t float64) float64 { return heldMean + heldSwing*wave(rp.Tau, t, -tau) }
		return steady(t) + (1-steady(end))*math.Exp(-(end-t)/tau)
	case t >= rp.Tau:
		return 1
	case rp.Shape == Square:
		steady := func(t float64) float64 { return (t*t + 2*tau*(t+tau)) / (rp.Tau * rp.Tau) }
		return steady(t) + (1-steady(rp.Tau))*math.Exp(-(rp.Tau-t)/tau)
	}
	return (t + tau - tau*math.Exp(-(rp.Tau-t)/tau)) / rp.Tau
}

// lag is the time constant of a first-order rise, kept off that of the filter, where the
// closed form has a pole.
func (rp Ramp) lag(tau float64) float64 {
	b := rp.Tau / 3
	if math.Abs(b-tau) < nearPole*tau {
		return tau * (1 + nearPole)
	}
	return b
}

// Mean and swing of the half cosine without its foot.
const (
	heldMean  = (0.5 - heldShare) / (1 - heldShare)
	heldSwing = -0.5 / (1 - heldShare)
)

// wave is the cosine of the half cosine's angle behind a filter, in the steady state.
func wave(build, t, tau float64) float64 {
	w := math.Pi / build * tau
	sin, cos := math.Sincos(math.Pi * (t/build + heldUntil))
	return (cos + w*sin) / (1 + w*w)
}

// Package outside holds times that something beside the logger measured, light gates, a
// strip's slip or the frames of a film, against those of the log.
//
// # Model
//
// An outside clock starts after the vehicle has covered some way s from rest: none for
// first motion, 0.3048 m for the rollout, and what the beam leaves for a beam. A time to
// a speed ends when the log's does; a time over a distance ends e metres earlier where what
// ends it stands ahead of what started it. With t(s) the instant at which the log's trace has
// covered s, T the log's time with rollout and v the speed at the end, such a clock shows
//
//	T + t(0.3048 m) - t(s) + (s - 0.3048 m - e)/v .
//
// Each origin is a distribution of s and e. The times of one clock share both, and those of a
// run share what is not known of its first foot. The likelihood of every s, e integrated over,
// gives the way after which the clock started, and each origin its probability.
//
// # Limits
//
// A clock that runs fast or slow and a course that was measured wrong look like a logger's
// bias that grows with the time; neither is told apart here.
package outside

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Origin is what started an outside clock.
type Origin string

// The origins, as a sheet writes them.
const (
	Rest    Origin = "rest"    // first motion
	Rollout Origin = "rollout" // 0.3048 m covered
	Bumper  Origin = "bumper"  // the bumper cut a beam, and ended the time too
	Tyre    Origin = "tyre"    // the front tyre left a low beam
	Axle    Origin = "axle"    // the front tyre left a beam at the height of its axle
)

// Origins are all of them.
var Origins = []Origin{Rest, Rollout, Bumper, Tyre, Axle}

// start is the way before the clock of an origin starts, in m.
func (o Origin) start() uncert.Value {
	switch o {
	case Rollout:
		return uncert.Value{X: unit.Rollout}
	case Bumper:
		return uncert.Value{X: bumperStart, U: bumperU}
	case Tyre:
		return uncert.Value{X: tyreStart, U: tyreStartU}
	case Axle:
		return uncert.Value{X: axleStart, U: axleStartU}
	}
	return uncert.Value{}
}

// short is by how much the way that ends a time over a distance is shorter, in m.
func (o Origin) short() uncert.Value {
	if o == Tyre || o == Axle {
		return uncert.Value{X: noseShort, U: noseShortU}
	}
	return uncert.Value{}
}

// Time is one outside time with what the log shows of the same run.
type Time struct {
	Run     string       // whose first foot it shares
	Seconds uncert.Value // s, by the outside clock
	Origin  Origin
	Start   *float64     // m covered before it started, as measured; nil where it was not
	Rest    uncert.Value // s, by the log from rest
	Rolled  uncert.Value // s, by the log with rollout
	Foot    uncert.Value // s, by the log from rest to the first foot
	End     float64      // m/s, speed at the end of a distance, 0 for a time to a speed
	Trace   *motion.Trace
}

// from is where the clock of a time started by an origin, in m.
func (t *Time) from(o Origin) uncert.Value {
	if t.Start != nil && o == t.Origin {
		return uncert.Value{X: *t.Start, U: tapeU}
	}
	return o.start()
}

// Expected is what the outside clock shows by the log, in s, with all that is not known of
// where it started and ended.
func (t *Time) Expected() uncert.Value {
	if t.Origin == Rest {
		return t.Rest
	}
	s, e := t.from(t.Origin), t.Origin.short()
	at := t.started(s.X)
	x := uncert.Value{X: t.Rolled.X + at.X, U: uncert.Combine(t.Rolled.U, at.U, s.U*t.perMetre(s.X))}
	if t.End > 0 {
		x.X -= e.X / t.End
		x.U = uncert.Combine(x.U, e.U/t.End)
	}
	return x
}

// Less is what the log shows more than the outside clock, in s.
func (t *Time) Less() uncert.Value {
	x := t.Expected()
	return uncert.Value{X: x.X - t.Seconds.X, U: uncert.Combine(x.U, t.Seconds.U)}
}

// Agrees reports whether the two differ by no more than both intervals allow.
func (t *Time) Agrees() bool {
	d := t.Less()
	return math.Abs(d.X) <= d.U95()
}

// started is by how much longer than with rollout a clock runs that starts after s metres:
// its uncertainty is that of the speed near the line.
func (t *Time) started(s float64) uncert.Value {
	foot, at := t.passed(unit.Rollout), t.passed(s)
	d := foot - at
	if s <= 0 {
		d = t.Foot.X
	}
	v, sd := t.Trace.SpeedAt((foot + at) / 2)
	share := traceLeast
	if v > 0 {
		share = max(share, math.Min(sd/v, 1))
	}
	u := math.Abs(d) * share
	if s < unit.Rollout { // what is not known of the launch is all there at its foot
		u = max(u, t.Foot.U*(1-s/unit.Rollout))
	}
	if t.End > 0 {
		d += (s - unit.Rollout) / t.End
	}
	return uncert.Value{X: d, U: u}
}

// perMetre is by how much a clock is shorter that starts a metre later, in s, where it
// starts after s metres.
func (t *Time) perMetre(s float64) float64 {
	v, _ := t.Trace.SpeedAt(t.passed(max(s, step)))
	if !(v > 0) {
		return 0
	}
	return 1 / v
}

// passed is when the trace had covered s metres, in s since the launch.
func (t *Time) passed(s float64) float64 {
	if s <= 0 {
		return 0
	}
	tr := t.Trace
	for i := 1; i < tr.Len(); i++ {
		if tr.T[i] > 0 && tr.S[i] >= s {
			d := tr.S[i] - tr.S[i-1]
			if d <= 0 {
				return tr.T[i]
			}
			return max(0, tr.T[i-1]+(s-tr.S[i-1])/d*(tr.T[i]-tr.T[i-1]))
		}
	}
	return tr.T[tr.Len()-1]
}

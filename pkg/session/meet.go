package session

import (
	"math"
	"slices"

	"fromrest/pkg/motion/timing"
)

// meeting is two runs held against each other.
type meeting struct {
	a, b  *TimedRun
	off   float64 // s, by which a passed the marks later than b
	u95   float64 // s, of off
	alike bool    // it did so at all marks, as far as the intervals of their times can tell
}

// meet holds two runs against each other. Of runs with fewer than two marks in common
// the launches and the highest speeds are compared.
func meet(a, b *TimedRun) meeting {
	out := meeting{a: a, b: b, off: math.Inf(1)}
	if Way(a.HeadingDeg, b.HeadingDeg) == 1 {
		return out
	}
	lag := a.Launch.Sub(b.Launch).Seconds()
	var ds, us []float64
	for _, m := range common(a, b) {
		ds, us = append(ds, lag+m.a.End-m.b.End), append(us, m.u95)
	}
	if len(ds) < 2 {
		out.off, out.u95 = lag, launchApart
		out.alike = math.Abs(a.MaxSpeed-b.MaxSpeed) <= sameTop*max(a.MaxSpeed, b.MaxSpeed) && math.Abs(lag) <= launchApart
		return out
	}
	out.off, out.u95, out.alike = middle(ds), middle(us), true
	for i, d := range ds {
		if math.Abs(d-out.off) > clockJitter+meetWithin*us[i] {
			out.alike = false
		}
	}
	return out
}

// middle is the middle one of some numbers in their order.
func middle(x []float64) float64 {
	s := slices.Sorted(slices.Values(x))
	return s[len(s)/2]
}

// mark is a target that two runs were timed to.
type mark struct {
	a, b timing.Time // from rest
	u95  float64     // s, of the difference of the instants: the launch is in neither
}

// common are the targets from rest that two runs were timed to.
func common(a, b *TimedRun) []mark {
	var out []mark
	for _, t := range a.Times {
		i := slices.IndexFunc(b.Times, func(o timing.Time) bool { return o.Name == t.Name && o.From == t.From })
		if t.From != timing.FromRest || i < 0 || math.IsNaN(t.End-b.Times[i].End) {
			continue
		}
		o := b.Times[i]
		ta, okA := a.Time(t.Name, timing.FromRollout)
		tb, okB := b.Time(t.Name, timing.FromRollout)
		if okA && okB {
			out = append(out, mark{t, o, math.Hypot(ta.U95, tb.U95)})
		}
	}
	return out
}

// steady reports whether most of the runs of two logs that began together are alike, and
// by one difference of the clocks: that of two recorders of one vehicle stays, and of two
// vehicles that start side by side one is ahead now and then the other. Some runs were
// not alike.
func steady(ms []meeting, unlike int) bool {
	if len(ms) == 0 {
		return false
	}
	offs := make([]float64, len(ms))
	for i, m := range ms {
		offs[i] = m.off
	}
	n, usual := 0, middle(offs)
	for _, m := range ms {
		if math.Abs(m.off-usual) <= clockJitter+m.u95 {
			n++
		}
	}
	return 2*n > len(ms)+unlike
}

// Parting is by how much a witness's time differs from that of its drive.
type Parting struct {
	Name    string // target
	From    timing.Origin
	Seconds float64 // s, the witness's time less the other
	U95     float64 // s, half-width of the 95 % interval
}

// Partings are the differences of a witness's times from those that count, none for a
// run that is no witness.
func (r *TimedRun) Partings() []Parting {
	if r.WitnessOf == nil {
		return nil
	}
	var out []Parting
	for _, t := range r.Times {
		if o, ok := r.WitnessOf.Time(t.Name, t.From); ok && !math.IsNaN(t.Seconds-o.Seconds) {
			out = append(out, Parting{t.Name, t.From, micro(t.Seconds - o.Seconds), micro(math.Hypot(t.U95, o.U95))})
		}
	}
	return out
}

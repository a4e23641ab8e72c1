package timing

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/stat/distuv"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Result is everything measured of one run.
type Result struct {
	Times    []Time // each target from rest, then with rollout; those reached
	Pulls    []Time
	Rollout  uncert.Value // s from the launch to 0.3048 m; U is half of U95/1.96
	Launches *Launches    // nil for a run without a launch
	Trace    motion.Trace
	MaxSpeed float64 // m/s
	// Peak is the highest acceleration of the trace, and Mean the acceleration
	// from the launch to the highest speed, in m/s².
	Peak, Mean uncert.Value
}

// Measure times a run to the targets. Targets from rest and distances need a
// launch; a rolling run has pulls only.
func Measure(e *estimate.Estimate, targets []Target) Result {
	m := &measure{e: e}
	m.plan(targets)
	tb := e.NewTrace(traceBefore, TraceStep)
	e.Paths(func(p *estimate.Path, sign float64) {
		m.each(p, func(c *cell, es ends, _ float64) { c.slope += sign * (es.to.T - es.from.T) / (2 * p.SD) })
		tb.Slide(p, sign)
	}, func(p *estimate.Path) {
		for _, c := range m.cells {
			c.part = append(c.part, part{p.Weight, math.NaN(), 0})
		}
		m.paths = append(m.paths, Launch{Ramp: p.Ramp, Weight: p.Weight, At: p.Launch - e.Launch.X, SD: p.SD})
		m.each(p, func(c *cell, es ends, va float64) { m.add(p, c, es, va) })
		tb.Add(p)
	})
	r := Result{Trace: tb.Trace()}
	l := m.launches()
	for _, c := range m.cells {
		t, ok := m.result(c, l)
		switch {
		case !ok:
		case c.target.IsPull():
			r.Pulls = append(r.Pulls, t)
		case c.target.Name == "" && c.from == FromRest:
			r.Rollout = uncert.Value{X: t.Seconds, U: t.U95 / uncert.Z95}
		default:
			r.Times = append(r.Times, t)
		}
	}
	r.Times = slices.Clip(slices.Clone(r.Times))
	if !e.Rolling() {
		l.Cells = slices.Clip(slices.Clone(l.Cells))
		r.Launches = l
	}
	summarise(&r)
	return r
}

// summarise takes the extremes from the trace.
func summarise(r *Result) {
	top := 0
	for i, v := range r.Trace.V {
		if v > r.MaxSpeed {
			r.MaxSpeed, top = v, i
		}
	}
	// Ends of a smoother are loose: peak acceleration is looked for inside.
	last := len(r.Trace.A) - int(looseEnd/TraceStep)
	for i := range max(last, 0) {
		if a := r.Trace.A[i]; r.Trace.T[i] > 0 && a > r.Peak.X {
			r.Peak = uncert.Value{X: a, U: r.Trace.SA[i]}
		}
	}
	if t := r.Trace.T; top > 0 && t[top] > 0 {
		r.Mean = uncert.Value{X: r.MaxSpeed / t[top], U: r.Trace.SV[top] / t[top]}
	}
}

// cell is one result to be measured, with its moments over the paths.
type cell struct {
	target Target
	from   Origin
	part   []part  // of each path, a mean of NaN where it does not reach the target
	slope  float64 // of the time over the launch
	end    float64 // weighted sums: end instant after the launch, distance, trap and end speeds
	dist   float64
	trap   moments
	speed  moments
	rate   float64 // acceleration (speed targets) or speed (distances) at the end
}

// part is one path's normal distribution of a time.
type part struct{ w, mean, v float64 }

// moments are weighted sums of a quantity over paths.
type moments struct{ w, m, sq float64 }

func (m *moments) add(w, x, variance float64) {
	m.w += w
	m.m += w * x
	m.sq += w * (x*x + variance)
}

func (m *moments) value() (x, sd float64) {
	if m.w == 0 {
		return math.NaN(), math.NaN()
	}
	x = m.m / m.w
	return x, math.Sqrt(max(m.sq/m.w-x*x, 0))
}

type measure struct {
	e     *estimate.Estimate
	cells []*cell
	paths []Launch
}

// plan lists the cells: the rollout itself under an empty name first, then each
// target by each origin.
func (m *measure) plan(targets []Target) {
	if !m.e.Rolling() {
		m.cells = append(m.cells, &cell{target: Target{Distance: unit.Rollout}, from: FromRest})
	}
	for _, t := range targets {
		switch {
		case t.IsPull():
			m.cells = append(m.cells, &cell{target: t, from: FromSpeed})
		case !m.e.Rolling():
			m.cells = append(m.cells, &cell{target: t, from: FromRest}, &cell{target: t, from: FromRollout})
		}
	}
}

// ends is one cell's events on one path.
type ends struct {
	c        *cell
	from, to estimate.Event
}

// each calls fn for every cell that one path reaches, with its ends and the variance of the
// time between them. Cells that share a start are timed in one sweep along the path.
func (m *measure) each(p *estimate.Path, fn func(*cell, ends, float64)) {
	launch := p.LaunchEvent()
	roll, rolled := p.ReachDistance(unit.Rollout)
	var rest, rollout []ends
	for _, c := range m.cells {
		t := c.target
		switch c.from {
		case FromRest:
			if to, ok := reach(p, t, launch, 0); ok {
				rest = append(rest, ends{c, launch, to})
			}
		case FromRollout:
			if to, ok := reach(p, t, roll, unit.Rollout); ok && rolled {
				rollout = append(rollout, ends{c, roll, to})
			}
		case FromSpeed:
			from, ok := p.ReachSpeed(t.From, math.Inf(-1))
			if !ok {
				continue
			}
			if to, ok := reach(p, t, from, 0); ok {
				sweep(p, []ends{{c, from, to}}, fn)
			}
		}
	}
	sweep(p, rest, fn)
	sweep(p, rollout, fn)
}

// reach is the event that ends a target's time counted from an event, with the
// distance already covered there.
func reach(p *estimate.Path, t Target, from estimate.Event, covered float64) (to estimate.Event, ok bool) {
	if t.IsDistance() {
		to, ok = p.ReachDistance(t.Distance + covered)
	} else {
		to, ok = p.ReachSpeed(t.To, from.T)
	}
	return to, ok && to.T > from.T
}

// sweep times cells that count from one event.
func sweep(p *estimate.Path, es []ends, fn func(*cell, ends, float64)) {
	if len(es) == 0 {
		return
	}
	sort.SliceStable(es, func(i, j int) bool { return es[i].to.T < es[j].to.T })
	to := make([]estimate.Event, len(es))
	for i := range es {
		to[i] = es[i].to
	}
	for i, va := range p.Between(es[0].from, to) {
		fn(es[i].c, es[i], va)
	}
}

// add takes one path's time into a cell.
func (m *measure) add(p *estimate.Path, c *cell, e ends, va float64) {
	w := p.Weight
	va += c.slope * c.slope * p.SD * p.SD
	c.part[len(c.part)-1] = part{w, e.to.T - e.from.T, va}
	c.end += w * (e.to.T - p.Launch)
	s0, _, _ := p.At(e.from.T)
	s, v, a := p.At(e.to.T)
	c.dist += w * (s - s0)
	c.rate += w * max(a, motion.FlatRise)
	if c.target.IsDistance() {
		c.rate += w * (v - max(a, motion.FlatRise))
		_, sv, _ := p.SDAt(e.to.T)
		c.speed.add(w, v, sv*sv)
		m.trap(p, c, e.to, s)
	}
}

// trap adds the mean speed over the last 66 ft before a mark at distance s.
func (m *measure) trap(p *estimate.Path, c *cell, mark estimate.Event, s float64) {
	if s <= unit.TrapLength {
		return
	}
	in, ok := p.ReachDistance(s - unit.TrapLength)
	if !ok {
		return
	}
	dt := mark.T - in.T
	va := p.Between(in, []estimate.Event{mark})[0]
	v := unit.TrapLength / dt
	c.trap.add(p.Weight, v, va*(v/dt)*(v/dt))
}

// launches begins what the run is under each path.
func (m *measure) launches() *Launches {
	return &Launches{Told: m.e.Told(), Paths: slices.Clip(slices.Clone(m.paths)), Stretch: m.stretch(), Blind: m.e.Blind, Untold: m.e.Untold}
}

// result closes a cell and adds it to the launches. A target that paths of less than 0.9
// in all reach was not reached.
func (m *measure) result(c *cell, l *Launches) (Time, bool) {
	var all moments
	for _, p := range c.part {
		if !math.IsNaN(p.mean) {
			all.add(p.w, p.mean, p.v)
		}
	}
	w := all.w
	if w < reachedWeight {
		return Time{}, false
	}
	mean, _ := all.value()
	rate := c.rate / w
	t := Time{Name: c.target.Name, From: c.from, Seconds: mean, End: c.end / w, Distance: c.dist / w,
		TrapSpeed: math.NaN(), TrapU95: math.NaN(), EndSpeed: math.NaN(), EndU95: math.NaN()}
	k := Cell{Name: t.Name, From: t.From, Middle: mean, Shared: m.shared(c, t, rate)}
	n := len(c.part)
	weights := make([]float64, n)
	k.Off, k.V = make([]float32, n), make([]float32, n)
	for i, p := range c.part {
		k.Off[i], k.V[i] = float32(p.mean-mean), float32(p.v)
		weights[i] = p.w
	}
	_, t.U95 = l.Time(&k, weights)
	if c.from != FromSpeed {
		l.Cells = append(l.Cells, k)
	}
	if c.target.IsDistance() {
		x, sd := c.speed.value()
		t.EndSpeed, t.EndU95 = x, l.Stretch*uncert.Combine(sd, m.e.Scale*x, m.e.Offset)
		if x, sd := c.trap.value(); !math.IsNaN(x) {
			t.TrapSpeed, t.TrapU95 = x, l.Stretch*uncert.Combine(sd, m.e.Scale*x, m.e.Offset)
		}
	}
	return t, true
}

// shared is the standard uncertainty in s from what all samples share: scale and
// offset of the source's speed.
func (m *measure) shared(c *cell, t Time, rate float64) float64 {
	if c.target.IsDistance() {
		d := c.target.Distance
		return uncert.Combine(m.e.Scale*d/rate, m.e.Offset*t.End/rate, m.e.Blind)
	}
	if c.target.IsPull() {
		// The gain is scaled; an offset moves both ends and mostly cancels, as a delay does.
		return m.e.Scale * c.target.To / rate
	}
	return uncert.Combine(m.e.Scale*c.target.To/rate, m.e.Offset/rate, m.e.Blind)
}

// stretch is the 95 % factor for the degrees of freedom of the sample noise.
func (m *measure) stretch() float64 {
	if df := m.e.DF; df > leastDF && df < manyDF {
		return distuv.StudentsT{Sigma: 1, Nu: df}.Quantile((1 + level) / 2)
	}
	if m.e.DF <= leastDF {
		return mostT
	}
	return uncert.Z95
}

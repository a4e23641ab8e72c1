package contrast

import "math"

// Past is the scatter of past sessions.
type Past struct {
	SD float64 // s
	DF float64 // degrees of freedom it rests on
	// Same is set where the sessions were of the same vehicle.
	Same bool
}

// Weight is what a past scatter counts for in a layout, in degrees of freedom: no
// more than it rests on, and less where the modes are many or the runs few.
func (p *Past) Weight(l *Layout) float64 {
	if p == nil || !(p.SD > 0) {
		return 0
	}
	w := PastOther
	least, modes := math.MaxInt, 0
	for _, n := range l.counts() {
		if n[0]+n[1] > 0 {
			least, modes = min(least, n[0]+n[1]), modes+1
		}
	}
	if p.Same && modes < manyModes && least > fewRuns {
		w = PastSame
	}
	return min(w, p.DF)
}

// Known is what is known of the times of a session besides themselves.
type Known struct {
	Past   *Past     // scatter of past sessions, nil for none
	Noise  []float64 // s, by mode: standard measurement uncertainty, independent from run to run; nil for none
	Shared []float64 // s, by mode: standard uncertainty that all runs of a mode share; nil for none
}

// Fit is a session's times fitted.
type Fit struct {
	Design   *Design // that of the layout, or with a direction term of each mode where the times ask for it
	known    *Known
	times    []float64
	Residual []float64 // s, by run
	Pooled   float64   // s², NaN without residual degrees of freedom
	squares  []float64 // s², sum of squared residuals of each mode
	Modes    []float64 // s², moderated variance of each mode; NaN as Pooled
}

// Fit fits times in s. The slices of a returned fit are overwritten where it is
// passed again, nil makes a new one.
func (d *Design) Fit(times []float64, known *Known, f *Fit) *Fit {
	if f == nil {
		f = &Fit{}
	}
	f.of(d, times)
	if d.each != nil {
		rss := f.Pooled * float64(d.DF)
		if f.of(d.each, times); rss-f.Pooled*float64(d.each.DF) <= d.unlike*f.Pooled*float64(d.each.DF) {
			f.of(d, times)
		}
	}
	f.moderate(known)
	return f
}

// of fits one design.
func (f *Fit) of(d *Design, times []float64) {
	n := len(d.Mode)
	if len(f.Residual) != n || len(f.Modes) != d.Modes {
		f.Residual, f.squares, f.Modes = make([]float64, n), make([]float64, d.Modes), make([]float64, d.Modes)
	}
	f.Design, f.times, f.Pooled = d, times, 0
	for m := range f.squares {
		f.squares[m] = 0
	}
	mean := sum(times) / float64(n)
	for i := range n {
		e := 0.0
		for j, x := range d.m[i*n : i*n+n] {
			e += x * (times[j] - mean)
		}
		f.Residual[i] = e
		f.squares[d.Mode[i]] += e * e
		f.Pooled += e * e
	}
	if f.Pooled /= float64(d.DF); d.DF == 0 {
		f.Pooled = math.NaN()
	}
}

// moderate tells the variance of each mode.
func (f *Fit) moderate(known *Known) {
	d := f.Design
	f.known = known
	s2 := 0.0
	if d.past > 0 {
		s2 = known.Past.SD * known.Past.SD
	}
	for m, q := range f.squares {
		f.Modes[m] = (d.past*s2 + PooledDF*f.Pooled + q) / (d.past + PooledDF + d.trace[m])
	}
}

// Estimate is a weighted sum of times with what is known of its error.
type Estimate struct {
	Value float64 // s
	SE    float64 // s, NaN without residual degrees of freedom
	DF    float64 // degrees of freedom of SE
}

// Of estimates a contrast.
func (f *Fit) Of(c *Contrast) Estimate {
	d := f.Design
	e := Estimate{Value: dot(c.weights, f.times), SE: math.NaN()}
	if d.DF == 0 {
		return e
	}
	v, expect, past, noise, shared := 0.0, 0.0, 0.0, 0.0, 0.0
	for m, q := range c.q {
		v += q * f.Modes[m]
		expect += f.Modes[m] * c.expect[m]
		if d.past > 0 {
			past += q * d.past * f.known.Past.SD * f.known.Past.SD / (d.past + PooledDF + d.trace[m])
		}
		if f.known == nil {
			continue
		}
		if f.known.Noise != nil {
			noise += q * f.known.Noise[m] * f.known.Noise[m]
		}
		if f.known.Shared != nil && (m == c.A || m == c.B) {
			shared += f.known.Shared[m] * f.known.Shared[m]
		}
	}
	if v > 0 {
		// What the estimate is over what it is expected to be, were the modes to
		// scatter as they seem to.
		v *= v / (expect + past)
		e.DF = min(f.satterthwaite(c, expect+past, past), c.cap)
	} else {
		e.DF = c.cap
	}
	v = max(v, noise, leastSE*leastSE) * c.Strain * c.Strain
	e.DF *= (v + shared) / v * (v + shared) / v // the shared part is known
	e.SE = math.Sqrt(v + shared)
	return e
}

// satterthwaite is the degrees of freedom were the modes to scatter as they seem
// to.
func (f *Fit) satterthwaite(c *Contrast, mean, past float64) float64 {
	v := 0.0
	for m, s := range f.Modes {
		for o, t := range f.Modes {
			v += s * t * c.spread[m][o]
		}
	}
	if f.Design.past > 0 {
		v += past * past / f.Design.past
	}
	return mean * mean / v
}

// Pairs are the contrasts of all pairs of modes with runs, in the order of modes.
func (d *Design) Pairs() []*Contrast { return d.pairs }

// Mean is the contrast that is a mode's plain mean, Adjusted its mean by the model:
// both directions alike, in the middle of the order. Both are nil for a mode
// without a run.
func (d *Design) Mean(m int) *Contrast {
	return d.kept("mean", m, d.present[m] > 0, func() []float64 {
		return d.where(func(i int) float64 { return is(d.Mode[i] == m) / float64(d.present[m]) })
	})
}

// Adjusted: see Mean.
func (d *Design) Adjusted(m int) *Contrast {
	return d.kept("adjusted", m, d.present[m] > 0, func() []float64 { return d.adjust[m] })
}

// TwoWay is the contrast that is the mean of a mode's means in both directions, nil
// for a mode that was not driven both ways.
func (d *Design) TwoWay(m int) *Contrast {
	n := d.counts()[m]
	return d.kept("two-way", m, n[0] > 0 && n[1] > 0 && d.Way != nil, func() []float64 {
		return d.where(func(i int) float64 {
			return is(d.Mode[i] == m) / 2 / float64(n[int(is(d.Way[i] > 0))])
		})
	})
}

// Direction is the contrast that is what driving the second way rather than the
// first costs a mode, nil where it is not in the model.
func (d *Design) Direction(m int) *Contrast {
	return d.kept("direction", m, d.way != nil && d.way[m] != nil, func() []float64 { return d.way[m] })
}

// Drift is the contrast that is what each further run costs, nil where it is not in
// the model.
func (d *Design) Drift() *Contrast {
	return d.kept("drift", d.Mode[0], d.drift != nil, func() []float64 { return d.drift })
}

// kept is a contrast of one mode, worked out once: the places of a session share it.
// A design is not for use by several goroutines at a time.
func (d *Design) kept(what string, m int, has bool, weights func() []float64) *Contrast {
	if !has {
		return nil
	}
	key := keptKey{what, m}
	c, ok := d.single[key]
	if !ok {
		if d.single == nil {
			d.single = map[keptKey]*Contrast{}
		}
		c = d.contrast(weights(), m, m)
		d.single[key] = c
	}
	return c
}

type keptKey struct {
	what string
	mode int
}

// Leverage is how much of a run its own residual keeps, from 0 to 1.
func (d *Design) Leverage(i int) float64 { return 1 - d.m[i*len(d.Mode)+i] }

// Moderated is the variance in s² of a mode, and its degrees of freedom, where a
// run's share of the squares is left out and the modes together scatter with
// variance s2.
func (f *Fit) Moderated(m int, s2, own float64) (variance, df float64) {
	d := f.Design
	past := 0.0
	if d.past > 0 {
		past = d.past * f.known.Past.SD * f.known.Past.SD
	}
	df = d.past + PooledDF + max(d.trace[m]-1, 0)
	return (past + PooledDF*s2 + max(f.squares[m]-own, 0)) / df, df
}

// Package beside finds how one recording of a vehicle's speed follows another: by how much
// it is late, smoothed and out of scale.
//
// # Model
//
// With x the speed of the quicker log, drawn through its samples, the other shows
//
//	y(t) = k F(x)(t - d) + noise
//
// F being a filter of the first order with a time constant τ from 0 to 1.5 s. Delay,
// scale and time constant are those of least Huber loss over the samples at which both
// move; their covariance is taken from the scatter of its gradient between stretches of 20 s, so
// that differences which hang together for seconds do not count as many. A steady pull is shown late by d + τ, which is
// well known where d and τ apart are not.
//
// # Limits
//
// A delay that both have is in neither. Clocks that drift apart widen the interval of the
// delay. Between samples a second apart the speed is drawn as a smooth curve, whose error
// passes for smoothing of up to some tenths of a second.
package beside

import (
	"context"
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"

	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

// Series is a speed on a clock.
type Series struct {
	T []float64 // s, increasing
	V []float64 // m/s, NaN where there is none
}

// Behind is how one speed follows another.
type Behind struct {
	// Late is by how much a steady pull is shown later, in s; negative where it is earlier.
	Late uncert.Value
	// Smoothing is the time constant in s of a first-order filter by which it is smoothed
	// more than the other, negative where it is smoothed less.
	Smoothing uncert.Value
	Scale     uncert.Value // of its speed, the other's being 1
	Scatter   float64      // m/s, robust standard deviation of the differences left
	N         int          // samples in common
}

// ErrUnlike is returned by Hold for two speeds that are not of one drive as far as they tell.
var ErrUnlike = errors.New("the two speeds are not alike: they are of different drives, or on clocks that have nothing in common")

// Hold finds how b follows a. Where far is set the clocks may differ by anything. The error is
// ErrUnlike, or that of a context that was cancelled.
func Hold(ctx context.Context, a, b Series, far bool) (Behind, error) {
	a, b = a.valid(), b.valid()
	if len(a.T) < leastPairs || len(b.T) < leastPairs {
		return Behind{}, ErrUnlike
	}
	turned := stepOf(a.T) > stepOf(b.T)
	if turned {
		a, b = b, a
	}
	p := &pairing{base: newCurve(a), of: b}
	at, err := p.search(ctx, far)
	if err != nil {
		return Behind{}, err
	}
	// A filter gains by the noise that it takes off the quicker log, so that both are
	// smoothed alike first.
	slow := stepOf(b.T) > evenSlower
	if slow {
		p.base = p.base.calmed(calmLeast)
	} else {
		p.base, p.of = p.base.calmed(calm), newCurve(b).calmed(calm).series()
	}
	out, loss := p.best(at)
	if !slow { // the quicker log may be the smoother one
		q := &pairing{base: newCurve(b).calmed(calm), of: newCurve(a).calmed(calm).series()}
		if o, l := q.best(-at); l < loss-clearer && o.Smoothing.X > 0 {
			out = o.reversed()
		}
	}
	if !(out.Scatter < mostScatter) {
		return Behind{}, ErrUnlike
	}
	if turned {
		out = out.reversed()
	}
	return out, ctx.Err()
}

// reversed says of the first log what was said of the second.
func (b Behind) reversed() Behind {
	b.Late.X, b.Smoothing.X = -b.Late.X, -b.Smoothing.X
	b.Scale = uncert.Value{X: 1 / b.Scale.X, U: b.Scale.U / (b.Scale.X * b.Scale.X)}
	return b
}

// valid leaves out what has no speed or no later instant.
func (s Series) valid() (out Series) {
	for i, v := range s.V {
		if v == v && (len(out.T) == 0 || s.T[i] > out.T[len(out.T)-1]) {
			out.T, out.V = append(out.T, s.T[i]), append(out.V, v)
		}
	}
	return out
}

func stepOf(t []float64) float64 {
	d := make([]float64, 0, len(t))
	for i := 1; i < len(t); i++ {
		d = append(d, t[i]-t[i-1])
	}
	return stats.Middle(d)
}

// curve is a speed on an even grid, NaN over holes.
type curve struct {
	from, h float64
	v       []float64
}

// newCurve draws a speed through its samples without overshoot.
func newCurve(s Series) *curve {
	step := stepOf(s.T)
	c := &curve{from: s.T[0], h: min(max(step/perStep, gridLeast), gridMost)}
	var f interp.FritschButland
	if f.Fit(s.T, s.V) != nil { // two points at least, and increasing
		return c
	}
	c.v = make([]float64, 1+int((s.T[len(s.T)-1]-c.from)/c.h))
	k := 1
	for i := range c.v {
		t := c.from + float64(i)*c.h
		for k < len(s.T)-1 && s.T[k] < t {
			k++
		}
		if c.v[i] = f.Predict(t); s.T[k]-s.T[k-1] > hole*step {
			c.v[i] = math.NaN()
		}
	}
	return c
}

// filtered is the curve behind a filter of the first order, which begins anew after holes.
func (c *curve) filtered(tau float64) *curve {
	if tau <= 0 {
		return c
	}
	out := &curve{from: c.from, h: c.h, v: make([]float64, len(c.v))}
	keep, y, since := math.Exp(-c.h/tau), math.NaN(), 0.0
	share := 1 - tau/c.h*(1-keep) // of the newer end of a straight piece
	for i, x := range c.v {
		if x != x || y != y || i == 0 {
			y, since = x, 0
			out.v[i] = math.NaN()
			if x != x {
				y = math.NaN()
			}
			continue
		}
		old := c.v[i-1]
		y = keep*y + (1-keep-share)*old + share*x
		since += c.h
		if out.v[i] = y; since < 3*tau { // where it began is forgotten
			out.v[i] = math.NaN()
		}
	}
	return out
}

// calmed is the curve smoothed to both sides alike, with a standard deviation in s.
func (c *curve) calmed(sd float64) *curve {
	out := &curve{from: c.from, h: c.h, v: make([]float64, len(c.v))}
	reach := int(calmReach * sd / c.h)
	w := make([]float64, 2*reach+1)
	sum := 0.0
	for i := range w {
		x := float64(i-reach) * c.h / sd
		w[i] = math.Exp(-x * x / 2)
		sum += w[i]
	}
	for i := range c.v {
		if i < reach || i+reach >= len(c.v) {
			out.v[i] = math.NaN()
			continue
		}
		for k, x := range w {
			out.v[i] += x / sum * c.v[i-reach+k]
		}
	}
	return out
}

// series are the points of a curve as far apart as the coarsest grid.
func (c *curve) series() (s Series) {
	for i := 0; i < len(c.v); i += max(1, int(math.Round(gridMost/c.h))) {
		if x := c.v[i]; x == x {
			s.T, s.V = append(s.T, c.from+float64(i)*c.h), append(s.V, x)
		}
	}
	return s
}

// at is the curve at t and its slope, NaN where it is not known.
func (c *curve) at(t float64) (v, slope float64) {
	x := (t - c.from) / c.h
	i := int(math.Floor(x))
	if i < 0 || i+1 >= len(c.v) {
		return math.NaN(), math.NaN()
	}
	d := c.v[i+1] - c.v[i]
	return c.v[i] + (x-float64(i))*d, d / c.h
}

// pairing is samples held against a curve.
type pairing struct {
	base *curve
	of   Series
}

// search finds about by how much the samples are late, without a filter.
func (p *pairing) search(ctx context.Context, far bool) (float64, error) {
	reach, step, stride := commonClock, nearStep, 1
	middle := 0.0
	if far {
		end := p.base.from + float64(len(p.base.v))*p.base.h
		lo, hi := p.of.T[0]-end, p.of.T[len(p.of.T)-1]-p.base.from
		middle, reach, step, stride = (lo+hi)/2, (hi-lo)/2, farStep, 1+len(p.of.T)/farSamples
	}
	best, least := math.NaN(), math.Inf(1)
	for d := middle - reach; d <= middle+reach; d += step {
		if ctx.Err() != nil {
			return 0, ctx.Err()
		}
		sum, n := 0.0, 0
		for i := 0; i < len(p.of.T); i += stride {
			x, _ := p.base.at(p.of.T[i] - d)
			if x == x && (x > moving || p.of.V[i] > moving) {
				sum, n = sum+math.Min(math.Abs(p.of.V[i]-x), wild), n+1
			}
		}
		if n*stride >= leastPairs && sum/float64(n) < least {
			best, least = d, sum/float64(n)
		}
	}
	if best != best || p.correlation(best) < like {
		return 0, ErrUnlike
	}
	return best, nil
}

// correlation is that of both speeds at a delay, where either moves.
func (p *pairing) correlation(d float64) float64 {
	var n, sx, sy, sxx, syy, sxy float64
	for i, t := range p.of.T {
		x, _ := p.base.at(t - d)
		if y := p.of.V[i]; x == x && (x > moving || y > moving) {
			n, sx, sy, sxx, syy, sxy = n+1, sx+x, sy+y, sxx+x*x, syy+y*y, sxy+x*y
		}
	}
	return (n*sxy - sx*sy) / math.Sqrt((n*sxx-sx*sx)*(n*syy-sy*sy))
}

// best is the fit with the time constant of least loss, and that loss.
func (p *pairing) best(d float64) (Behind, float64) {
	none := p.fit(0, d, 0)
	if none == nil {
		return Behind{}, math.Inf(1)
	}
	top := none
	try := func(tau float64) {
		if f := p.fit(tau, d-tau, none.scatter); f != nil && f.loss < top.loss {
			top = f
		}
	}
	for tau := tauStep; tau <= slowest; tau += max(tauStep, tauStep*math.Floor(tau/(4*tauStep))) {
		try(tau)
	}
	for _, near := range []float64{-2, -1, 1, 2} {
		if tau := top.tau + near*tauStep; tau > 0 {
			try(tau)
		}
	}
	if top.loss > none.loss-clearer {
		top = none
	}
	return p.judged(top), top.loss
}

// scatterOf is the robust standard deviation of differences.
func scatterOf(r []float64) float64 {
	abs := make([]float64, len(r))
	for i, x := range r {
		abs[i] = math.Abs(x)
	}
	slices.Sort(abs)
	return max(abs[len(abs)/2]/mad, leastScatter)
}

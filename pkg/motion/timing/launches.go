package timing

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/uncert"
)

// Launches is what a run's times are under each build-up of thrust that its readings
// support. The times follow from it for any probabilities of the build-ups: those of the
// run alone, or those that runs of the same mode teach each other.
type Launches struct {
	Told    ramp.Told // what the readings tell of the build-ups
	Paths   []Launch
	Cells   []Cell
	Stretch float64 // 95 % factor for the degrees of freedom of the samples' noise
	Blind   float64 // s, standard uncertainty of the launch that all of them share
	Untold  bool    // nothing tells which of the paths' filters the receiver has
}

// Launch is one path of a run.
type Launch struct {
	Ramp   int     // in ramp.All, and as many more for every filter before its own
	Weight float64 // probability of the path for the run alone
	At, SD float64 // s since the mean launch of the run alone, and its standard deviation
}

// Cell is one time under each path.
type Cell struct {
	Name   string // of the target, "" for the rollout itself
	From   Origin
	Middle float64   // s
	Off    []float32 // s, of each path's mean from Middle; NaN where it does not reach the target
	V      []float32 // s², variance within each path
	Shared float64   // s, standard uncertainty that all samples share
}

// Weights are the paths' probabilities under those of the ramps. A ramp's is shared out
// among its paths in proportion; ramps without a path are left out.
func (l *Launches) Weights(ramps []float64) []float64 {
	own := make([]float64, len(ramps))
	for _, p := range l.Paths {
		own[p.Ramp] += p.Weight
	}
	out := make([]float64, len(l.Paths))
	sum := 0.0
	for i, p := range l.Paths {
		if own[p.Ramp] > 0 {
			out[i] = ramps[p.Ramp] * p.Weight / own[p.Ramp]
			sum += out[i]
		}
	}
	if !(sum > 0) { // no path of the run has these build-ups: they tell nothing of it
		for i, p := range l.Paths {
			out[i] = p.Weight
			sum += p.Weight
		}
	}
	for i := range out {
		out[i] /= sum
	}
	return out
}

// Launch is the mean of the launch in s since that of the run alone, with its standard
// uncertainty.
func (l *Launches) Launch(weights []float64) uncert.Value {
	var m moments
	for i, p := range l.Paths {
		m.add(weights[i], p.At, p.SD*p.SD)
	}
	x, sd := m.value()
	return uncert.Value{X: x, U: math.Hypot(sd, l.Blind)}
}

// Mean is a cell's mean in s.
func (l *Launches) Mean(c *Cell, weights []float64) float64 {
	var m moments
	for i, w := range weights {
		if off := float64(c.Off[i]); !math.IsNaN(off) {
			m.add(w, off, 0)
		}
	}
	x, _ := m.value()
	return c.Middle + x
}

// Smoothing is how much of a cell's variance in s² is not knowing how the receiver
// smooths: all runs of the log share it.
func (l *Launches) Smoothing(c *Cell, weights []float64) (v float64) {
	var all moments
	of := make([]moments, len(l.Told.Filters))
	for i, w := range weights {
		if off := float64(c.Off[i]); !math.IsNaN(off) {
			all.add(w, off, 0)
			of[l.Paths[i].Ramp/len(ramp.All)].add(w, off, 0)
		}
	}
	x, _ := all.value()
	for _, m := range of {
		if m.w > 0 {
			d, _ := m.value()
			v += m.w / all.w * (d - x) * (d - x)
		}
	}
	return v
}

// Time is a cell's mean and the half-width of its 95 % interval, in s: the interval about
// the mean that holds 95 % of the paths' mixture, widened for shared uncertainty and for
// how well the noise is known. Where nothing tells how the receiver smooths, it holds most of
// the paths behind each filter: their probabilities are only assumed.
func (l *Launches) Time(c *Cell, weights []float64) (seconds, u95 float64) {
	parts := make([]part, 0, len(weights))
	of := make([][]part, len(l.Told.Filters)) // those behind each filter, where nothing tells which it is
	var all moments
	for i, w := range weights {
		if off := float64(c.Off[i]); !math.IsNaN(off) {
			p := part{w, off, float64(c.V[i])}
			parts = append(parts, p)
			all.add(p.w, p.mean, p.v)
			if l.Untold {
				f := l.Paths[i].Ramp / len(ramp.All)
				of[f] = append(of[f], p)
			}
		}
	}
	x, _ := all.value()
	u95 = half(parts, x, c.Shared, level)
	for _, parts := range of {
		u95 = max(u95, half(parts, x, c.Shared, untoldLevel))
	}
	return c.Middle + x, u95 * l.Stretch / uncert.Z95
}

// half is the half-width about x that holds a share of the mixture of paths, widened for shared
// uncertainty; 0 for none.
func half(parts []part, x, shared, share float64) float64 {
	var all moments
	for _, p := range parts {
		all.add(p.w, p.mean-x, p.v)
	}
	if all.w <= 0 {
		return 0
	}
	inside := func(u float64) float64 {
		sum := 0.0
		for _, p := range parts {
			sd := math.Sqrt(p.v+shared*shared) + leastSD
			a, b := (x+u-p.mean)/sd, (x-u-p.mean)/sd
			sum += p.w * 0.5 * (math.Erf(a/math.Sqrt2) - math.Erf(b/math.Sqrt2))
		}
		return sum / all.w
	}
	off, sd := all.value()
	lo, hi := 0.0, math.Abs(off)+uncert.Z95*math.Hypot(sd, shared)+leastHalf
	for inside(hi) < share && hi < mostHalf {
		lo, hi = hi, hi*halfGrows
	}
	return motion.Root(lo, hi, halfTol, func(u float64) float64 { return inside(u) - share })
}

package estimate

import (
	"math"

	"fromrest/pkg/motion"
)

// TraceBuilder accumulates the mean trace over the paths.
type TraceBuilder struct {
	t        []float64 // s since the mean launch
	launch   float64   // s on the samples' clock
	mean, sq [3][]float64
	within   [3][]float64 // variances inside one path
	slope    [3][]float64 // of the launch, per second
}

// NewTrace starts a trace from `before` seconds before the mean launch to the
// end of the window, on a grid of dt seconds.
func (e *Estimate) NewTrace(before, dt float64) *TraceBuilder {
	b := &TraceBuilder{launch: e.Launch.X}
	end := e.until - e.Launch.X
	start := max(-before, e.so.t[0]-e.Launch.X)
	start = math.Ceil(start/dt-motion.Slack) * dt
	n := int((end-start)/dt+motion.Slack) + 1
	for i := range n {
		b.t = append(b.t, start+float64(i)*dt)
	}
	for k := range b.mean {
		b.mean[k], b.sq[k] = make([]float64, n), make([]float64, n)
	}
	return b
}

// Slide takes in a path of the most probable hypothesis with its launch moved by its
// standard deviation in the direction of sign.
func (b *TraceBuilder) Slide(p *Path, sign float64) {
	for k := range b.slope {
		if b.slope[k] == nil {
			b.slope[k] = make([]float64, len(b.t))
		}
	}
	for i, t := range b.t {
		s, v, a := p.At(t + b.launch)
		for k, x := range [3]float64{s, v, a} {
			b.slope[k][i] += sign * x / (2 * p.SD)
		}
	}
}

// Add takes in a path. The spread within a path hardly differs from path to
// path, so it is taken from the first, the most probable.
func (b *TraceBuilder) Add(p *Path) {
	if b.within[0] == nil {
		for _, t := range b.t {
			s, v, a := p.SDAt(t + b.launch)
			for k, sd := range [3]float64{s, v, a} {
				b.within[k] = append(b.within[k], sd*sd)
			}
		}
	}
	for i, t := range b.t {
		s, v, a := p.At(t + b.launch)
		for k, x := range [3]float64{s, v, a} {
			va := b.within[k][i]
			if d := b.slope[k]; d != nil {
				va += d[i] * d[i] * p.SD * p.SD
			}
			b.mean[k][i] += p.Weight * x
			b.sq[k][i] += p.Weight * (x*x + va)
		}
	}
}

// Trace returns the mean trace with standard deviations.
func (b *TraceBuilder) Trace() motion.Trace {
	var sd [3][]float64
	for k, m := range b.mean {
		sd[k] = make([]float64, len(m))
		for i := range m {
			sd[k][i] = root(b.sq[k][i] - m[i]*m[i])
		}
	}
	return motion.Trace{T: b.t, S: b.mean[0], V: b.mean[1], A: b.mean[2], SS: sd[0], SV: sd[1], SA: sd[2]}
}

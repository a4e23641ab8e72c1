package figure

import (
	"math"

	"fromrest/pkg/session"
)

// ModeMean is the mean curve of the counted standing starts of one mode, as the figures
// of modes have it: the mean of both directions' means. It ends where its first run
// does. A half-width is that of the 95 % interval, NaN where the scatter is not known.
type ModeMean struct {
	Mode   string
	Series int // its line, see Options.Lines
	N      int // runs in it

	X     []float64 // along the level axis, in its unit, from the origin
	V, VU []float64 // speed and its half-width, in the reader's unit; none by speed
	A, AU []float64 // acceleration and its half-width, g
	T, TU []float64 // s from the origin and its half-width; none by time
}

// ModeMeans are the mean curves of modes against time, distance or speed, from the
// origin of the options. ErrNoMode is for runs without one that can be drawn.
func ModeMeans(runs []*session.TimedRun, by Against, o Options) ([]ModeMean, error) {
	modes := byMode(runs, o)
	if by == BySpeed {
		for _, m := range modes {
			for _, w := range m.views {
				w.rise()
			}
		}
	}
	out := make([]ModeMean, len(modes))
	for i, m := range modes {
		out[i] = ModeMean{Mode: m.name, Series: m.line, N: len(m.views)}
	}
	for _, q := range []struct {
		not Against
		y   func(*view) []float64
		of  func(*ModeMean) (mean, half *[]float64)
	}{
		{BySpeed, func(w *view) []float64 { return w.v }, func(m *ModeMean) (a, b *[]float64) { return &m.V, &m.VU }},
		{"", func(w *view) []float64 { return w.a }, func(m *ModeMean) (a, b *[]float64) { return &m.A, &m.AU }},
		{ByTime, func(w *view) []float64 { return w.t }, func(m *ModeMean) (a, b *[]float64) { return &m.T, &m.TU }},
	} {
		if by == q.not {
			continue
		}
		ps := profiles(modes, func(w *view) (x, y []float64) { return w.along(by), q.y(w) })
		if len(ps) == 0 || !drawable(ps) {
			return nil, ErrNoMode
		}
		for i, p := range ps {
			mean, half := q.of(&out[i])
			out[i].X, *mean, *half = p.x, p.mean, p.half
		}
	}
	return out, nil
}

// rise leaves of a view the instants at which the speed is higher than ever before, so
// that it can be drawn against speed.
func (w *view) rise() {
	top, n := math.Inf(-1), 0
	for i, v := range w.v {
		if !(v > top) {
			continue
		}
		top = v
		for _, c := range [][]float64{w.t, w.s, w.v, w.a, w.sv, w.sa} {
			c[n] = c[i]
		}
		n++
	}
	for _, c := range []*[]float64{&w.t, &w.s, &w.v, &w.a, &w.sv, &w.sa} {
		*c = (*c)[:n]
	}
}

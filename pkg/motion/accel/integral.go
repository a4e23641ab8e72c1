package accel

import (
	"cmp"
	"math"
	"slices"
	"sort"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/stats"
)

// integrate makes the integrals.
func (s *Sensor) integrate(a *recording.Accel, gaps []int, clips [][2]int) {
	n := a.Len()
	s.T = make([]float64, n)
	for i, nano := range a.NanoUTC {
		s.T[i] = seconds(nano, s.first)
	}
	for _, x := range s.Axes {
		mean := centre(x)
		w := make([]float64, n)
		last := x[0] - mean
		if !(math.Abs(last) < Wild) {
			last = 0
		}
		for i := 1; i < n; i++ {
			v := x[i] - mean
			if !(math.Abs(v) < Wild) {
				v = last // no value; its span is marked below
			}
			w[i] = w[i-1] + 0.5*(v+last)*(s.T[i]-s.T[i-1])
			last = v
		}
		s.Mean, s.W = append(s.Mean, mean), append(s.W, w)
	}
	for _, i := range gaps {
		s.broken = append(s.broken, [2]float64{s.T[i-1], s.T[i]})
	}
	for _, c := range clips {
		s.breakAt(c[0], c[1])
	}
	s.markMissing()
	s.broken = merge(s.broken)
}

// breakAt marks the samples from i to before j as broken, with the intervals on
// either side of them.
func (s *Sensor) breakAt(i, j int) {
	s.broken = append(s.broken, [2]float64{s.T[max(i-1, 0)], s.T[min(j, len(s.T)-1)]})
}

// markMissing marks samples without a value on any axis as broken.
func (s *Sensor) markMissing() {
	for l, x := range s.Axes {
		lost := func(i int) bool { return !(math.Abs(x[i]-s.Mean[l]) < Wild) }
		for i := 0; i < len(x); i++ {
			if !lost(i) {
				continue
			}
			j := i
			for j < len(x) && lost(j) {
				j++
			}
			s.breakAt(i, j)
			i = j
		}
	}
}

// merge puts spans in order and joins those that touch.
func merge[T int | float64](spans [][2]T) [][2]T {
	slices.SortFunc(spans, func(x, y [2]T) int { return cmp.Compare(x[0], y[0]) })
	out := spans[:0]
	for _, s := range spans {
		if n := len(out); n > 0 && s[0] <= out[n-1][1] {
			out[n-1][1] = max(out[n-1][1], s[1])
			continue
		}
		out = append(out, s)
	}
	return out
}

// centre is about the middle of an axis.
func centre(s []float64) float64 {
	v := make([]float64, 0, enoughSamples)
	for i := 0; i < len(s); i += len(s)/enoughSamples + 1 {
		if s[i] == s[i] {
			v = append(v, s[i])
		}
	}
	return stats.Middle(v)
}

// End is the last sample's instant in s.
func (s *Sensor) End() float64 { return s.T[len(s.T)-1] }

// Since is the first sample's instant in s of a clock that begins at start, by
// the sensor's own stamps.
func (s *Sensor) Since(start time.Time) float64 { return seconds(s.first, recording.Nano(start)) }

// Hit reports whether a broken span overlaps the span from lo to hi in s; k is
// where to look first and is moved on, so that spans must be asked for in order.
func (s *Sensor) Hit(lo, hi float64, k *int) bool {
	for *k < len(s.broken) && s.broken[*k][1] <= lo {
		*k++
	}
	return *k < len(s.broken) && s.broken[*k][0] < hi
}

// Reader reads the integrals at instants that mostly increase.
type Reader struct {
	s *Sensor
	i int
}

// Reader returns a reader that begins at the first sample.
func (s *Sensor) Reader() Reader { return Reader{s: s} }

// Seek returns the sample before an instant x in s and the share of the interval
// after it that lies before x; the share is NaN outside the log.
func (r *Reader) Seek(x float64) (i int, share float64) {
	t := r.s.T
	n := len(t)
	if !(x >= t[0] && x <= t[n-1]) {
		return r.i, math.NaN()
	}
	if x < t[r.i] || r.i+farAhead < n && x > t[r.i+farAhead] {
		r.i = max(sort.SearchFloat64s(t, x)-1, 0)
	}
	for r.i < n-2 && t[r.i+1] < x {
		r.i++
	}
	if h := t[r.i+1] - t[r.i]; h > 0 {
		return r.i, (x - t[r.i]) / h
	}
	return r.i, 0
}

// Along is the integral in a direction at x, in m/s; NaN outside the log.
func (r *Reader) Along(x float64, dir []float64) float64 {
	i, f := r.Seek(x)
	sum := 0.0
	for j, w := range r.s.W {
		sum += dir[j] * (w[i] + f*(w[i+1]-w[i]))
	}
	return sum
}

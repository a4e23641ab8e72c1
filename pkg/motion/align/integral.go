package align

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"fromrest/pkg/recording"
)

// integral is the running integral of each axis, less its middle, over the
// sensor's own time. Differences of it are mean accelerations over any span
// at no cost, and its noise is small.
type integral struct {
	t      []float64    // s since the first sample
	w      [][]float64  // m/s, of each axis
	mean   []float64    // m/s², taken off each axis: its middle
	broken [][2]float64 // s, spans that cannot be integrated over: gaps and clipped samples, in order
}

// integrate makes the integrals.
func integrate(a *recording.Accel, gaps []int, clips [][2]int) *integral {
	n := a.Len()
	in := &integral{t: make([]float64, n)}
	for i, nano := range a.NanoUTC {
		in.t[i] = seconds(nano, a.NanoUTC[0])
	}
	for _, s := range axesOf(a) {
		mean := centre(s)
		w := make([]float64, n)
		last := s[0] - mean
		if !(math.Abs(last) < wild) {
			last = 0
		}
		for i := 1; i < n; i++ {
			v := s[i] - mean
			if !(math.Abs(v) < wild) {
				v = last // no value; its span is marked below
			}
			w[i] = w[i-1] + 0.5*(v+last)*(in.t[i]-in.t[i-1])
			last = v
		}
		in.mean, in.w = append(in.mean, mean), append(in.w, w)
	}
	for _, i := range gaps {
		in.broken = append(in.broken, [2]float64{in.t[i-1], in.t[i]})
	}
	for _, c := range clips {
		in.broken = append(in.broken, [2]float64{in.t[max(c[0]-1, 0)], in.t[min(c[1], n-1)]})
	}
	in.markMissing(axesOf(a))
	in.broken = merge(in.broken)
	return in
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

// wild is how far a sample may be from the middle of its axis, in m/s²: 40 g, even
// in the wrong unit, is a damaged value.
const wild = 400.0

// centre is about the middle of an axis.
func centre(s []float64) float64 {
	v := make([]float64, 0, 2048)
	for i := 0; i < len(s); i += len(s)/2000 + 1 {
		if s[i] == s[i] {
			v = append(v, s[i])
		}
	}
	return middle(v)
}

// markMissing marks samples without a value on any axis as broken.
func (in *integral) markMissing(axes [][]float64) {
	for l, s := range axes {
		lost := func(i int) bool { return !(math.Abs(s[i]-in.mean[l]) < wild) }
		for i := 0; i < len(s); i++ {
			if !lost(i) {
				continue
			}
			j := i
			for j < len(s) && lost(j) {
				j++
			}
			in.broken = append(in.broken, [2]float64{in.t[max(i-1, 0)], in.t[min(j, len(s)-1)]})
			i = j
		}
	}
}

// end is the last sample's instant in s.
func (in *integral) end() float64 { return in.t[len(in.t)-1] }

// reader reads an integral at instants that mostly increase.
type reader struct {
	in *integral
	i  int
}

// seek puts the reader on the interval that holds x and returns the share of it
// before x; instants outside the log are NaN.
func (r *reader) seek(x float64) float64 {
	t := r.in.t
	n := len(t)
	if !(x >= t[0] && x <= t[n-1]) {
		return math.NaN()
	}
	if x < t[r.i] || r.i+256 < n && x > t[r.i+256] {
		r.i = max(sort.SearchFloat64s(t, x)-1, 0)
	}
	for r.i < n-2 && t[r.i+1] < x {
		r.i++
	}
	if h := t[r.i+1] - t[r.i]; h > 0 {
		return (x - t[r.i]) / h
	}
	return 0
}

// along is the integral in a direction at x, in m/s.
func (r *reader) along(x float64, dir []float64) float64 {
	f := r.seek(x)
	sum := 0.0
	for j, w := range r.in.w {
		sum += dir[j] * (w[r.i] + f*(w[r.i+1]-w[r.i]))
	}
	return sum
}

// hit reports whether a broken span overlaps the span from lo to hi; k is where
// to look first and is moved on, so that spans must be asked for in order.
func (in *integral) hit(lo, hi float64, k *int) bool {
	for *k < len(in.broken) && in.broken[*k][1] <= lo {
		*k++
	}
	return *k < len(in.broken) && in.broken[*k][0] < hi
}

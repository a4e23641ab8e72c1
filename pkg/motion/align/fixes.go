package align

import (
	"math"
	"slices"

	"fromrest/pkg/stats"
)

// fixes are the speeds under the sensor's log.
type fixes struct {
	t, y  []float64 // s on Speed's clock, m/s
	r     []float64 // m²/s², variance
	still []int     // 0 moving, else which one of a standstill's this is, from 1
	reset []bool    // nothing connects it with the one before
	skip  []bool
}

// gather takes the speeds that the sensor's log covers with some room for the
// offset to move.
func (l *aligner) gather(room float64) *fixes {
	f := &fixes{}
	signed := slices.ContainsFunc(l.sp.V, func(v float64) bool { return v < 0 })
	rest, nth, k := 0, 0, 0
	last := math.NaN()
	for i, t := range l.sp.T {
		x := t - l.zero
		if x < room || x > l.s.End()-room {
			continue
		}
		y, u := l.sp.V[i], l.sp.U[i]
		if !signed {
			// The length of a noisy vector is too long by u²/2v (Rice).
			y = math.Sqrt(max(y*y-u*u, 0))
		}
		for rest < len(l.still) && l.still[rest][1] < t {
			rest, nth = rest+1, 0
		}
		skip, still := false, 0
		if rest < len(l.still) && t >= l.still[rest][0] {
			if t < l.still[rest][0]+shy || t > l.still[rest][1]-shy {
				skip = true
			} else {
				nth++
				y, u, still = 0, stillSD, nth
			}
		}
		f.t, f.y, f.r = append(f.t, t), append(f.y, y), append(f.r, u*u)
		f.still, f.skip = append(f.still, still), append(f.skip, skip)
		f.reset = append(f.reset, last != last || l.s.Hit(last, x, &k))
		last = x
	}
	return f
}

// moving counts the fixes that are used and not at rest.
func (f *fixes) moving() int {
	n := 0
	for i := range f.t {
		if !f.skip[i] && f.still[i] == 0 {
			n++
		}
	}
	return n
}

// leaveOut marks the fixes that the integral cannot be held against, by what e
// is left over of each in m/s: outliers, and stretches in which the speed's slope
// is another.
func (f *fixes) leaveOut(e []float64) {
	n := len(e)
	odd := make([]float64, n)
	var all []float64
	var near [5]float64
	for i := 2; i+2 < n; i++ {
		copy(near[:], e[i-2:i+3])
		slices.Sort(near[:])
		odd[i] = math.Abs(e[i] - near[2])
		if f.still[i] == 0 && !f.skip[i] {
			all = append(all, odd[i])
		}
	}
	limit := max(oddTimes*madSD*stats.Middle(all), oddLeast)
	for i, d := range odd {
		if d > limit && f.still[i] == 0 {
			f.skip[i] = true
		}
	}
	f.leaveOutBacking(e, limit)
}

// leaveOutBacking marks stretches of a second and more in which e slopes.
func (f *fixes) leaveOutBacking(e []float64, limit float64) {
	j := 0
	bad := make([]bool, len(e))
	for i := range e {
		if f.skip[i] {
			continue
		}
		j = max(j, i+1)
		for j < len(e) && (f.t[j]-f.t[i] < backingSpan || f.skip[j]) {
			j++
		}
		if j >= len(e) {
			break
		}
		d := f.t[j] - f.t[i]
		if d < backingHole && math.Abs(e[j]-e[i]) > backing*d+limit {
			for k := i; k <= j; k++ {
				bad[k] = true
			}
		}
	}
	for i, b := range bad {
		if b && f.still[i] == 0 {
			f.skip[i] = true
		}
		if i > 0 && bad[i-1] {
			f.reset[i] = true // what built up meanwhile tells nothing
		}
	}
}

package estimate

import (
	"math"
	"slices"
	"sort"

	"fromrest/pkg/motion"
)

// Forward is an accelerometer's forward axis, aligned and put on the samples'
// clock: gain, bias and clock offset are already taken out as well as they are
// known. Columns have equal length.
type Forward struct {
	T   []float64 // s on the samples' clock, increasing
	A   []float64 // m/s², forward
	Bad []bool    // not to be used: clipped or doubtful; may be nil

	Rate         float64 // Hz
	Rest, Moving float64 // m/s², standard deviation of one sample at rest and under way
	Rho          float64 // correlation of neighbouring samples' noise
	OffsetU      float64 // s, standard uncertainty of the clock offset at Middle, common to the log
	DriftU       float64 // standard uncertainty of the clock's rate
	Middle       float64 // s on the samples' clock
	BiasU        float64 // m/s², standard uncertainty of the bias at one standstill

	square []float64 // m²/s⁴, running sum of squared second differences
	usual  float64   // m²/s⁴, mean roughness under way
}

// offsetU is the standard uncertainty of the clock offset at an instant, in s.
func (f *Forward) offsetU(t float64) float64 {
	return math.Hypot(f.OffsetU, f.DriftU*(t-f.Middle))
}

// First is the first sample not before an instant of the samples' clock.
func (f *Forward) First(t float64) int { return sort.SearchFloat64s(f.T, t) }

// push is one reading of the forward acceleration: the mean of n samples.
type push struct {
	t, a  float64 // s, m/s²
	n     float64
	rough float64 // m²/s⁴, mean square of the second differences about it
	v     float64 // m²/s⁴, variance of one of the samples
	bad   bool
}

// pushes prepares the accelerometer for a window in its time direction: fine
// about the launch between from and to, coarse elsewhere; shift moves its clock.
func (s *Samples) pushes(w Window, from, to, shift float64) []push {
	f := s.Accel
	if f == nil {
		return nil
	}
	if w.Reversed {
		from, to = -to, -from
	}
	begin, end := s.T[w.From], s.T[w.To-1]
	if w.Standing && !w.Reversed {
		// The stop before may end between two samples, and the body rocks after it.
		rock := min(s.Step+rocks, rocksShare*(s.T[w.Moving]-begin))
		begin = max(begin+rock, from-learnRest)
	} else if w.Standing {
		end = min(end, to+learnRest)
	}
	i := f.First(begin - shift)
	var out []push
	var sum push
	flush := func() {
		if sum.n > 0 {
			out = append(out, push{t: sum.t / sum.n, a: sum.a / sum.n, n: sum.n, rough: sum.rough / sum.n})
		}
		sum = push{}
	}
	first := 0.0
	for ; i < len(f.T) && f.T[i]+shift <= end; i++ {
		if f.bad(i) {
			flush()
			continue
		}
		t := f.T[i] + shift
		step := coarseStep
		if t > from && t < to {
			step = fineStep
		}
		if sum.n > 0 && t-first > step-0.5/f.Rate {
			flush()
		}
		if sum.n == 0 {
			first = t
		}
		sum.t, sum.a, sum.n = sum.t+t, sum.a+f.A[i], sum.n+1
		sum.rough += f.roughness(i)
	}
	flush()
	if w.Reversed {
		slices.Reverse(out)
		for i := range out {
			out[i].t, out[i].a = -out[i].t, -out[i].a
		}
	}
	return out
}

// widen is how much neighbouring samples' correlation widens the mean of several.
func (f *Forward) widen() float64 {
	r := min(max(f.Rho, 0), motion.MostRho)
	return (1 + r) / (1 - r)
}

// startVariance is the variance of one sample to start from.
func (f *Forward) startVariance() float64 {
	v := assumedShake * assumedShake
	if f.Moving > 0 || f.Rest > 0 { // neither is where they are not known
		v = leastShakeVariance
	}
	for _, sd := range [2]float64{f.Rest, f.Moving} {
		if sd > 0 {
			v = max(v, sd*sd)
		}
	}
	return v * f.widen()
}

// biasVariance is the variance of the bias before a standstill has told it.
func (f *Forward) biasVariance() float64 {
	return f.BiasU*f.BiasU + leastBias*leastBias
}

// markKnocks marks as bad the samples in which the sensor was struck: a blow is no
// motion of the vehicle, and its noise is nothing like the vibration around it.
func (f *Forward) markKnocks() {
	n := len(f.A)
	if n < leastKnocks {
		return
	}
	off := make([]float64, n)
	for i := 2; i+2 < n; i++ {
		w := [5]float64{f.A[i-2], f.A[i-1], f.A[i], f.A[i+1], f.A[i+2]}
		slices.Sort(w[:])
		off[i] = math.Abs(f.A[i] - w[2])
	}
	if f.Bad == nil {
		f.Bad = make([]bool, n)
	}
	// A log may stand still for most of its time: what is usual is that of the
	// second, unless that is less than what the log has.
	usual := median(slices.Clone(off))
	second := max(int(f.Rate), leastSecond)
	for a := 0; a < n; a += second {
		b := min(a+second, n)
		limit := knockAt * motion.SDOfMedian * max(median(slices.Clone(off[a:b])), usual)
		if limit == 0 {
			continue
		}
		for i := a; i < b; i++ {
			if off[i] <= limit {
				continue
			}
			for j := max(i-knockNear, 0); j <= min(i+knockNear, n-1); j++ {
				f.Bad[j] = true
			}
		}
	}
}

// Attach gives the samples an accelerometer: blows to it are marked, and its
// roughness is summed up once for all runs.
func (s *Samples) Attach(f *Forward) {
	f.markKnocks()
	f.sumRoughness()
	i := 0
	sum, n := 0.0, 0.0
	for k, t := range f.T {
		for i+1 < len(s.T) && s.T[i+1] <= t {
			i++
		}
		if s.Speed[i] > movingAt && k%everyTenth == 0 {
			sum, n = sum+f.roughness(k), n+1
		}
	}
	f.usual = 1
	if sum > 0 {
		f.usual = sum / n
	}
	s.Accel = f
}

// sumRoughness sums up the squared second differences.
func (f *Forward) sumRoughness() {
	n := len(f.A)
	f.square = make([]float64, n+1)
	for i := range n {
		d := 0.0
		if i > 0 && i+1 < n && !f.bad(i-1) && !f.bad(i) && !f.bad(i+1) {
			d = f.A[i-1] - 2*f.A[i] + f.A[i+1]
		}
		f.square[i+1] = f.square[i] + d*d
	}
}

func (f *Forward) bad(i int) bool { return f.Bad != nil && f.Bad[i] || math.IsNaN(f.A[i]) }

// roughness is the mean square of the second differences about a sample: the
// vehicle's own motion hardly shows in it.
func (f *Forward) roughness(i int) float64 {
	if f.square == nil {
		return 1
	}
	half := int(roughSpan * f.Rate / 2)
	a, b := max(i-half, 0), min(i+half+1, len(f.A))
	return (f.square[b] - f.square[a]) / float64(b-a)
}

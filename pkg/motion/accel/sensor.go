package accel

import (
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/recording"
)

// Sensor is an accelerometer's log with what every use of it needs. The running
// integral of each axis, less its middle, is kept over the sensor's own time:
// differences of it are mean accelerations over any span at no cost, and its noise
// is small.
type Sensor struct {
	Rate float64     // Hz
	T    []float64   // s since the first sample
	Axes [][]float64 // m/s² as logged, one axis or three
	W    [][]float64 // m/s, the integral of each axis
	Mean []float64   // m/s², taken off each axis: its middle

	first  int64        // packed instant of the first sample
	step   float64      // m/s² as logged, the coarsest of the axes' steps
	broken [][2]float64 // s, spans that cannot be integrated over: gaps and clipped samples, in order
}

// Open reads an accelerometer's log. An Alignment comes with it that holds what is
// known without the mounting; its Reason says why the sensor is of no use.
func Open(a *recording.Accel) (*Sensor, *Alignment) {
	al := &Alignment{UpU: math.NaN(), ForwardU: math.NaN(), Rest: math.NaN(), Moving: math.NaN()}
	if al.Reason = al.unusable(a); al.Reason != "" {
		return nil, al
	}
	clips := findClips(a)
	for _, c := range clips {
		al.Clipped += c[1] - c[0]
	}
	if n := float64(a.Len()); float64(al.Clipped) > mostClip*n+1 {
		al.Reason = fmt.Sprintf("%.1f %% of its samples are at the end of its range", 100*float64(al.Clipped)/n)
	}
	s := &Sensor{Rate: al.Rate, Axes: axesOf(a), first: a.NanoUTC[0]}
	for _, x := range s.Axes {
		if q := stepOf(x); !math.IsInf(q, 0) {
			s.step = max(s.step, q)
		}
	}
	s.integrate(a, findGaps(a, al.Rate), clips)
	return s, al
}

// axesOf returns the sensor's axes, one or three.
func axesOf(a *recording.Accel) [][]float64 {
	if a.Y == nil || a.Z == nil {
		return [][]float64{a.X}
	}
	return [][]float64{a.X, a.Y, a.Z}
}

// seconds is a minus b, packed instants that may lie too far apart for an int64
// of ns.
func seconds(a, b int64) float64 {
	const s = 1_000_000_000
	return float64(a/s-b/s) + float64(a%s-b%s)/s
}

// unusable says what is wrong with a sensor before anything is known of its
// mounting, and fills in its rate and gaps; "" where nothing is.
func (al *Alignment) unusable(a *recording.Accel) string {
	n := a.Len()
	if n < 3 {
		return fmt.Sprintf("it has %d samples", n)
	}
	al.Rate = rateOf(a)
	length := seconds(a.NanoUTC[n-1], a.NanoUTC[0])
	if al.Rate < LeastRate*rateSlack {
		return fmt.Sprintf("it gives %.1f samples a second, at least %.0f are needed", al.Rate, LeastRate)
	}
	if length < shortest {
		return fmt.Sprintf("its log is %.1f s long, at least %.0f s are needed", length, shortest)
	}
	lost := 0.0
	for _, i := range findGaps(a, al.Rate) {
		al.Gaps++
		lost += seconds(a.NanoUTC[i], a.NanoUTC[i-1])
	}
	if lost > mostGap*length {
		return fmt.Sprintf("samples are missing for %.0f s of %.0f s, in %d gaps", lost, length, al.Gaps)
	}
	for _, s := range axesOf(a) {
		if slices.ContainsFunc(s, func(v float64) bool { return math.IsInf(v, 0) }) {
			return "its samples are not finite"
		}
	}
	return ""
}

// rateOf returns the sensor's rate in Hz from the median interval.
func rateOf(a *recording.Accel) float64 {
	n := a.Len()
	// The median of all intervals needs no more than a part of them.
	step := max(1, n/enoughIntervals)
	d := make([]float64, 0, n/step+1)
	for i := 1; i < n; i += step {
		if x := a.NanoUTC[i] - a.NanoUTC[i-1]; x > 0 {
			d = append(d, float64(x))
		}
	}
	if len(d) == 0 {
		return 0
	}
	slices.Sort(d)
	// The mean of the middle half is finer than the steps stamps come in.
	sum, k := 0.0, 0
	for _, x := range d[len(d)/4 : len(d)-len(d)/4] {
		sum, k = sum+x, k+1
	}
	return 1e9 * float64(k) / sum
}

// findGaps returns the indices of the samples that come after a gap.
func findGaps(a *recording.Accel, rate float64) []int {
	if rate <= 0 {
		return nil
	}
	var out []int
	limit := int64(max(gapIntervals/rate, leastGap) * 1e9)
	for i := 1; i < a.Len(); i++ {
		if a.NanoUTC[i]-a.NanoUTC[i-1] > limit {
			out = append(out, i)
		}
	}
	return out
}

// findClips returns the stretches [from, to) in which an axis stands at the end
// of its range: its extreme value several times in a row, away from its rest,
// and piled up there.
func findClips(a *recording.Accel) [][2]int {
	var out [][2]int
	for _, s := range axesOf(a) {
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, v := range s {
			lo, hi = min(lo, v), max(hi, v) // NaN spreads only where all are NaN
		}
		if hi-lo < leastLevels*stepOf(s) {
			continue // a coarse sensor that hardly moves stands at its extremes too
		}
		for _, end := range [2]float64{lo, hi} {
			out = append(out, clipsAt(s, end, hi-lo)...)
		}
	}
	return merge(out)
}

// stepOf is the least step between neighbouring samples.
func stepOf(s []float64) float64 {
	q := math.Inf(1)
	for i := 1; i < len(s); i++ {
		if d := math.Abs(s[i] - s[i-1]); d > 0 && d < q {
			q = d
		}
	}
	return q
}

// clipsAt returns the stretches in which s stands at its extreme value end; span
// is the width of its range.
func clipsAt(s []float64, end, span float64) [][2]int {
	if span <= 0 || math.IsNaN(span) || math.IsInf(span, 0) {
		return nil
	}
	var runs [][2]int
	at, near := 0, 0
	for i := 0; i < len(s); i++ {
		if d := math.Abs(s[i] - end); d > 0 {
			if d < nearEnd*span {
				near++
			}
			continue
		}
		j := i
		for j < len(s) && s[j] == end {
			j++
		}
		at += j - i
		if j-i >= leastClip {
			runs = append(runs, [2]int{i, j})
		}
		i = j
	}
	// A coarse sensor repeats values too, but thins out towards its extremes.
	if len(runs) == 0 || at < near {
		return nil
	}
	return runs
}

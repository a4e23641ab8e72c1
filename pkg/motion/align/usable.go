package align

import (
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/recording"
)

// What makes a sensor usable.
const (
	// LeastRate is the slowest useful sensor, in Hz: an alarm at 10 Hz cannot
	// place a launch better than a receiver does.
	LeastRate = 20.0
	// gapIntervals is how many sample intervals without a sample make a gap.
	gapIntervals = 5.0
	// mostGap is the share of the log that gaps may take.
	mostGap = 0.1
	// leastClip is how many equal extreme values in a row are clipped.
	leastClip = 3
	// leastLevels is how many steps of its resolution an axis must have gone
	// through.
	leastLevels = 40
	// mostClip is the share of the samples under way that may be clipped.
	mostClip = 0.01
	// shortest is the least length of a log worth aligning, in s.
	shortest = 10.0
)

// rateOf returns the sensor's rate in Hz from the median interval.
func rateOf(a *recording.Accel) float64 {
	n := a.Len()
	if n < 3 {
		return 0
	}
	// The median of all intervals needs no more than a part of them.
	step := max(1, n/20000)
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
	limit := int64(max(gapIntervals/rate, 0.1) * 1e9)
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
			if d < 0.02*span {
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

// overClipped says if too many samples are at the end of the range.
func (al *Alignment) overClipped(a *recording.Accel) string {
	if n := float64(a.Len()); float64(al.Clipped) > mostClip*n+1 {
		return fmt.Sprintf("%.1f %% of its samples are at the end of its range", 100*float64(al.Clipped)/n)
	}
	return ""
}

// coarsest is the coarsest step, in m/s², in which a usable sensor may read.
const coarsest = 0.6

// tooCoarse says if the sensor reads in steps that its noise does not bridge.
func (al *Alignment) tooCoarse(a *recording.Accel) string {
	q := 0.0
	for _, s := range axesOf(a) {
		if x := stepOf(s); !math.IsInf(x, 0) {
			q = max(q, x)
		}
	}
	al.step = q
	if f := al.factor(); q*f > coarsest {
		return fmt.Sprintf("it reads in steps of %.2g m/s², %.1g at most can be used", q*f, coarsest)
	}
	return ""
}

// unusable says what is wrong with a sensor before anything is known of its
// mounting, and fills in what it found; "" where nothing is.
func (al *Alignment) unusable(a *recording.Accel) string {
	n := a.Len()
	if n < 3 {
		return fmt.Sprintf("it has %d samples", n)
	}
	al.Rate = rateOf(a)
	length := seconds(a.NanoUTC[n-1], a.NanoUTC[0])
	if al.Rate < LeastRate*0.97 {
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
		for _, v := range s {
			if math.IsInf(v, 0) {
				return "its samples are not finite"
			}
		}
	}
	return ""
}

package estimate

import (
	"math"
	"slices"

	"fromrest/pkg/recording"
)

// findHold looks for static hold: rest shown as exactly 0, and no speed between
// 0 and a threshold far above the step.
func (s *Samples) findHold() {
	zeros, low := 0, math.Inf(1)
	var small []float64
	for i := range s.T {
		switch v := s.Speed[i]; {
		case v == 0:
			zeros++
		case v < underWay:
			small = append(small, v)
			low = min(low, v)
		}
	}
	if zeros < leastZeros {
		return
	}
	if len(small) == 0 || low > mostHold {
		s.holdBeneathNoise()
		return
	}
	slices.Sort(small)
	// A stray small value must not hide the threshold.
	thr := small[len(small)/strayShare]
	if low > sharpHold*thr {
		thr = low
	}
	if s.Source != recording.Wheel && thr > mostHold {
		return // a hard launch between two samples, not a threshold
	}
	if thr > holdSteps*s.Quantum && thr > leastHold || s.Quantum > 0 && thr >= s.Quantum {
		s.Hold = max(thr, s.Quantum)
	}
	if s.Hold > holdSteps*s.Quantum && low > sharpHold*thr && s.snaps() {
		s.Static = s.Hold
	}
	if s.Hold > 0 && s.Source == recording.Wheel {
		// A bus that shows nothing below a threshold is also late about it, and a
		// logger may have drawn a line from 0 to its first reading.
		s.Hold = max(holdMargin*s.Hold, blindWheel)
	}
	for i := range s.T {
		s.Held[i] = s.Hold > 0 && (s.Speed[i] == 0 || s.Source == recording.Wheel && s.Speed[i] < s.Hold)
	}
}

// snaps reports whether speed leaves 0 or reaches it by more than it changes by beside it: at a
// threshold, and not by a pull that began between two samples.
func (s *Samples) snaps() bool {
	for i := 1; i+1 < len(s.T); i++ {
		a, b, c := s.Speed[i-1], s.Speed[i], s.Speed[i+1]
		if !s.Out[i] && b > 0 && (a == 0 && b > holdJump*math.Abs(c-b) || c == 0 && b > holdJump*math.Abs(a-b)) {
			return true
		}
	}
	return false
}

// holdBeneathNoise finds static hold where the log has no speed near the threshold: a
// receiver whose noise under way is more than the step would not show rest as exactly 0.
func (s *Samples) holdBeneathNoise() {
	if s.Source != recording.GNSS {
		return
	}
	if rough, n := s.roughness(); n < manyRough || rough < noisyHold*max(s.Quantum, leastHold/2) {
		return
	}
	s.Hold, s.Static = mostHold, mostHold
	for i := range s.T {
		s.Held[i] = s.Speed[i] == 0
	}
}

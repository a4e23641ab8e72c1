package compare

import (
	"math"
	"slices"

	"fromrest/pkg/stats"
)

// runsNeeded returns how many more runs in each mode would find
// Options.Smallest with Options.Power, -1 where no practical number would.
func (d *data) runsNeeded(v *variance, opts *Options) int {
	if !(v.s2 > 0) {
		return -1
	}
	now := math.MaxInt
	for m := range d.names {
		now = min(now, len(d.seconds(m)))
	}
	n, ok := RunsFor(opts.Smallest, math.Sqrt(v.s2), slices.Max(v.shared), len(d.names), opts.Power)
	if !ok {
		return -1
	}
	return max(n-now, 1)
}

// RunsFor returns the runs in each of several modes that find a difference with
// the given power when the scatter is sd; shared is what each mode's mean keeps
// however many runs there are. Differences and deviations are in s. It is false
// where more than 200 would be needed.
func RunsFor(difference, sd, shared float64, modes int, power float64) (int, bool) {
	for n := 2; n <= mostNeeded; n++ {
		if PowerOf(difference, sd, shared, modes, n) >= power {
			return n, true
		}
	}
	return 0, false
}

// PowerOf is the chance that n runs in each mode tell two modes apart whose
// means differ as given, the other modes lying between them. One degree of
// freedom goes to the direction and one to the drift. It is the power of the F
// test of all modes, the hardest step of the verdict.
func PowerOf(difference, sd, shared float64, modes, n int) float64 {
	df := float64(modes*(n-1)) - 2
	if df < 1 {
		return 0
	}
	r := float64(modes - 1)
	se2 := sd*sd/float64(n) + shared*shared
	return stats.NoncentralFSurvival(stats.FQuantile(Alpha, r, df), r, df, difference*difference/(2*se2))
}

// detectable is the smallest difference found with the wanted power.
func detectable(sd float64, modes, n int, power float64) float64 {
	lo, hi := 0.0, sd
	for PowerOf(hi, sd, 0, modes, n) < power {
		lo, hi = hi, 2*hi
		if hi > mostTimes*sd {
			return math.NaN()
		}
	}
	for range halvings {
		mid := (lo + hi) / 2
		if PowerOf(mid, sd, 0, modes, n) < power {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

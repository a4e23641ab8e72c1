package align

import (
	"context"
	"math"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/recording"
)

// Smoothed is a sensor behind a filter of the first order with a time constant in s: what a
// receiver that smooths its speed shows is the integral of that.
func Smoothed(a *recording.Accel, tau float64) *recording.Accel {
	out := *a
	for _, axis := range []*[]float64{&out.X, &out.Y, &out.Z} {
		if *axis != nil {
			*axis = smoothed(a.NanoUTC, *axis, tau)
		}
	}
	return &out
}

func smoothed(nano []int64, x []float64, tau float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		if out[i] = x[i]; i > 0 {
			e := math.Exp(-float64(nano[i]-nano[i-1]) / 1e9 / tau)
			// Between two samples the reading runs in a line.
			mean := (x[i] + x[i-1]) / 2
			out[i] = e*out[i-1] + (1-e)*mean
		}
	}
	return out
}

// ReceiverLag is the time constant in s of a filter of the first order in the receiver that
// the speed and a sensor tell together, with the alignment behind it, which took the speed
// as it is; 0 where none makes the speeds likelier by as much as is asked for. Its own
// uncertainty is some hundredths of a second.
func ReceiverLag(ctx context.Context, a *recording.Accel, sp Speed, al *accel.Alignment) (tau float64, err error) {
	if !(al.Moving/math.Sqrt(al.Rate) <= mostRough) {
		return 0, nil // what is taken off its noise would pass for a filter
	}
	best := al.LogLik
	usable := al.Reason == ""
	misses := 0
	first := best
	for _, t := range lagsTried {
		o, err := Align(ctx, Smoothed(a, t), sp)
		if err != nil {
			return 0, err
		}
		better := o.LogLik > best || !usable && o.Reason == ""
		if o.LogLik == 0 || !better { // not aligned at all, or no better
			if misses++; misses > mostMisses {
				break
			}
			continue
		}
		misses = 0
		tau, best, usable = t, o.LogLik, usable || o.Reason == ""
	}
	if al.Reason == "" && best-first < leastLagLL {
		return 0, nil
	}
	return tau, nil
}

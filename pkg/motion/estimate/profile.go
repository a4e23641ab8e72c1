package estimate

import (
	"math"

	"fromrest/pkg/motion/ramp"
)

// Profile is what is known of a receiver's filter from another log, such as a session with
// good stops. The zero value is nothing.
type Profile struct {
	Kind      ramp.FilterKind
	Delay, SD float64 // s, of a steady pull, and its standard deviation
	Gain      float64 // of a tracker
	Step      float64 // s, interval of the fixes it was found at
}

// Standing is what became of a profile.
type Standing int

// What may become of one.
const (
	NoProfile   Standing = iota
	Used                 // as what is known before the log speaks
	OtherRate            // of another rate, and so not used
	Contradicts          // the log shows something else, which is used
)

// String is one word for outputs, "" for no profile.
func (s Standing) String() string {
	return [...]string{"", "used", "other-rate", "contradicted"}[s]
}

// weight is how well a filter is that of the profile, with any constant.
func (p *Profile) weight(f *ramp.Filter) float64 {
	x := (f.Delay() - p.Delay) / max(p.SD, leastProfileSD)
	switch {
	case f.Kind != p.Kind:
		return 0
	case f.Kind == ramp.Unfiltered:
		return 1
	case f.Kind == ramp.Tracker:
		x = (f.Gain - p.Gain) / gainSD
	}
	return math.Exp(-x * x / 2)
}

// expect puts a profile in the place of what is usual, which keeps a share: settings change.
func (p *Profile) expect(ts []*trial) {
	sum := 0.0
	for _, f := range ts {
		f.profile = p.weight(&f.Filter)
		sum += f.profile
	}
	for _, f := range ts {
		f.profile /= max(sum, tiny)
		f.P = usualShare*f.usual + (1-usualShare)*f.profile
	}
}

// contradicted reports whether the log is much likelier without the profile.
func contradicted(ts []*trial) bool {
	with, without := 0.0, 0.0
	top := math.Inf(-1)
	for _, f := range ts {
		top = max(top, f.told())
	}
	for _, f := range ts {
		l := math.Exp(f.told() - top)
		with, without = with+f.profile*l, without+f.usual*l
	}
	return with < without*leastProfile
}

// told is the log-likelihood of what the log tells of a filter.
func (f *trial) told() float64 {
	if f.dropped() {
		return math.Inf(-1)
	}
	return min(f.slow, 0) + tempered*f.together()
}

// dropped reports whether a filter was not tried on every stop.
func (f *trial) dropped() bool { return f.passed && len(f.stops[0]) > 0 }

package session

import (
	"math"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/uncert"
)

// known takes away the times that say too little to be read as times, and leaves the
// reason in their place.
func (r *TimedRun) known() {
	for _, list := range [][]timing.Time{r.Times, r.Pulls} {
		for i := range list {
			t := &list[i]
			if t.U95 <= vagueTime*t.Seconds {
				continue
			}
			_, half := uncert.Format(t.Seconds, t.U95)
			t.Reason = "its half-width of " + half + " s is over a third of it"
			t.Seconds, t.U95 = math.NaN(), math.NaN()
		}
	}
}

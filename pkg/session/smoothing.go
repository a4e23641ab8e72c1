package session

import (
	"fmt"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/uncert"
)

// Smoothing is what a log's stops and starts tell of how its receiver smooths speed.
type Smoothing struct {
	Delay, U95 float64 // s, by which a steady pull is shown late, and half of its 95 % interval
	Likely     float64 // probability that the receiver smooths
	Filter     string  // the most probable one
	Stops      int     // that told of it; without any nothing is undone
	Starts     int     // that set a bound
	Beside     bool    // an accelerometer in the log told of it
	// Most is the delay in s that a receiver may have without the log telling: 95 % of
	// receivers have less. Half-widths allow for it.
	Most float64
}

// smoothing takes over what was learned of a receiver, nil where nothing was looked for.
func smoothing(sm *estimate.Smoothing) *Smoothing {
	if sm.Stops == 0 && sm.Unseen == 0 {
		return nil
	}
	d, sd, without := sm.Delay()
	out := &Smoothing{Delay: d, U95: uncert.Z95 * sd, Likely: 1 - without, Stops: sm.Stops, Starts: sm.Starts, Most: uncert.Z95 * sm.Unseen}
	best := 0.0
	for i := range sm.Filters {
		if f := &sm.Filters[i]; f.P > best {
			best, out.Filter = f.P, f.String()
		}
	}
	return out
}

// String says it in a clause.
func (sm *Smoothing) String() string {
	seen := count(sm.Stops, "stop")
	if sm.Starts > 0 {
		seen += " and " + count(sm.Starts, "start")
	}
	switch late := uncert.RoundHalfUp(sm.Delay, 2) + " ± " + uncert.RoundHalfUp(sm.U95, 2) + " s"; {
	case sm.Beside:
		return fmt.Sprintf("the receiver smooths speed with a time constant of about %s s, told by the accelerometer; taken out", uncert.RoundHalfUp(sm.Delay, 2))
	case sm.Stops == 0 && sm.Starts == 0:
		return fmt.Sprintf("not to be told: speed is held at zero, or the log has neither a stop nor a start; half-widths allow for a delay of %s s", uncert.RoundHalfUp(sm.Most, 2))
	case sm.Stops == 0:
		return fmt.Sprintf("not to be told without a stop in the log: %s leave room for a delay of up to %s s, and half-widths allow for it; times can only be shorter", count(sm.Starts, "start"), uncert.RoundHalfUp(sm.Most, 2))
	case sm.Likely > smoothedSure:
		return fmt.Sprintf("the receiver shows a steady pull %s late (%s), seen in %s; taken out", late, sm.Filter, seen)
	case sm.Likely > smoothedPerhaps:
		return fmt.Sprintf("perhaps: %s leave a delay of %s, which is averaged over", seen, late)
	}
	return "none seen in " + seen
}

func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return fmt.Sprintf("%d %s", n, what)
}

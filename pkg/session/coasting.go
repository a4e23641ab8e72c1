package session

import (
	"context"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/vehicle/driveline"
)

// Coasting is a coast-down found in a log.
type Coasting struct {
	LogSeconds float64 // s from the log's first fix
	Seconds    float64 // s long
	From, To   float64 // m/s
	HeadingDeg float64 // degrees from true north, NaN without course
	Fit        driveline.Coast
}

// findCoasts looks for long stretches that slow gently and steadily.
func findCoasts(ctx context.Context, s *estimate.Samples) []Coasting {
	var out []Coasting
	n := len(s.T)
	// gentle returns the end of a stretch of about coastLook and whether the speed
	// falls gently over it.
	gentle := func(from int) (to int, ok bool) {
		for to = from; to+1 < n && s.T[to]-s.T[from] < coastLook; {
			to++
		}
		span := s.T[to] - s.T[from]
		a := (s.Speed[to] - s.Speed[from]) / span
		return to, span >= coastLookLeast && a < -coastGentlest && a > -coastHardest
	}
	for i := 0; i < n-1; {
		if ctx.Err() != nil {
			return out
		}
		if _, ok := gentle(i); !ok || s.Speed[i] < coastFrom {
			i++
			continue
		}
		k := i // the last sample from which what follows is still gentle
		for m := i; m+1 < n; m++ {
			e, ok := gentle(m)
			if !ok || s.Speed[e] < coastFrom || s.T[e]-s.T[m] > coastLookMost {
				break
			}
			k = e
		}
		if s.T[k]-s.T[i] >= coastSeconds && s.Speed[i]-s.Speed[k] >= coastSpan {
			c := Coasting{LogSeconds: s.T[i], Seconds: s.T[k] - s.T[i], From: s.Speed[i], To: s.Speed[k], HeadingDeg: s.Course[(i+k)/2]}
			if fit, err := driveline.FitCoast(s.T[i:k+1], s.Speed[i:k+1]); err == nil {
				c.Fit = fit
				out = append(out, c)
			}
		}
		i = max(k, i+1)
	}
	return out
}

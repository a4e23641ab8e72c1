package align

import (
	"math"
	"time"

	"fromrest/pkg/stats"
)

// Speed is the satellite (or wheel) speed on a clock that starts at Start.
type Speed struct {
	Start time.Time
	T     []float64 // s since Start, increasing
	V     []float64 // m/s, forward or its length; NaN where there is none
	U     []float64 // m/s, standard uncertainty of each
}

// valid leaves out speeds that are missing and gives each an uncertainty.
func (sp Speed) valid() Speed {
	out := Speed{Start: sp.Start}
	for i, v := range sp.V {
		if v != v || i > 0 && sp.T[i] <= sp.T[i-1] {
			continue
		}
		u := usualU
		if i < len(sp.U) && sp.U[i] > 0 {
			u = max(sp.U[i], leastU)
		}
		out.T, out.V, out.U = append(out.T, sp.T[i]), append(out.V, v), append(out.U, u)
	}
	return out
}

// thinned averages the speeds of a vehicle's bus; half is half the time each
// then stands for, 0 for speeds as they come.
func (sp Speed) thinned() (out Speed, half float64) {
	if interval(sp.T) > 1/busRate {
		return sp, 0
	}
	out.Start = sp.Start
	for i := 0; i < len(sp.T); {
		t, v, u, n := 0.0, 0.0, 0.0, 0.0
		for from := sp.T[i]; i < len(sp.T) && sp.T[i] < from+busSpan; i++ {
			t, v, u, n = t+sp.T[i], v+sp.V[i], u+sp.U[i]*sp.U[i], n+1
		}
		out.T, out.V = append(out.T, t/n), append(out.V, v/n)
		out.U = append(out.U, math.Sqrt(u/n)) // neighbours' errors are much the same
	}
	return out, busSpan / 2
}

// standstills returns the spans of s in which the speed can be none.
func (sp *Speed) standstills() [][2]float64 {
	var out [][2]float64
	from, last := math.NaN(), math.NaN()
	end := func() {
		if last-from >= shortStill {
			out = append(out, [2]float64{from, last})
		}
		from = math.NaN()
	}
	for i, v := range sp.V {
		still := math.Abs(v) <= min(max(stillTimes*sp.U[i], leastStill), mostStill)
		if !still || sp.T[i]-last > stillHole {
			end()
		}
		if still && from != from {
			from = sp.T[i]
		}
		last = sp.T[i]
	}
	end()
	return out
}

// interval is the median interval of instants, in s.
func interval(t []float64) float64 {
	d := make([]float64, 0, len(t))
	for i := 1; i < len(t); i++ {
		d = append(d, t[i]-t[i-1])
	}
	return stats.Middle(d)
}

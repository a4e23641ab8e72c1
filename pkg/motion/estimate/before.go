package estimate

import (
	"math"
	"slices"
)

// Foregoing is motion that readings before the launch, or just after it, show.
type Foregoing struct {
	Kind     ForegoingKind
	From, To float64 // s on the samples' clock
	Speed    float64 // m/s, mean along the track, forwards positive
}

// ForegoingKind is what the motion was.
type ForegoingKind int

// The kinds.
const (
	Still    ForegoingKind = iota // none was seen
	RollBack                      // backwards
	Creep                         // forwards, and on into the launch
	Step                          // forwards, and to a standstill again before the launch
)

// foregoing looks for motion about the launch that a start from rest has not: speed of
// one sign over some readings, beyond what their noise at rest can be. The readings must
// have a sign, or be so long that they need none.
//
// The mean of n readings whose noise correlates by rho from one to the next scatters by
// the noise over the root of n(1-rho)/(1+rho). Windows of all lengths are tried, so that
// the bound is far out.
func (so *solver) foregoing(rd []reading, from, launch float64) Foregoing {
	var t, y []float64
	for i := range rd {
		r := &rd[i]
		if r.kind == signed && !r.none && r.t >= max(from+settles, launch-foreSpan) && r.t <= launch+backSpan {
			t, y = append(t, r.t), append(y, r.y)
		}
	}
	var back, ahead Foregoing
	worstBack, worstAhead := foreAt, foreAt
	scatter := so.scatterOfMeans(y)
	for i := range t {
		sum := 0.0
		for j := i; j < len(t) && t[j]-t[i] <= foreWindow; j++ {
			sum += y[j]
			n := float64(j - i + 1)
			z := sum / (math.Sqrt(n) * scatter)
			if n < leastFore {
				continue
			}
			if -z > worstBack {
				worstBack, back = -z, Foregoing{RollBack, t[i], t[j], sum / n}
			}
			if z > worstAhead && t[j] < launch-foreClear-so.s.Step && sum/n > leastCreep {
				worstAhead, ahead = z, Foregoing{Creep, t[i], t[j], sum / n}
			}
		}
	}
	if back.Kind == RollBack {
		return back
	}
	if ahead.Kind == Creep && stands(t, y, scatter, ahead.To, launch) {
		ahead.Kind = Step
	}
	return ahead
}

// stands reports whether readings between two instants show a standstill: some of them
// one after the other whose mean is within the noise.
func stands(t, y []float64, scatter, from, to float64) bool {
	for i := range t {
		sum, n := 0.0, 0.0
		for j := i; j < len(t) && t[j] <= to; j++ {
			if t[j] <= from {
				break
			}
			sum, n = sum+y[j], n+1
			if t[j]-t[i] >= standsFor && math.Abs(sum) <= standsAt*math.Sqrt(n)*scatter {
				return true
			}
		}
	}
	return false
}

// scatterOfMeans is the standard deviation of the mean of n readings at rest, times the
// root of n. The noise is that of the log or, where it is less, that by which these
// readings differ from one to the next: noise that is told from standstills on which the
// vehicle crept would hide the creep.
func (so *solver) scatterOfMeans(y []float64) float64 {
	rho := min(so.s.Rho, mostForeRho)
	sd := so.sd
	if len(y) > 3 {
		d := make([]float64, len(y)-1)
		for i := range d {
			d[i] = math.Abs(y[i+1] - y[i])
		}
		slices.Sort(d)
		sd = min(sd, max(d[len(d)/2]*madToSD/math.Sqrt(2*(1-rho)), so.s.Quantum/2, minSD))
	}
	return sd * math.Sqrt((1+rho)/(1-rho))
}

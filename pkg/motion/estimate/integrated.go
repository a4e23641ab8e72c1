package estimate

import (
	"math"
	"time"

	"fromrest/pkg/recording"
)

// Integrated returns samples for a log that has an accelerometer and no speed.
// t and v are dead-reckoned speed in s after start and m/s, used to find the
// runs; the readings of speed are only the zeros of the standstills, given as
// pairs of instants. scale is the relative standard uncertainty of the
// accelerometer's gain.
func Integrated(start time.Time, t, v []float64, rest [][2]float64, f *Forward, scale float64) *Samples {
	n := len(t)
	s := &Samples{Start: start, T: t, Speed: make([]float64, n), Course: make([]float64, n), Held: make([]bool, n),
		Out: make([]bool, n), TimeU: make([]float64, n), blank: make([]bool, n), Accel: f, scale: scale, Source: recording.Inertial}
	s.Noise = Noise{SD: restSD, DF: restDF, From: "assumed"}
	k := 0
	for i := range t {
		for k < len(rest) && rest[k][1] < t[i] {
			k++
		}
		s.Course[i] = math.NaN()
		s.Speed[i] = math.Abs(v[i])
		if s.blank[i] = k == len(rest) || t[i] < rest[k][0]; !s.blank[i] {
			s.Speed[i] = 0
		}
	}
	if n > 1 {
		s.cadence()
	}
	return s
}

// reach extends a window of integrated samples to the standstill after it, where
// the speed is known again.
func (s *Samples) reach(w Window) Window {
	if s.blank == nil {
		return w
	}
	zeros := int(math.Ceil(settleRest / s.Step))
	for w.Reversed && w.From > 0 && zeros > 0 {
		if w.From--; !s.blank[w.From] {
			zeros--
		}
	}
	for ; !w.Reversed && w.To < len(s.T) && zeros > 0; w.To++ {
		if !s.blank[w.To] {
			zeros--
		}
	}
	return w
}

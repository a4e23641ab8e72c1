package session

import (
	"math"
	"slices"
	"sort"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/stats"
)

// Portrait is what a log's speed looks like at close quarters: its scatter about the estimate
// under way, what it shows first at a start, and the ends of its stops.
type Portrait struct {
	Starts int // whose samples are looked at
	// Off are the samples of the starts less the estimate, with the speed there; thinned where
	// they are many, which N is not.
	OffV, Off []float64 // m/s
	N         int
	Scatter   float64 // m/s, robust standard deviation of them, NaN for too few
	Wild      int     // that lie over three of it off, those set aside included
	Aside     int     // set aside
	// First is the median of the lowest speeds in m/s that starts show after a 0, and FirstOf
	// how many told it; 0 where no start shows a 0.
	First   float64
	FirstOf int
	Stops   []StopTail // the firmest
}

// StopTail is the end of a stop as the log shows it.
type StopTail struct {
	T, V []float64 // s since the last sample that moves, and m/s
}

// closeUp is one start's part of a portrait.
type closeUp struct {
	offV, off []float64 // m/s
	aside     int
	first     float64 // m/s, 0 where it shows no 0
}

// closer looks at a start that still has its samples, of a receiver that is late by some s.
func (r *TimedRun) closer(late float64) *closeUp {
	n := r.Trace.Len()
	if r.Kind != segment.StandingStart || n < 2 || len(r.RawT) == 0 {
		return nil
	}
	c := &closeUp{}
	for i, t := range r.RawT {
		if i > 0 && r.RawV[i-1] == 0 && r.RawV[i] != 0 && math.Abs(t) < portraitBefore {
			c.first = math.Abs(r.RawV[i])
		}
		if t-late < portraitFrom || t-late > r.Trace.T[n-1] {
			continue
		}
		v, _ := r.Trace.SpeedAt(t - late)
		c.offV, c.off = append(c.offV, v), append(c.off, r.RawV[i]-v)
		if r.RawOut[i] {
			c.aside++
		}
	}
	return c
}

// portrait draws a log of what its starts were at close quarters, which is left behind.
func portrait(s *estimate.Samples, runs []*TimedRun) *Portrait {
	p := &Portrait{Scatter: math.NaN()}
	var first []float64
	for _, r := range runs {
		c := r.close
		if c == nil {
			continue
		}
		r.close = nil
		p.Starts++
		p.OffV, p.Off, p.Aside = append(p.OffV, c.offV...), append(p.Off, c.off...), p.Aside+c.aside
		if c.first > 0 {
			first = append(first, c.first)
		}
	}
	if p.N = len(p.Off); p.N >= portraitLeast && s.Step < 1/slowRate { // of fewer the estimate follows each
		p.Scatter = robust(p.Off)
		for _, x := range p.Off {
			if math.Abs(x) > 3*p.Scatter {
				p.Wild++
			}
		}
	}
	if p.FirstOf = len(first); p.FirstOf > 0 {
		p.First = stats.Middle(first)
	}
	p.thin()
	p.Stops = stopTails(s)
	return p
}

// robust is the standard deviation that the median of the absolute values tells.
func robust(x []float64) float64 {
	abs := make([]float64, len(x))
	for i := range x {
		abs[i] = math.Abs(x[i])
	}
	return stats.Middle(abs) / medianOfNormal
}

// thin leaves as many samples as a figure can show.
func (p *Portrait) thin() {
	every := 1 + (len(p.Off)-1)/portraitMost
	var v, off []float64
	for i := 0; i < len(p.Off); i += every {
		v, off = append(v, p.OffV[i]), append(off, p.Off[i])
	}
	p.OffV, p.Off = v, off
}

// stopTails are the ends of the firmest stops that are followed by a second of rest.
func stopTails(s *estimate.Samples) []StopTail {
	type stop struct {
		last int
		firm float64 // m/s², over the second before it
	}
	var all []stop
	still := max(s.SD*3, s.Quantum, tailStill)
	last := -1
	for i, t := range s.T {
		switch {
		case s.Out[i]:
		case s.Speed[i] > still:
			last = i
		case last >= 0 && t-s.T[last] >= tailAfter:
			from := sort.SearchFloat64s(s.T, s.T[last]-tailBefore)
			if d := s.T[last] - s.T[from]; d > tailBefore/2 && s.Speed[from] > tailFrom {
				all = append(all, stop{last, (s.Speed[from] - s.Speed[last]) / d})
			}
			last = -1
		}
	}
	slices.SortStableFunc(all, func(a, b stop) int {
		switch {
		case a.firm > b.firm:
			return -1
		case a.firm < b.firm:
			return 1
		}
		return 0
	})
	var out []StopTail
	for _, st := range all[:min(len(all), tailsMost)] {
		var tail StopTail
		for i := sort.SearchFloat64s(s.T, s.T[st.last]-tailBefore); i < len(s.T) && s.T[i] <= s.T[st.last]+tailAfter; i++ {
			if !s.Out[i] {
				tail.T, tail.V = append(tail.T, s.T[i]-s.T[st.last]), append(tail.V, s.Speed[i])
			}
		}
		out = append(out, tail)
	}
	return out
}

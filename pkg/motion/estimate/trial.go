package estimate

import (
	"math"

	"gonum.org/v1/gonum/floats"

	"fromrest/pkg/motion/ramp"
)

// trial is a filter that is tried.
type trial struct {
	LikelyFilter
	slow    float64                        // log-likelihood of the starts over that behind no filter
	stops   [len(stopFeet)][]ramp.Evidence // of each stop, by the share of deceleration left at its end
	release []*ramp.Table                  // what the ways of letting a brake go show, as in releases
	start   []*ramp.Table                  // the same of build-ups, as in startRamps
	passed  bool                           // it is not worth trying any longer
	// usual and profile are its probabilities before the log speaks, by what receivers
	// usually do and by the profile of this one.
	usual, profile float64
}

// TriedFilter is what a log tells of a filter: none is the first of those tried.
type TriedFilter struct {
	Kind        ramp.FilterKind
	Name        string  // for a reader
	Delay, Gain float64 // s, of a steady pull, and a tracker's gain
	Usual       float64 // probability before any log speaks
	Slow, Stops float64 // log-likelihoods of the starts over that behind none, and of the stops, tempered; dropped where the latter is -Inf
}

func (f *trial) tried() TriedFilter {
	t := TriedFilter{Kind: f.Kind, Name: f.String(), Delay: f.Delay(), Gain: f.Gain, Usual: f.usual, Slow: f.slow}
	if t.Stops = tempered * f.together(); f.passed {
		t.Stops = math.Inf(-1)
	}
	return t
}

// Pool is the probability of each filter that was tried on several logs of one receiver,
// which tried the same ones and saw so many stops in all. More stops than are looked at in
// one log do not count for more: what they say wrong they say alike.
func Pool(logs [][]TriedFilter, stops int) []float64 {
	share := min(1, mostStops/float64(stops))
	p := make([]float64, len(logs[0]))
	sum := 0.0
	for i := range p {
		slow := 0.0
		for _, l := range logs {
			slow += l[i].Slow
		}
		p[i] = logs[0][i].Usual * math.Exp(min(slow, 0))
		if i > 0 {
			sum += p[i]
		}
	}
	for i := range p { // that there is a filter at all stays as probable as it was
		if i > 0 {
			p[i] *= (1 - p[0]) / max(sum, tiny)
		}
	}
	ll := make([]float64, len(p))
	for i := range p {
		ll[i] = math.Log(p[i])
		for _, l := range logs {
			ll[i] += share * l[i].Stops
		}
	}
	return ramp.Chances(ll)
}

// Kept are the filters that runs are timed behind, in the order of their probabilities.
func (sm *Smoothing) Kept() (out []TriedFilter) {
	for i := range sm.Filters {
		f := &sm.Filters[i]
		out = append(out, TriedFilter{Kind: f.Kind, Name: f.String(), Delay: f.Delay(), Gain: f.Gain})
	}
	return out
}

// Onto gives the filters that a log kept the probabilities of those tried that are nearest to
// them; nil where the log kept none that is probable.
func Onto(kept, tried []TriedFilter, p []float64) []float64 {
	out := make([]float64, len(kept))
	sum := 0.0
	for i := range tried {
		best, near := -1, farFilter
		for k := range kept {
			f := &kept[k]
			if d := max(math.Abs(f.Delay-tried[i].Delay), math.Abs(f.Gain-tried[i].Gain)); f.Kind == tried[i].Kind && d < near {
				best, near = k, d
			}
		}
		if best >= 0 {
			out[best] += p[i]
			sum += p[i]
		}
	}
	if sum < leastOnto {
		return nil
	}
	for k := range out {
		out[k] /= sum
	}
	return out
}

// candidates are the filters that are tried, none first, with what is known of receivers
// before the log speaks: long delays are rare.
func (s *Samples) candidates() []*trial {
	var kinds [len(priorKinds)][]ramp.Filter
	for _, tau := range lagsTried {
		kinds[0] = append(kinds[0], ramp.FirstOrderOf(tau))
	}
	for _, n := range meansTried {
		if f := ramp.MeanOfFixes(n, s.Step); f.Delay() <= mostDelay {
			kinds[1] = append(kinds[1], f)
		}
	}
	for _, g := range gainsTried {
		if f := ramp.TrackerOf(g, s.Step); f.Span() <= mostCatching {
			kinds[2] = append(kinds[2], f)
		}
	}
	out := []*trial{{LikelyFilter: LikelyFilter{P: priorNone}, usual: priorNone}}
	for i, k := range kinds {
		usual, sum := make([]float64, len(k)), 0.0
		for j := range k {
			usual[j] = min(1, usualDelay/max(k[j].Delay(), usualDelay))
			sum += usual[j]
		}
		for j, f := range k {
			p := (1 - priorNone) * priorKinds[i] * usual[j] / sum
			out = append(out, &trial{LikelyFilter: LikelyFilter{Filter: f, P: p}, usual: p})
		}
	}
	return out
}

// together is the log-likelihood of all stops: of one driver, who lets a brake go alike.
func (f *trial) together() float64 {
	var ll [len(stopFeet)]float64
	for k := range ll {
		ll[k] = ramp.Released(f.stops[k])
	}
	return floats.LogSumExp(ll[:]) - math.Log(float64(len(ll)))
}

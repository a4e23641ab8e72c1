package ramp

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Evidence is the log-likelihood of a run's readings under each ramp of All.
type Evidence []float64

// Learned is what the runs of a mode teach each other: the probabilities of the ramps of
// every run, given all of them.
type Learned struct {
	// Weights of each run, of the ramps of All, given all runs.
	Weights [][]float64
	// Modes are what the mode may be like, each with its probability and with the weights
	// of every run if the mode is so: what the runs have in common lies in how those
	// differ.
	Modes []Mode
	// Tau is the build-up time of the mode's runs in s: the median of their distribution
	// and its limits of 95 %.
	Tau, Low, High float64
}

// Mode is one way the runs of a mode may be, with its probability.
type Mode struct {
	Probability float64
	Weights     [][]float64 // of each run and ramp
}

// Prior weighs the ramps of a run that is alone, before its data speak.
var Prior = alone()

// mode is a point of the grid: the ramps' probabilities in a mode that is so.
type mode struct{ prior []float64 }

var grid = modes()

func modes() []mode {
	var out []mode
	for _, s := range spreads {
		for m := range mus {
			mu := math.Log(leastTau) + (float64(m)+0.5)/mus*math.Log(mostTau/leastTau)
			times := timesOf(mu, s)
			for shared := range numShapes {
				p := make([]float64, len(All))
				p[0] = times[0]
				for i := 1; i < len(All); i++ {
					share := ownShape * shapePrior[All[i].Shape]
					if All[i].Shape == shared {
						share += 1 - ownShape
					}
					p[i] = times[column(i)] * share
				}
				out = append(out, mode{p})
			}
		}
	}
	return out
}

// weight is a point's own probability: even but for the shapes.
func (m *mode) weight(i int) float64 {
	return shapePrior[i%int(numShapes)] / float64(mus*len(spreads))
}

// timesOf is the probability of a step and of each build-up time where their logarithm is
// normal: the share of the distribution that lies nearer to it than to the next.
func timesOf(mu, s float64) []float64 {
	n := distuv.Normal{Mu: mu, Sigma: s}
	out := make([]float64, len(taus)+1)
	all := n.CDF(math.Log(edge(len(out)))) - n.CDF(math.Log(edge(0)))
	for i := range out {
		out[i] = (n.CDF(math.Log(edge(i+1))) - n.CDF(math.Log(edge(i)))) / all
	}
	return out
}

// edge is the limit between columns i-1 and i, the first of which is the step.
func edge(i int) float64 {
	switch i {
	case 0:
		return stepTau * stepTau / math.Sqrt(stepTau*taus[0])
	case 1:
		return math.Sqrt(stepTau * taus[0])
	case len(taus) + 1:
		return mostTau
	}
	return math.Sqrt(taus[i-2] * taus[i-1])
}

func alone() []float64 {
	p := make([]float64, len(All))
	for i := range grid {
		for r, x := range grid[i].prior {
			p[r] += grid[i].weight(i) * x
		}
	}
	return p
}

// Learn is what runs of one mode teach each other.
func Learn(runs []Evidence) Learned {
	like := make([][]float64, len(runs)) // likelihoods, scaled to a greatest of 1
	for i, e := range runs {
		like[i] = scaled(e)
	}
	log := make([]float64, len(grid))
	top := math.Inf(-1)
	for g := range grid {
		log[g] = math.Log(grid[g].weight(g))
		for _, l := range like {
			log[g] += math.Log(dot(l, grid[g].prior))
		}
		top = math.Max(top, log[g])
	}
	out := Learned{Weights: make([][]float64, len(runs))}
	sum := 0.0
	for g := range log {
		log[g] = math.Exp(log[g] - top)
		sum += log[g]
	}
	for i := range runs {
		out.Weights[i] = make([]float64, len(All))
	}
	for g, p := range log {
		if p /= sum; p < leastMode {
			continue
		}
		m := Mode{Probability: p}
		for i, l := range like {
			w := given(l, grid[g].prior)
			m.Weights = append(m.Weights, w)
			for r, x := range w {
				out.Weights[i][r] += p * x
			}
		}
		out.Modes = append(out.Modes, m)
	}
	out.times()
	return out
}

func scaled(e Evidence) []float64 {
	top := math.Inf(-1)
	for _, x := range e {
		top = math.Max(top, x)
	}
	out := make([]float64, len(All))
	for r, x := range e {
		out[r] = math.Exp(x - top)
	}
	return out
}

func dot(a, b []float64) (sum float64) {
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}

// given is the posterior of a likelihood and a prior.
func given(like, prior []float64) []float64 {
	out := make([]float64, len(like))
	sum := dot(like, prior)
	for i, x := range like {
		out[i] = x * prior[i] / sum
	}
	return out
}

// Over is the probability that a run with these weights of the ramps built thrust up over
// more than tau seconds.
func Over(weights []float64, tau float64) (p float64) {
	for i, w := range weights {
		if All[i].Tau > tau {
			p += w
		}
	}
	return p
}

// Median is the median build-up time in s of a run with these weights of the ramps.
func Median(weights []float64) float64 { return quantile(columns(weights), 0.5) }

// columns are the probabilities of a step and of the build-up times, whatever the shape.
func columns(weights []float64) []float64 {
	p := make([]float64, len(taus)+1)
	for i, x := range weights {
		p[column(i)] += x
	}
	return p
}

// times finds the median and the limits of the build-up over all runs.
func (l *Learned) times() {
	p := make([]float64, len(taus)+1)
	for _, w := range l.Weights {
		for i, x := range columns(w) {
			p[i] += x / float64(len(l.Weights))
		}
	}
	l.Tau, l.Low, l.High = quantile(p, 0.5), quantile(p, 0.025), quantile(p, 0.975)
}

// quantile is that of build-up times with probabilities, between them in proportion.
func quantile(p []float64, at float64) float64 {
	below := 0.0
	for i, x := range p {
		if below+x >= at && x > 0 {
			lo, hi := edge(i), edge(i+1)
			return lo * math.Pow(hi/lo, (at-below)/x)
		}
		below += x
	}
	return mostTau
}

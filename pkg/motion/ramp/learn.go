package ramp

import (
	"iter"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Evidence is the log-likelihood of a run's readings under each ramp of All.
type Evidence []float64

// Learned is what the runs of a mode teach each other. Of gives it for each of them.
type Learned struct {
	// Modes are what the mode may be like, each with its probability: what the runs have
	// in common lies in how their weights differ from mode to mode.
	Modes []Mode
	// Tau is the build-up time of the mode's runs in s: the median of their distribution
	// and its limits of 95 %.
	Tau, Low, High float64

	n     int
	told  func(i int) Told
	share map[int][][]float64 // of each log, mode and filter
}

// Mode is one way the runs of a mode may be.
type Mode struct {
	Probability float64

	at int // in the grid
}

// Prior weighs the ramps of a run that is alone, before its data speak.
var Prior = alone()

// mode is a point of the grid: the ramps' probabilities in a mode that is so.
type mode struct {
	prior []float64
	mu    float64 // of the logarithm of the build-up time in s
}

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
				out = append(out, mode{p, mu})
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

// Releases are ways of letting a brake go, seen backwards: a step, then lines and squares
// with every other build-up time. A pedal that is eased off gives way more and more slowly.
func Releases() []Ramp { return releases }

var releases = func() []Ramp {
	out := []Ramp{{}}
	for _, sh := range []Shape{Linear, Square} {
		for j := 1; j < len(taus); j += 2 {
			out = append(out, Ramp{sh, taus[j]})
		}
	}
	return out
}()

// OfReleases puts log-likelihoods of Releases in the places of All, between the times that
// they have in proportion: squares in those of the rise of the first order, and a line
// stands for half a cosine as well.
func OfReleases(ll []float64) Evidence {
	e := make(Evidence, len(All))
	n := len(taus) / 2
	for i := range All {
		c := column(i)
		if e[i] = ll[0]; c == 0 {
			continue
		}
		of := ll[1 : 1+n]
		if All[i].Shape == Lag {
			of = ll[1+n:]
		}
		below := ll[0]
		if c > 2 {
			below = of[(c-1)/2-1]
		}
		if e[i] = of[(c-1)/2]; c%2 == 1 {
			e[i] = (below + e[i]) / 2
		}
	}
	return e
}

// Released is the log-likelihood of all stops of a driver, whose brake is let go within a time
// that is not known but is usual.
func Released(runs []Evidence) (ll float64) {
	var like [][]float64
	for _, e := range runs {
		l, top := scaled(e)
		if math.IsInf(top, -1) {
			return top
		}
		ll, like = ll+top, append(like, l)
	}
	chances, exponent := products(func(g int) float64 {
		x := (grid[g].mu - math.Log(usualRelease)) / releaseSpread
		return grid[g].weight(g) * math.Exp(-x*x/2)
	}, slices.Values(like))
	all := 0.0
	for _, p := range chances {
		all += p
	}
	ll += math.Log(all)
	if exponent != 0 {
		ll += float64(exponent) * math.Ln2
	}
	return ll
}

// products are, for each mode, a first factor times the likelihoods of runs, all over the same
// power of two, whose exponent is returned: of many hundred runs the products themselves are
// too small for a number. It is 0 where they are not.
func products(first func(g int) float64, like iter.Seq[[]float64]) (out []float64, exponent int) {
	out, exps := make([]float64, len(grid)), make([]int, len(grid))
	for g := range grid {
		out[g], exps[g] = math.Frexp(first(g))
	}
	for l := range like {
		for g := range grid {
			f, more := math.Frexp(out[g] * dot(l, grid[g].prior))
			out[g], exps[g] = f, exps[g]+more
		}
	}
	exponent = math.MinInt
	for g, x := range out {
		if x != 0 {
			exponent = max(exponent, exps[g])
		}
	}
	if exponent > leastExponent {
		exponent = 0
	}
	for g := range out {
		out[g] = math.Ldexp(out[g], exps[g]-exponent)
	}
	return out, exponent
}

// Told is what a run tells: the evidence for each ramp behind each filter that its
// receiver may have, one filter after the other, and the filters' probabilities. Runs of one
// log have the same receiver.
type Told struct {
	Evidence Evidence
	Filters  []float64
	Log      int
}

// behind are the likelihoods of the ramps behind filter f, scaled to a greatest of 1.
func (t *Told) behind(f int) []float64 {
	l, _ := scaled(t.Evidence[f*len(All) : (f+1)*len(All)])
	return l
}

// Learn is what runs of one mode teach each other. A launch has no say in what the filter
// is, for a build-up looks like one: the filters keep their probabilities. What each of n
// runs tells is asked for several times, here and by Of, and not kept.
func Learn(n int, told func(i int) Told) Learned {
	logs := map[int][]int{}
	var order []int
	for i := range n {
		l := told(i).Log
		if logs[l] == nil {
			order = append(order, l)
		}
		logs[l] = append(logs[l], i)
	}
	log := make([]float64, len(grid))
	for g := range grid {
		log[g] = math.Log(grid[g].weight(g))
	}
	out := Learned{n: n, told: told, share: map[int][][]float64{}}
	for _, l := range order {
		out.share[l] = shares(told, logs[l])
		for g := range grid {
			log[g] += math.Log(floats.Sum(out.share[l][g]))
		}
	}
	for g, p := range Chances(log) {
		if p >= leastMode {
			out.Modes = append(out.Modes, Mode{Probability: p, at: g})
		}
	}
	out.times()
	return out
}

// Of returns the weights of run i, of the ramps of All behind each of its filters: given all
// runs, and if the mode is as each of Modes.
func (l *Learned) Of(i int) (weights []float64, modes [][]float64) {
	run := l.told(i)
	like := make([][]float64, len(run.Filters))
	for f := range like {
		like[f] = run.behind(f)
	}
	weights = make([]float64, len(run.Evidence))
	for _, m := range l.Modes {
		w := make([]float64, 0, len(run.Evidence))
		of := l.share[run.Log][m.at]
		all := floats.Sum(of)
		for f, e := range like {
			for _, x := range given(e, grid[m.at].prior) {
				w = append(w, x*of[f]/all)
			}
		}
		modes = append(modes, w)
		for r, x := range w {
			weights[r] += m.Probability * x
		}
	}
	return weights, modes
}

// shares are, for each mode, the likelihoods of a log's runs behind each filter, scaled so
// that over all modes every filter has its own probability.
func shares(told func(i int) Told, runs []int) [][]float64 {
	filters := told(runs[0]).Filters
	out := make([][]float64, len(grid))
	for g := range grid {
		out[g] = make([]float64, len(filters))
	}
	for f, p := range filters {
		chances, _ := products(func(int) float64 { return 1 }, func(yield func([]float64) bool) {
			for _, i := range runs {
				if t := told(i); f < len(t.Filters) && !yield(t.behind(f)) {
					return
				}
			}
		})
		sum := 0.0
		for g, x := range chances {
			out[g][f] = x
			sum += grid[g].weight(g) * x
		}
		for g := range grid {
			out[g][f] *= p / sum
		}
	}
	return out
}

// Chances are probabilities from their logarithms with any constant.
func Chances(log []float64) []float64 {
	top, all := math.Inf(-1), 0.0
	for _, x := range log {
		top = math.Max(top, x)
	}
	out := make([]float64, len(log))
	for i, x := range log {
		out[i] = math.Exp(x - top)
		all += out[i]
	}
	for i := range out {
		out[i] /= all
	}
	return out
}

// scaled are the likelihoods over the greatest, whose logarithm is top.
func scaled(e Evidence) (out []float64, top float64) {
	top = math.Inf(-1)
	for _, x := range e {
		top = math.Max(top, x)
	}
	out = make([]float64, len(All))
	for r, x := range e {
		out[r] = math.Exp(x - top)
	}
	return out, top
}

func dot(a, b []float64) (s float64) {
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

// given is the posterior of a likelihood and a prior.
func given(like, prior []float64) []float64 {
	out := make([]float64, len(like))
	all := dot(like, prior)
	for i, x := range like {
		out[i] = x * prior[i] / all
	}
	return out
}

// Over is the probability that a run with these weights of the ramps built thrust up over
// more than tau seconds.
func Over(weights []float64, tau float64) (p float64) {
	for i, w := range weights {
		if All[i%len(All)].Tau > tau {
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
		p[column(i%len(All))] += x
	}
	return p
}

// times finds the median and the limits of the build-up over all runs.
func (l *Learned) times() {
	p := make([]float64, len(taus)+1)
	for k := range l.n {
		weights, _ := l.Of(k)
		for i, x := range columns(weights) {
			p[i] += x / float64(l.n)
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

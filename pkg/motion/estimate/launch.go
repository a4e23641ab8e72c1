package estimate

import (
	"math"
	"sort"

	"fromrest/pkg/recording"
)

// searchSpan is how much of the run after the launch decides on the launch: by
// then the thrust has built up and the rest of the run knows nothing of it.
const searchSpan = 2.5 // s

// findLaunch finds the hypotheses that the readings support, with their
// probabilities, most probable first.
func (so *solver) findLaunch(lo, hi float64) []hypothesis {
	guess, width := so.coarse(lo, hi)
	map0 := hypothesis{ramp: ramp{linear, 0.12}, launch: guess - 0.06}
	so.adapt(&map0)
	guess, width = so.refine(guess, width, lo, hi)
	hs := so.posterior(guess, width, 3)
	if len(hs) == 0 {
		return hs
	}
	best := hs[0]
	so.adapt(&best)
	centre := best.launch + best.shape.delay()*best.tau
	guess, width = so.refine(centre, width, lo, hi)
	hs = so.posterior(guess, width, 1)
	if so.acc != nil {
	}
	return so.overOffset(hs, guess, width)
}

// probe is the likelihood up to the given time with thrust building up evenly over
// 0.12 s about the effective launch x.
func (so *solver) probe(x, until float64) float64 {
	const tau = 0.12
	return so.likelihood(hypothesis{ramp: ramp{linear, tau}, launch: x - tau/2}, until)
}

// coarse scans for the effective launch, the instant at which a step would have
// given the same speed, and returns it with a first width.
func (so *solver) coarse(lo, hi float64) (t, width float64) {
	step := min(max(so.s.Step/6, 0.008), 0.1)
	best := math.Inf(-1)
	for x := lo; x <= hi; x += step {
		// All are scored up to the same last reading: a span that moved with x
		// would favour early guesses.
		ll := so.probe(x, hi+so.span())
		if ll > best {
			best, t = ll, x
		}
	}
	return t, step
}

// refine finds the peak of the likelihood over the effective launch near t by
// golden section and its width from the curvature.
func (so *solver) refine(t, width, lo, hi float64) (peak, sd float64) {
	until := hi + so.span()
	f := func(x float64) float64 { return so.probe(x, until) }
	span := max(4*width, 0.03)
	a, b := max(t-span, lo-0.1), t+span
	const g = 0.6180339887498949
	c, d := b-g*(b-a), a+g*(b-a)
	fc, fd := f(c), f(d)
	for b-a > 2e-4 {
		if fc > fd {
			b, d, fd = d, c, fc
			c = b - g*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + g*(b-a)
			fd = f(d)
		}
	}
	peak = (a + b) / 2
	top := f(peak)
	// The width is where the likelihood has fallen by half a unit; a bracket
	// that grows by half each time finds it at any scale.
	left, right := fall(f, peak, -1, top), fall(f, peak, 1, top)
	return peak, max((left+right)/2, 1e-4)
}

// fall is how far from the peak the log-likelihood has dropped by half.
func fall(f func(float64) float64, peak, dir, top float64) float64 {
	x := 3e-4
	for x < 0.5 && f(peak+dir*x) > top-0.5 {
		x *= 1.5
	}
	return x
}

// posterior scores effective launches about the guess for every n-th ramp and
// returns three instants for each ramp that matters, standing for its normal
// spread (Gauss-Hermite points), with probabilities that sum to one.
func (so *solver) posterior(guess, width float64, n int) []hypothesis {
	until := guess + so.span()
	weights := tauPrior
	if so.s.Source == recording.Wheel {
		weights = tauPriorBlind
	}
	var all []ridge
	top := math.Inf(-1)
	for sh := range numShapes {
		for i, tau := range taus {
			if tau == 0 && sh != linear || i%n != 0 {
				continue
			}
			prior := weights[i] * shapePrior[sh]
			if tau == 0 {
				prior = weights[i]
			}
			r := so.ridgeOf(ramp{sh, tau}, guess, width, until)
			r.ll += math.Log(prior)
			all = append(all, r)
			top = max(top, r.ll)
		}
	}
	var hs []hypothesis
	sum := 0.0
	for _, r := range all {
		w := math.Exp(r.ll - top)
		if w < 1e-3 {
			continue
		}
		for j, z := range [3]float64{-math.Sqrt(3), 0, math.Sqrt(3)} {
			hw := w * [3]float64{1.0 / 6, 2.0 / 3, 1.0 / 6}[j]
			hs = append(hs, hypothesis{of: so, ramp: r.ramp, launch: r.mean + z*r.sd, weight: hw})
			sum += hw
		}
	}
	sort.SliceStable(hs, func(i, j int) bool { return hs[i].weight > hs[j].weight })
	return prune(hs, sum)
}

// prune drops hypotheses that together weigh under half a per cent, keeps no
// more than maxPaths, and scales the rest to one.
func prune(hs []hypothesis, sum float64) []hypothesis {
	const maxPaths = 48
	kept := 0.0
	for i := range hs {
		if kept > 0.995*sum || i == maxPaths {
			hs = hs[:i]
			break
		}
		kept += hs[i].weight
	}
	for i := range hs {
		hs[i].weight /= kept
	}
	return hs
}

// ridge is the launch instant's posterior under one ramp.
type ridge struct {
	ramp
	mean, sd float64 // s, launch
	ll       float64 // log of the integral over the launch instant
}

// ridgeOf scans the launch instant for one ramp. The scan starts where the
// effective launch would be the guess and widens until both ends are negligible.
func (so *solver) ridgeOf(rp ramp, guess, width, until float64) ridge {
	lead := rp.shape.delay() * rp.tau
	step := 0.8 * width
	val := map[int]float64{}
	score := func(i int) float64 {
		if v, ok := val[i]; ok {
			return v
		}
		v := so.likelihood(hypothesis{ramp: rp, launch: guess - lead + float64(i)*step}, until)
		val[i] = v
		return v
	}
	best := 0
	for _, i := range []int{-2, 0, 2} {
		if score(i) > score(best) {
			best = i
		}
	}
	for range 40 {
		if score(best+1) > score(best) {
			best++
		} else if score(best-1) > score(best) {
			best--
		} else {
			break
		}
	}
	top := score(best)
	for i := best + 1; i < best+9 && score(i) > top-6; i++ {
		continue
	}
	for i := best - 1; i > best-9 && score(i) > top-6; i-- {
		continue
	}
	keys := make([]int, 0, len(val))
	for i := range val {
		keys = append(keys, i)
	}
	sort.Ints(keys)
	var m0, m1, m2 float64
	for _, i := range keys {
		w := math.Exp(val[i] - top)
		x := float64(i) * step
		m0, m1, m2 = m0+w, m1+w*x, m2+w*x*x
	}
	mean := m1 / m0
	return ridge{ramp: rp, mean: guess - lead + mean, sd: math.Sqrt(max(m2/m0-mean*mean, 0)), ll: top + math.Log(m0)}
}

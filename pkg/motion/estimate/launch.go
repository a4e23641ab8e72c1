package estimate

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/ramp"
)

// findLaunch finds the hypotheses that the readings support, with their
// probabilities, most probable first.
func (so *solver) findLaunch(lo, hi float64) []hypothesis {
	guess, step := so.coarse(lo, hi)
	so.adapt(&hypothesis{Ramp: probe, launch: guess - probe.Delay()})
	hs := so.posterior(guess, step, firstRamps)
	if len(hs) == 0 {
		return hs
	}
	so.refine(&hs[0], step)
	so.adapt(&hs[0])
	width := so.refine(&hs[0], step)
	guess = hs[0].launch + hs[0].Delay()
	hs = so.posterior(guess, ridgeStep*width, 1)
	return so.overOffset(hs, guess, ridgeStep*width)
}

// probe is the build-up of the first guess.
var probe = ramp.Ramp{Shape: ramp.Linear, Tau: probeTau}

// coarse scans for the effective launch, the instant at which a step would have
// given the same speed, and returns it with the step of the scan.
func (so *solver) coarse(lo, hi float64) (t, step float64) {
	step = min(max(so.s.Step/scanShare, leastScan), mostScan)
	best := math.Inf(-1)
	for x := lo; x <= hi; x += step {
		// All are scored up to the same last reading: a span that moved with x
		// would favour early guesses.
		ll := so.likelihood(probe, x-probe.Delay(), hi+so.pace.span)
		if ll > best {
			best, t = ll, x
		}
	}
	return t, step
}

// refine moves a hypothesis' launch to the peak of its likelihood, which lies within a
// span of it, by golden section, and returns the peak's width.
func (so *solver) refine(h *hypothesis, span float64) (sd float64) {
	until := h.launch + h.Delay() + so.pace.span
	f := func(x float64) float64 { return so.likelihood(h.Ramp, x, until) }
	a, b := h.launch-span, h.launch+span
	c, d := b-golden*(b-a), a+golden*(b-a)
	fc, fd := f(c), f(d)
	for b-a > refined {
		if fc > fd {
			b, d, fd = d, c, fc
			c = b - golden*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + golden*(b-a)
			fd = f(d)
		}
	}
	h.launch = (a + b) / 2
	// The width is where the likelihood has fallen by half a unit; a bracket
	// that grows by half each time finds it at any scale.
	top := f(h.launch)
	return max((fall(f, h.launch, -1, top)+fall(f, h.launch, 1, top))/2, leastWidth)
}

// fall is how far from the peak the log-likelihood has dropped by half.
func fall(f func(float64) float64, peak, dir, top float64) float64 {
	x := leastFall
	for x < mostFall && f(peak+dir*x) > top-0.5 {
		x *= fallGrows
	}
	return x
}

// posterior scores launches on a grid about the effective launch for every n-th ramp and returns a
// hypothesis for each ramp that matters, with probabilities that sum to one.
func (so *solver) posterior(guess, step float64, n int) []hypothesis {
	sc := &scan{so: so, at: guess, step: step, until: guess + so.pace.span, done: map[int]*whitening{}}
	var all []ridge
	top := math.Inf(-1)
	for i, rp := range ramp.All {
		if !ramp.Every(i, n) {
			continue
		}
		r := sc.ridge(rp)
		r.index = i
		top = max(top, r.ll+math.Log(ramp.Prior[i]))
		all = append(all, r)
	}
	if n == 1 {
		so.evidence = make(ramp.Evidence, len(all))
		for _, r := range all {
			so.evidence[r.index] = r.ll
		}
	}
	var hs []hypothesis
	for _, r := range all {
		hs = append(hs, hypothesis{of: so, Ramp: r.Ramp, index: r.index, launch: r.mean, sd: r.sd,
			weight: ramp.Prior[r.index] * math.Exp(r.ll-top)})
	}
	return prune(hs)
}

// prune puts hypotheses in order, the most probable first, drops those that do not matter
// and scales the rest to one.
func prune(hs []hypothesis) []hypothesis {
	slices.SortStableFunc(hs, func(a, b hypothesis) int { return cmp.Compare(b.weight, a.weight) })
	sum := 0.0
	for i, h := range hs {
		if !(h.weight > leastRamp*hs[0].weight) {
			hs = hs[:i]
			break
		}
		sum += h.weight
	}
	for i := range hs {
		hs[i].weight /= sum
	}
	return hs
}

// ridge is the launch instant's posterior under one ramp.
type ridge struct {
	ramp.Ramp
	index    int     // in Ramps
	mean, sd float64 // s, launch
	ll       float64 // log of the integral over the launch instant
}

// scan is a grid of launch instants whose filters all ramps share.
type scan struct {
	so              *solver
	at, step, until float64 // s
	done            map[int]*whitening
}

func (sc *scan) launch(i int) float64 { return sc.at + float64(i)*sc.step }

func (sc *scan) under(rp ramp.Ramp, i int) float64 {
	w := sc.done[i]
	if w == nil {
		w = sc.so.whiten(sc.launch(i), sc.until)
		sc.done[i] = w
	}
	return sc.so.under(w, rp)
}

// ridge scans the launch instant for one ramp. The scan starts where the
// effective launch would be that about which the grid lies, and widens until both ends
// are negligible.
func (sc *scan) ridge(rp ramp.Ramp) ridge {
	first := -int(math.Round(rp.Delay() / sc.step))
	val := map[int]float64{}
	score := func(i int) float64 {
		v, ok := val[i]
		if !ok {
			v = sc.under(rp, i)
			val[i] = v
		}
		return v
	}
	best := first
	for _, i := range []int{first - 2, first, first + 2} {
		if score(i) > score(best) {
			best = i
		}
	}
	for range ridgeMoves {
		if score(best+1) > score(best) {
			best++
		} else if score(best-1) > score(best) {
			best--
		} else {
			break
		}
	}
	top := score(best)
	for i := best + 1; i < best+ridgeReach && score(i) > top-negligible; i++ {
		continue
	}
	for i := best - 1; i > best-ridgeReach && score(i) > top-negligible; i-- {
		continue
	}
	var m0, m1, m2 float64
	for _, i := range slices.Sorted(maps.Keys(val)) {
		w := math.Exp(val[i] - top)
		x := float64(i-best) * sc.step
		m0, m1, m2 = m0+w, m1+w*x, m2+w*x*x
	}
	mean := m1 / m0
	return ridge{Ramp: rp, mean: sc.launch(best) + mean, sd: math.Sqrt(max(m2/m0-mean*mean, 0)), ll: top + math.Log(m0)}
}

// moved is the solver with the accelerometer's clock moved, with everything that
// was adapted.
func (so *solver) moved(by float64, h hypothesis) *solver {
	m := newSolver(so.s, so.rd, so.move(by), so.until)
	for i := range m.acc {
		like := &so.acc[min(i, len(so.acc)-1)]
		m.acc[i].bad, m.acc[i].v = m.acc[i].bad || like.bad, like.v
	}
	m.sd, m.av, m.rv, m.idle, m.clock, m.walk = so.sd, so.av, so.rv, so.idle, so.clock, so.walk
	m.thrust, m.thrustV = so.thrust, so.thrustV
	for k, t := range m.t {
		m.q[k] = so.q[min(so.first(t-motion.Slack), len(so.q)-1)]
	}
	m.weighPushes()
	m.prepare(0, len(m.t))
	m.atRest()
	h.launch += by
	if k0 := m.run(h); k0 < len(m.t) {
		m.instants(k0)
	}
	return m
}

// overOffset integrates the hypotheses over what is not known of the clock offset,
// at three Gauss-Hermite points. The offset was found from the whole log, so
// the points' weights are fixed and not scored again on this run.
func (so *solver) overOffset(hs []hypothesis, guess, step float64) []hypothesis {
	if so.acc == nil || len(hs) == 0 {
		return hs
	}
	best := hs[0]
	u := so.s.Accel.offsetU(math.Abs(best.launch)) // negative in a reversed window
	if u < leastOffset {
		return hs
	}
	var out []hypothesis
	for j, z := range [3]float64{0, -math.Sqrt(3), math.Sqrt(3)} {
		part := hs
		if j > 0 {
			by := z * u
			part = so.moved(by, best).posterior(guess+by, step, 1)
		}
		for _, h := range part {
			h.weight *= [3]float64{2.0 / 3, 1.0 / 6, 1.0 / 6}[j]
			out = append(out, h)
		}
	}
	return prune(out)
}

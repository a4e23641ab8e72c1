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
	first := so.probe()
	guess, step := so.coarse(first, lo, hi)
	so.adapt(&hypothesis{Seen: first, launch: guess - first.Delay()})
	sc := &scan{so: so, at: guess, step: step, lead: first.Lead(), until: guess + so.pace.span, done: map[int]*whitening{}}
	hs := prune(sc.behind(so.usual(), firstRamps))
	if len(hs) == 0 {
		return hs
	}
	so.refine(&hs[0], step)
	so.adapt(&hs[0])
	width := so.refine(&hs[0], step)
	guess = hs[0].launch + hs[0].Delay()
	hs = so.posterior(guess, ridgeStep*width)
	return so.overOffset(hs, guess, ridgeStep*width)
}

// usual is the most probable filter.
func (so *solver) usual() *LikelyFilter {
	fs := so.s.filters()
	best := 0
	for i := range fs {
		if fs[i].P > fs[best].P {
			best = i
		}
	}
	return &fs[best]
}

// probe is the build-up of the first guess, behind the most probable filter.
func (so *solver) probe() ramp.Seen {
	return ramp.Seen{Ramp: ramp.Ramp{Shape: ramp.Linear, Tau: probeTau}, By: &so.usual().Filter, Backwards: so.backwards}
}

// coarse scans for the effective launch, the instant at which a step would have
// given the same speed, and returns it with the step of the scan.
func (so *solver) coarse(probe ramp.Seen, lo, hi float64) (t, step float64) {
	step = min(max(so.s.Step/scanShare, leastScan), mostScan)
	best := math.Inf(-1)
	for x := lo; x <= hi; x += step {
		// All are scored up to the same last reading: a span that moved with x
		// would favour early guesses.
		ll := so.likelihood(&probe, x-probe.Delay(), hi+so.pace.span)
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
	f := func(x float64) float64 { return so.likelihood(&h.Seen, x, until) }
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

// posterior scores launches on a grid about the effective launch, for every ramp behind
// every filter the receiver may have, and returns a hypothesis for each pair that matters,
// with probabilities that sum to one. A build-up looks like a filter, so a launch has no
// say in which it is: the filters keep their probabilities.
func (so *solver) posterior(guess, step float64) []hypothesis {
	fs := so.s.filters()
	sc := &scan{so: so, at: guess, step: step, until: guess + so.pace.span, done: map[int]*whitening{}}
	for i := range fs {
		sc.lead = max(sc.lead, (&ramp.Seen{By: &fs[i].Filter, Backwards: so.backwards}).Lead())
	}
	so.evidence = make(ramp.Evidence, 0, len(fs)*len(ramp.All))
	var hs []hypothesis
	for i := range fs {
		for _, h := range sc.behind(&fs[i], 1) {
			so.evidence = append(so.evidence, h.ll)
			h.index += i * len(ramp.All)
			h.weight *= fs[i].P
			hs = append(hs, h)
		}
	}
	return prune(hs)
}

// behind scores every n-th ramp behind a filter: the hypotheses' probabilities sum to one.
func (sc *scan) behind(f *LikelyFilter, n int) []hypothesis {
	var hs []hypothesis
	var tables []*ramp.Table
	if f.shows != nil && !sc.so.backwards {
		tables = f.shows()
	}
	top := math.Inf(-1)
	for i, rp := range ramp.All {
		if !ramp.Every(i, n) {
			continue
		}
		seen := ramp.Seen{Ramp: rp, By: &f.Filter, Backwards: sc.so.backwards}
		var as shown = &seen
		if tables != nil {
			as = tables[i]
		}
		h := sc.along(seen, as)
		h.index, h.of = i, sc.so
		top = max(top, h.ll)
		hs = append(hs, h)
	}
	sum := 0.0
	for i := range hs {
		hs[i].weight = ramp.Prior[hs[i].index] * math.Exp(hs[i].ll-top)
		sum += hs[i].weight
	}
	for i := range hs {
		hs[i].weight /= sum
	}
	return hs
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

// scan is a grid of launch instants whose filters all ramps share.
type scan struct {
	so              *solver
	at, step, until float64 // s
	lead            float64 // s, before a launch, in which something of it may show
	done            map[int]*whitening
}

func (sc *scan) launch(i int) float64 { return sc.at + float64(i)*sc.step }

func (sc *scan) under(rp shown, i int) float64 {
	w := sc.done[i]
	if w == nil {
		w = sc.so.whiten(sc.launch(i), sc.lead, sc.until)
		sc.done[i] = w
	}
	return sc.so.under(w, rp)
}

// along scans the launch instant for one ramp. The scan starts where the
// effective launch would be that about which the grid lies, and widens until both ends
// are negligible. What the ramp shows is taken from as.
func (sc *scan) along(rp ramp.Seen, as shown) hypothesis {
	first := -int(math.Round(rp.Delay() / sc.step))
	val := map[int]float64{}
	score := func(i int) float64 {
		v, ok := val[i]
		if !ok {
			v = sc.under(as, i)
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
	if math.IsInf(top, -1) { // no reading follows
		return hypothesis{Seen: rp, launch: sc.launch(best), ll: top}
	}
	for i := best + 1; i < best+ridgeReach && score(i) > top-negligible; i++ {
		continue
	}
	for i := best - 1; i > best-ridgeReach && score(i) > top-negligible; i-- {
		continue
	}
	for _, x := range val { // a ramp that fits nowhere may have its top elsewhere
		top = max(top, x)
	}
	var m0, m1, m2 float64
	for _, i := range slices.Sorted(maps.Keys(val)) {
		w := math.Exp(val[i] - top)
		x := float64(i-best) * sc.step
		m0, m1, m2 = m0+w, m1+w*x, m2+w*x*x
	}
	mean := m1 / m0
	return hypothesis{Seen: rp, launch: sc.launch(best) + mean, sd: math.Sqrt(max(m2/m0-mean*mean, 0)), ll: top + math.Log(m0)}
}

// moved is the solver with the accelerometer's clock moved, with everything that
// was adapted.
func (so *solver) moved(by float64, h hypothesis) *solver {
	m := newSolver(so.s, so.rd, so.move(by), so.until)
	m.backwards = so.backwards
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
			part = so.moved(by, best).posterior(guess+by, step)
		}
		for _, h := range part {
			h.weight *= [3]float64{2.0 / 3, 1.0 / 6, 1.0 / 6}[j]
			out = append(out, h)
		}
	}
	return prune(out)
}

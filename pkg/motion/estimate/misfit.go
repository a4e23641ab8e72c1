package estimate

import "math"

// misfit reports whether the path of a hypothesis lies farther from the speed
// samples, those set aside among them, than the noise of the log explains: on the
// whole, or over a good part of a second.
func (so *solver) misfit(h hypothesis, rolling bool) bool {
	t, z := so.residuals(h, rolling)
	if len(z) == 0 {
		return false
	}
	rho := so.s.Rho
	sum := 0.0
	for _, x := range z {
		sum += min(x*x, mostMisfit)
	}
	n := float64(len(z))
	free := n * (1 - rho*rho) / (1 + rho*rho)
	if sum/n > 1+misfitAt*math.Sqrt(2/free) {
		return true
	}
	run, from := 0.0, 0
	for i, x := range z {
		run += x
		for t[i]-t[from] > missSpan {
			run -= z[from]
			from++
		}
		if m := float64(i - from + 1); math.Abs(run) > missAt*math.Sqrt(m*(1+rho)/(1-rho)) {
			return true
		}
	}
	return false
}

// residuals are the speed samples less the path's speed in units of their
// standard deviation, with their instants.
func (so *solver) residuals(h hypothesis, rolling bool) (t, z []float64) {
	p := h.of.path(h, rolling)
	for k := p.k0; k < len(p.t); k++ {
		i := h.of.at[k]
		if i < 0 {
			continue
		}
		rd := &so.rd[i]
		if rd.none || rd.kind == held || rd.kind == length {
			continue
		}
		m := &p.mean[k]
		// An instant's error grows with acceleration.
		v := so.s.SD*so.s.SD + rd.r + m[stA]*m[stA]*so.clock
		t, z = append(t, p.t[k]), append(z, (rd.y-m[stV])/math.Sqrt(v))
	}
	return t, z
}

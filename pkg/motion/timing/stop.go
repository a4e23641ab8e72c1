package timing

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// MeasureStop measures a braking estimated in reversed time: the stop is then
// the launch, and what was covered before the stop is covered after it. Units
// ("mph" or "kmh") choose the nominal speed the distance is corrected to: the
// highest multiple of ten that the initial speed reaches to within 2 %.
func MeasureStop(e *estimate.Estimate, units string) (Stop, Result) {
	tb := e.NewTrace(stopBefore, TraceStep)
	e.Paths(tb.Add)
	r := Result{Trace: tb.Trace()}
	summarise(&r)
	begin, beginU := setsIn(&r.Trace)
	var d, sec, mfdd, speed moments
	e.Paths(func(p *estimate.Path) {
		at := e.Launch.X + begin
		s, v, _ := p.At(at)
		ss, sv, _ := p.SD(at)
		d.add(p.Weight, s, ss*ss+v*v*beginU*beginU)
		speed.add(p.Weight, v, sv*sv)
		sec.add(p.Weight, at-p.Launch, beginU*beginU)
		b, ok1 := p.ReachSpeed(mfddFrom*v, math.Inf(-1))
		f, ok2 := p.ReachSpeed(mfddTo*v, math.Inf(-1))
		if ok1 && ok2 {
			sb, vb, _ := p.At(b.T)
			sf, vf, _ := p.At(f.T)
			s1, v1, _ := p.SD(b.T)
			s0, v0, _ := p.SD(f.T)
			way := sb - sf
			m := (vb*vb - vf*vf) / (2 * way)
			u := uncert.Combine(vb*v1/way, vf*v0/way, m*s1/way, m*s0/way)
			mfdd.add(p.Weight, m, u*u)
		}
	})
	var st Stop
	var sd, sv, sm, ss float64
	st.InitialSpeed, sv = speed.value()
	st.Distance, sd = d.value()
	st.Seconds, ss = sec.value()
	st.MFDD, sm = mfdd.value()
	st.U95 = uncert.Z95 * uncert.Combine(sd, e.Scale*st.Distance, e.Offset*st.Seconds)
	st.SecU95 = uncert.Z95 * ss
	st.MFDDU95 = uncert.Z95 * uncert.Combine(sm, e.Scale*st.MFDD)
	step := nominalStep * unit.MPH
	if units == "kmh" {
		step = nominalStep * unit.KMH
	}
	st.Nominal = math.Floor(st.InitialSpeed*(1+nominalFit)/step) * step
	k := (st.Nominal / st.InitialSpeed) * (st.Nominal / st.InitialSpeed)
	st.Corrected = st.Distance * k
	st.CorU95 = k * uncert.Combine(st.U95, uncert.Z95*2*st.Distance*sv/st.InitialSpeed)
	return st, r
}

// setsIn finds where deceleration sets in, in a trace whose time runs backwards
// from the stop: half of its mean, with the time it takes from a fifth to four
// fifths as the width of what is not known of the instant. Without a brake
// trigger in the log the first touch of the pedal is not seen.
func setsIn(tr *motion.Trace) (t, u float64) {
	n := tr.Len()
	if n == 0 {
		return 0, 0
	}
	mean := tr.V[n-1] / max(tr.T[n-1], leastSD)
	last := func(share float64) float64 {
		i := n - 1
		for i > 0 && tr.A[i] < share*mean {
			i--
		}
		return tr.T[i]
	}
	return last(setIn), uncert.Rectangular((last(setInFrom) - last(setInTo)) / 2)
}

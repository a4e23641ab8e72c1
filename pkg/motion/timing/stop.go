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
	e.Paths(tb.Slide, tb.Add)
	r := Result{Trace: tb.Trace()}
	summarise(&r)
	begin, beginU := setsIn(&r.Trace)
	at := e.Launch.X + begin
	var d, sec, mfdd, speed moments
	var slope stopped
	e.Paths(func(p *estimate.Path, sign float64) {
		x := stopOn(p, at)
		slope.distance += sign * x.distance / (2 * p.SD)
		slope.speed += sign * x.speed / (2 * p.SD)
		if !math.IsNaN(x.mfdd) {
			slope.mfdd += sign * x.mfdd / (2 * p.SD)
		}
	}, func(p *estimate.Path) {
		x, sd := stopOn(p, at), p.SD
		d.add(p.Weight, x.distance, x.distanceV+x.speed*x.speed*beginU*beginU+sq(slope.distance*sd))
		speed.add(p.Weight, x.speed, x.speedV+sq(slope.speed*sd))
		sec.add(p.Weight, at-p.Launch, beginU*beginU+sd*sd)
		if !math.IsNaN(x.mfdd) {
			mfdd.add(p.Weight, x.mfdd, x.mfddV+sq(slope.mfdd*sd))
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

// stopped is what one path tells of a stop, with variances.
type stopped struct{ distance, distanceV, speed, speedV, mfdd, mfddV float64 }

// stopOn reads a stop off a path on which braking begins at an instant.
func stopOn(p *estimate.Path, at float64) stopped {
	s, v, _ := p.At(at)
	ss, sv, _ := p.SDAt(at)
	x := stopped{distance: s, distanceV: ss * ss, speed: v, speedV: sv * sv, mfdd: math.NaN()}
	b, ok1 := p.ReachSpeed(mfddFrom*v, math.Inf(-1))
	f, ok2 := p.ReachSpeed(mfddTo*v, math.Inf(-1))
	if ok1 && ok2 {
		sb, vb, _ := p.At(b.T)
		sf, vf, _ := p.At(f.T)
		s1, v1, _ := p.SDAt(b.T)
		s0, v0, _ := p.SDAt(f.T)
		way := sb - sf
		x.mfdd = (vb*vb - vf*vf) / (2 * way)
		x.mfddV = sq(uncert.Combine(vb*v1/way, vf*v0/way, x.mfdd*s1/way, x.mfdd*s0/way))
	}
	return x
}

func sq(x float64) float64 { return x * x }

package align

import (
	"fmt"
	"math"
	"time"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/accel"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// finish fills the alignment from the regression.
func (l *aligner) finish(rg *regression) {
	al := l.al
	l.zero = rg.zero
	k := len(rg.c)
	var dir [3]float64
	gain := 0.0
	for i, c := range rg.c {
		gain += c * c
		for j, x := range rg.basis[i] {
			dir[j] += c * x
		}
	}
	gain = math.Sqrt(gain)
	al.Forward = accel.Unit(dir)
	al.Gain.X = gain
	v, trace := 0.0, 0.0
	for i := range k {
		for j := range k {
			v += rg.c[i] * rg.c[j] * rg.cov.At(i, j) / gain / gain
		}
		trace += rg.cov.At(i, i)
	}
	al.Gain.U = math.Sqrt(v)
	if k > 1 {
		al.ForwardU = math.Sqrt(max(trace-v, 0)) / gain
	}
	al.Offset = uncert.Value{X: rg.zero - l.base, U: math.Sqrt(rg.cov.At(k, k))}
	al.Drift.U = usualDrift
	if rg.drifts {
		// The offset is known best where it does not depend on the drift.
		vd := rg.cov.At(k+1, k+1)
		by := -rg.cov.At(k, k+1) / vd
		rg.mid += by
		al.Offset.X += rg.drift * by
		al.Offset.U = math.Sqrt(max(rg.cov.At(k, k)+by*rg.cov.At(k, k+1), 0))
		al.Drift = uncert.Value{X: rg.drift, U: math.Sqrt(vd)}
	}
	al.Middle = l.sp.Start.Add(time.Duration(math.Round(rg.mid * 1e9)))
	al.Begin = l.sp.Start.Add(time.Duration(math.Round((rg.zero - rg.drift*(rg.mid-rg.zero)) * 1e9)))
	rest := l.s.Noise(al.Forward, l.toSensor(l.still, motion.RestEdge))
	way := l.s.Noise(al.Forward, l.underWay())
	al.Rest, al.Moving, al.Rho = gain*math.Sqrt(rest.Variance), gain*math.Sqrt(way.Variance), way.Rho
	if ps := l.s.Poses(l.toSensor(l.still, 0)); len(ps) > 0 {
		l.biasAtRest(ps, rest)
	} else {
		l.biasUnderWay(rg)
	}
}

// biasAtRest fills in the bias from the standstills; shake is the noise in them.
func (l *aligner) biasAtRest(ps []accel.Pose, shake accel.Noise) {
	bias := &l.al.Bias
	n := float64(len(ps))
	for _, p := range ps {
		bias.X += accel.Dot(l.al.Forward, p.Mean) / n
	}
	ss := 0.0
	for _, p := range ps {
		e := accel.Dot(l.al.Forward, p.Mean) - bias.X
		ss += e * e
	}
	bias.U = math.Sqrt(shake.Long() / float64(ps[0].N) / n)
	if n > 1 {
		bias.U = max(bias.U, math.Sqrt(ss/(n-1)/n))
	}
	bias.U = math.Hypot(bias.U, l.s.Unbridged(shake))
}

// biasUnderWay fills in the bias from what the speed leaves over, the first part
// of the log, in which the filter settles, left out.
func (l *aligner) biasUnderWay(rg *regression) {
	al := l.al
	z := rg.f.whiten(rg.m, [][]float64{rg.leftOver()}, 0)
	sum, v, n := 0.0, 0.0, 0.0
	for i := len(z.bias) / settling; i < len(z.bias); i++ {
		sum, v, n = sum+z.bias[i], v+z.biasV[i], n+1
	}
	if n > 0 {
		al.Bias.X = -sum / n / al.Gain.X
		al.Bias.U = math.Sqrt(v/n) / al.Gain.X
	}
	for j, m := range l.s.Mean {
		al.Bias.X += al.Forward[j] * m
	}
}

// gainFault says whether the gain is too little known or none that a mounting
// explains, and notes a plain mistake of the unit.
func gainFault(al *accel.Alignment) string {
	if al.Gain.U > mostGainU*math.Abs(al.Gain.X) {
		return fmt.Sprintf("how much of the vehicle's acceleration it reads is told only to ±%.0f %%, at least ±%.0f %% is needed",
			100*uncert.Z95*al.Gain.U/math.Abs(al.Gain.X), 100*uncert.Z95*mostGainU)
	}
	g := al.Gain.X / al.Factor()
	within := func(g float64) bool { return g > leastGain && g < mostGain }
	if within(g) {
		return ""
	}
	for _, f := range [...]float64{unit.GravityStandard, 1 / unit.GravityStandard} {
		if within(g/f) && al.Gravity < accel.LeastGravity {
			al.AddNote(fmt.Sprintf("it reads 1 where the speed says %.4g m/s²: taken by that factor", al.Gain.X))
			return ""
		}
	}
	return fmt.Sprintf("the speed says %.2f m/s² where it reads 1: a wrong unit, or a sensor that swings", al.Gain.X)
}

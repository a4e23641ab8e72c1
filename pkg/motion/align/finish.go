package align

import (
	"fmt"
	"math"
	"time"

	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// finish fills the alignment from the fit.
func (l *aligner) finish(ft *fit) {
	al := l.al
	l.zero = ft.zero
	k := len(ft.c)
	var dir [3]float64
	gain := 0.0
	for i, c := range ft.c {
		gain += c * c
		for j, x := range ft.basis[i] {
			dir[j] += c * x
		}
	}
	gain = math.Sqrt(gain)
	al.Forward = unitVector(dir)
	al.Gain.X = gain
	v, trace := 0.0, 0.0
	for i := range k {
		for j := range k {
			v += ft.c[i] * ft.c[j] * ft.cov.At(i, j) / gain / gain
		}
		trace += ft.cov.At(i, i)
	}
	al.Gain.U = math.Sqrt(v)
	if k > 1 {
		al.ForwardU = math.Sqrt(max(trace-v, 0)) / gain
	}
	al.Offset = uncert.Value{X: ft.zero - l.base, U: math.Sqrt(ft.cov.At(k, k))}
	al.Drift.U = usualDrift
	if ft.drifts {
		// The offset is known best where it does not depend on the drift.
		vd := ft.cov.At(k+1, k+1)
		by := -ft.cov.At(k, k+1) / vd
		ft.mid += by
		al.Offset.X += ft.drift * by
		al.Offset.U = math.Sqrt(max(ft.cov.At(k, k)+by*ft.cov.At(k, k+1), 0))
		al.Drift = uncert.Value{X: ft.drift, U: math.Sqrt(vd)}
	}
	al.Middle = l.sp.Start.Add(time.Duration(math.Round(ft.mid * 1e9)))
	al.Begin = l.sp.Start.Add(time.Duration(math.Round((ft.zero - ft.drift*(ft.mid-ft.zero)) * 1e9)))
	l.biases(ft)
	rest := noiseOf(l.a, l.in, al.Forward, al.Rate, l.toSensor(l.still, edge))
	way := noiseOf(l.a, l.in, al.Forward, al.Rate, l.underWay())
	al.Rest, al.Moving, al.Rho = gain*math.Sqrt(rest.variance), gain*math.Sqrt(way.variance), way.rho
}

// usualDrift is the standard uncertainty of the rate of one clock against
// another where the log does not tell it: quartz keeps within some 30 parts in a
// million (common practice).
const usualDrift = 30e-6

// biases fills in the bias: from the standstills, else from the fit.
func (l *aligner) biases(ft *fit) {
	al := l.al
	ps := poses(l.a, l.in, l.toSensor(l.still, 0))
	shake := noiseOf(l.a, l.in, al.Forward, al.Rate, l.toSensor(l.still, edge))
	white := shake.long()
	if n := float64(len(ps)); n > 0 {
		var xs []float64
		for _, p := range ps {
			xs = append(xs, dot(al.Forward, p.mean))
			al.Bias.X += xs[len(xs)-1] / n
		}
		ss := 0.0
		for _, x := range xs {
			ss += (x - al.Bias.X) * (x - al.Bias.X)
		}
		al.Bias.U = math.Sqrt(white / float64(ps[0].n) / n)
		if n > 1 {
			al.Bias.U = max(al.Bias.U, math.Sqrt(ss/(n-1)/n))
		}
		al.Bias.U = math.Hypot(al.Bias.U, al.unbridged(shake))
		return
	}
	e := ft.leftOver()
	z := ft.f.whiten(ft.m, [][]float64{e}, 0)
	sum, v, n := 0.0, 0.0, 0.0
	for i := len(z.bias) / 10; i < len(z.bias); i++ {
		sum, v, n = sum+z.bias[i], v+z.biasV[i], n+1
	}
	if n > 0 {
		al.Bias.X = -sum / n / al.Gain.X
		al.Bias.U = math.Sqrt(v/n) / al.Gain.X
	}
	for j, m := range l.in.mean {
		al.Bias.X += al.Forward[j] * m
	}
}

// gainFault says whether the gain is too little known or none that a mounting
// explains, and notes a plain mistake of the unit.
func (al *Alignment) gainFault() string {
	if al.Gain.U > mostGainU*math.Abs(al.Gain.X) {
		return fmt.Sprintf("how much of the vehicle's acceleration it reads is told only to ±%.0f %%, at least ±%.0f %% is needed",
			100*uncert.Z95*al.Gain.U/math.Abs(al.Gain.X), 100*uncert.Z95*mostGainU)
	}
	g := al.Gain.X / al.factor()
	within := func(g float64) bool { return g > leastGain && g < mostGain }
	if within(g) {
		return ""
	}
	for _, f := range [...]float64{unit.GravityStandard, 1 / unit.GravityStandard} {
		if within(g/f) && al.Gravity < leastGravity {
			al.note(fmt.Sprintf("it reads 1 where the speed says %.4g m/s²: taken by that factor", al.Gain.X))
			return ""
		}
	}
	return fmt.Sprintf("the speed says %.2f m/s² where it reads 1: a wrong unit, or a sensor that swings", al.Gain.X)
}

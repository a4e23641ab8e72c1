package align

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/motion"
	"fromrest/pkg/stats"
)

// regression is that of the speed on the samples' integral.
type regression struct {
	l      *aligner
	f      *fixes
	basis  [][]float64 // directions on the sensor's axes: forward as first found, and across it where there are three axes
	zero   float64     // s of Speed's clock at the sensor's first sample
	drift  float64     // s/s about mid
	mid    float64     // s on Speed's clock
	c      []float64   // of each basis direction
	m      wander
	across [][2]float64 // tangents of forward's angle towards each further direction and their uncertainties, by the reverse regression
	sensor float64      // m²/s³, noise of the sensor's own along the first direction
	drifts bool         // the drift is fitted
	span   float64      // s, how far the second search for the offset goes
	half   float64      // s, half of what each speed is the mean over, 0 for an instant

	last  round
	cov   *mat.SymDense
	scale float64 // variance of the whitened residuals
}

// columns reads the integral at every fix: each basis direction, and the
// acceleration in each.
func (rg *regression) columns() (w, acc [][]float64) {
	n := len(rg.f.t)
	for range rg.basis {
		w, acc = append(w, make([]float64, n)), append(acc, make([]float64, n))
	}
	now, before, after := rg.l.s.Reader(), rg.l.s.Reader(), rg.l.s.Reader()
	lead := rg.lead()
	for i, t := range rg.f.t {
		x := t - rg.zero - rg.drift*(t-rg.mid)
		for j, d := range rg.basis {
			w[j][i] = now.Along(x, d)
			a, b := before.Along(x-lead, d), after.Along(x+lead, d)
			acc[j][i] = (b - a) / (2 * lead)
			if rg.half > 0 {
				w[j][i] = (4*w[j][i] + a + b) / 6 // Simpson
			}
		}
	}
	return w, acc
}

// lead is half the span over which the acceleration at a fix is taken, in s: long
// enough for the sensor's noise in it to matter little.
func (rg *regression) lead() float64 {
	return max(min(rg.sensor/leadNoise, mostLead), leastLead, rg.half)
}

// raw is the columns of the unknowns (each direction, offset, drift) at the
// present offset, and the speed as the last.
func (rg *regression) raw() [][]float64 {
	w, acc := rg.columns()
	cols := append([][]float64{}, w...)
	n := len(rg.f.t)
	off, dr := make([]float64, n), make([]float64, n)
	for i := range off {
		for j, c := range rg.c {
			off[i] -= c * acc[j][i]
		}
		dr[i] = off[i] * (rg.f.t[i] - rg.mid)
	}
	cols = append(cols, off)
	if rg.drifts {
		cols = append(cols, dr)
	}
	return append(cols, rg.f.y)
}

// residuals are the whitened speed less the unknowns x times their columns.
func residuals(z *whitened, x []float64) []float64 {
	y := z.col[len(z.col)-1]
	r := make([]float64, len(y))
	for i := range r {
		r[i] = y[i]
		for j, b := range x {
			r[i] -= b * z.col[j][i]
		}
	}
	return r
}

// unknowns are the present coefficients followed by zeros for the changes of
// offset and drift.
func (rg *regression) unknowns() []float64 {
	x := append([]float64{}, rg.c...)
	x = append(x, 0)
	if rg.drifts {
		x = append(x, 0)
	}
	return x
}

// weights are Huber's, and 0 for rows that do not count; scale is the variance
// of the residuals of the moving rows, by their median.
func (rg *regression) weights(z *whitened, r []float64) (w []float64, scale float64) {
	var size []float64
	every := max(1, len(r)/enough) // a median needs no more
	for i, fix := range z.fix {
		if rg.f.still[fix] == 0 && i%every == 0 {
			size = append(size, math.Abs(r[i]))
		}
	}
	sd := max(stats.Middle(size)/motion.MedianSize, leastSD)
	w = make([]float64, len(r))
	sum, n := 0.0, 0.0
	for i, fix := range z.fix {
		if rg.f.still[fix] > stillCount {
			continue // of a standstill only the first tell of the motion
		}
		w[i] = min(1, hubers*sd/math.Abs(r[i]))
		if rg.f.still[fix] == 0 {
			sum, n = sum+w[i]*r[i]*r[i], n+1
		}
	}
	return w, max(sum/max(n-float64(len(rg.c)+2), 1), leastScale)
}

// normal is the matrix and right side of the weighted regression, with what is
// known beside it; ridge is added to the diagonal, so that where nothing is told
// nothing runs away.
func (rg *regression) normal(z *whitened, w []float64, scale float64, x []float64, ridge float64) (a *mat.SymDense, b []float64) {
	p := len(z.col) - 1
	a, b = mat.NewSymDense(p, nil), make([]float64, p)
	for i := range p {
		b[i] = weighed(w, z.col[i], z.col[p])
		for j := i; j < p; j++ {
			a.SetSym(i, j, weighed(w, z.col[i], z.col[j]))
		}
		a.SetSym(i, i, a.At(i, i)+ridge)
	}
	for i, t := range rg.across {
		u := math.Abs(x[0]) * t[1]
		a.SetSym(i+1, i+1, a.At(i+1, i+1)+scale/u/u)
		b[i+1] += scale / u / u * x[0] * t[0]
	}
	if k := p - 1; k > len(rg.c) {
		a.SetSym(k, k, a.At(k, k)+scale/looseDrift/looseDrift)
		b[k] -= scale / looseDrift / looseDrift * rg.drift
	}
	return a, b
}

// attenuation is what the sensor's own noise adds to the sum of squares of the
// first column.
func (rg *regression) attenuation(z *whitened, w []float64) float64 {
	if rg.m.noise <= 0 {
		return 0
	}
	more := rg.m
	more.noise *= 1 + noiseStep
	up := rg.f.whiten(more, nil, -1)
	sum := 0.0
	for i := range z.logS {
		sum += w[i] * (up.logS[i] - z.logS[i]) / noiseStep
	}
	return sum * rg.sensor / rg.m.noise
}

// clear takes off the matrix what the sensor's noise adds to the columns of offset
// and drift, which would make both seem better known than they are.
func (rg *regression) clear(a *mat.SymDense, z *whitened, w []float64) {
	k := len(rg.c)
	v := rg.c[0] * rg.c[0] * rg.sensor / (2 * rg.lead())
	var sum [3]float64
	for i, fix := range z.fix {
		d := rg.f.t[fix] - rg.mid
		x := w[i] * v * math.Exp(-z.logS[i])
		sum[0], sum[1], sum[2] = sum[0]+x, sum[1]+x*d, sum[2]+x*d*d
	}
	most := mostClear * a.At(k, k) / sum[0]
	if rg.drifts {
		most = min(most, mostClear*a.At(k+1, k+1)/sum[2])
	}
	for i := range sum {
		sum[i] *= min(most, 1)
	}
	a.SetSym(k, k, a.At(k, k)-sum[0])
	if rg.drifts {
		a.SetSym(k, k+1, a.At(k, k+1)-sum[1])
		a.SetSym(k+1, k+1, a.At(k+1, k+1)-sum[2])
	}
}

// solve solves a x = b for a positive definite matrix; nil where it is not.
func solve(a *mat.SymDense, b []float64) []float64 {
	var ch mat.Cholesky
	var x mat.VecDense
	if !ch.Factorize(a) || ch.SolveVecTo(&x, mat.NewVecDense(len(b), b)) != nil {
		return nil
	}
	return x.RawVector().Data
}

// weighed is the weighted sum of products.
func weighed(w, a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += w[i] * a[i] * b[i]
	}
	return s
}

// step is one round of Gauss and Newton; it returns how far the offset moved
// in s, NaN where the regression has no solution.
func (rg *regression) step() float64 {
	z := rg.f.whiten(rg.m, rg.raw(), -1)
	x := rg.unknowns()
	var a *mat.SymDense
	var w []float64
	for range reweights {
		var b []float64
		w, rg.scale = rg.weights(z, residuals(z, x))
		a, b = rg.normal(z, w, rg.scale, x, 0)
		// The sensor's noise in a regressor would pull the gain down.
		if n := rg.attenuation(z, w); n < mostAttenuation*a.At(0, 0) {
			a.SetSym(0, 0, a.At(0, 0)-n)
		}
		if x = solve(a, b); x == nil {
			return math.NaN()
		}
	}
	k := len(rg.c)
	copy(rg.c, x[:k])
	move := min(max(x[k], -mostMove), mostMove)
	rg.zero += move
	if rg.drifts {
		rg.drift += min(max(x[k+1], -mostTurn), mostTurn)
	}
	rg.clear(a, z, w)
	rg.last = round{z, w, residuals(z, x), a}
	return move
}

package align

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Of the fit.
const (
	// The second search for the offset goes no further from the first one than a
	// good part of the speeds' interval, within bounds, in steps: what is quick
	// agrees by chance elsewhere too. All in s.
	midStep, leastSpan, mostSpan = 0.05, 0.15, 0.4
	fitRounds                    = 12
	settled                      = 5e-5 // s, a move of the offset that ends the fit
	hubers                       = 2.5  // standard deviations from which a residual counts less
	memory                       = 2.0  // s over which residuals may be correlated
	stretch                      = 10.0 // s
	manyStretches                = 12   // make a long log
	trusted                      = 0.7  // share of the plain variance
	// looseDrift keeps the fit of the drift from running away where a log is
	// short.
	looseDrift = 500e-6
)

// fit is the regression of the speed on the samples' integral.
type fit struct {
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
func (ft *fit) columns() (w, acc [][]float64) {
	n := len(ft.f.t)
	for range ft.basis {
		w, acc = append(w, make([]float64, n)), append(acc, make([]float64, n))
	}
	now, before, after := reader{in: ft.l.in}, reader{in: ft.l.in}, reader{in: ft.l.in}
	lead := ft.lead()
	for i, t := range ft.f.t {
		x := t - ft.zero - ft.drift*(t-ft.mid)
		for j, d := range ft.basis {
			w[j][i] = now.along(x, d)
			a, b := before.along(x-lead, d), after.along(x+lead, d)
			acc[j][i] = (b - a) / (2 * lead)
			if ft.half > 0 {
				w[j][i] = (4*w[j][i] + a + b) / 6 // Simpson
			}
		}
	}
	return w, acc
}

// design is the whitened regression at the present offset: the columns of the
// unknowns (each direction, offset, drift) and the speed as the last.
func (ft *fit) design(m wander) *whitened { return ft.f.whiten(m, ft.raw(), -1) }

// lead is half the span over which the acceleration at a fix is taken, in s: long
// enough for the sensor's noise in it to matter little.
func (ft *fit) lead() float64 {
	return max(min(ft.sensor/leadNoise, mostLead), leastLead, ft.half)
}

// raw is the design before it is whitened.
func (ft *fit) raw() [][]float64 {
	w, acc := ft.columns()
	cols := append([][]float64{}, w...)
	n := len(ft.f.t)
	off, dr := make([]float64, n), make([]float64, n)
	for i := range off {
		for j, c := range ft.c {
			off[i] -= c * acc[j][i]
		}
		dr[i] = off[i] * (ft.f.t[i] - ft.mid)
	}
	cols = append(cols, off)
	if ft.drifts {
		cols = append(cols, dr)
	}
	return append(cols, ft.f.y)
}

// counts reports whether a row tells of the motion: of a standstill's only the
// first do.
func (ft *fit) counts(fix int) bool { return ft.f.still[fix] <= 3 }

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
func (ft *fit) unknowns() []float64 {
	x := append([]float64{}, ft.c...)
	x = append(x, 0)
	if ft.drifts {
		x = append(x, 0)
	}
	return x
}

// weights are Huber's, and 0 for rows that do not count; scale is the variance
// of the residuals of the moving rows, by their median.
func (ft *fit) weights(z *whitened, r []float64) (w []float64, scale float64) {
	var size []float64
	every := max(1, len(r)/5000) // a median needs no more
	for i, fix := range z.fix {
		if ft.f.still[fix] == 0 && i%every == 0 {
			size = append(size, math.Abs(r[i]))
		}
	}
	sd := max(middle(size)/0.6745, 1e-6)
	w = make([]float64, len(r))
	sum, n := 0.0, 0.0
	for i, fix := range z.fix {
		if !ft.counts(fix) {
			continue
		}
		w[i] = min(1, hubers*sd/math.Abs(r[i]))
		if ft.f.still[fix] == 0 {
			sum, n = sum+w[i]*r[i]*r[i], n+1
		}
	}
	return w, max(sum/max(n-float64(len(ft.c)+2), 1), 1e-12)
}

// normal is the matrix and right side of the weighted regression, with what is
// known beside it, and what the sensor's noise adds to the first diagonal taken
// off: noise in a regressor would pull the gain down.
func (ft *fit) normal(z *whitened, w []float64, scale float64, x []float64) (a *mat.SymDense, b []float64) {
	p := len(z.col) - 1
	y := z.col[p]
	a, b = mat.NewSymDense(p, nil), make([]float64, p)
	for i := range p {
		zi := z.col[i]
		for k := range zi {
			b[i] += w[k] * zi[k] * y[k]
		}
		for j := i; j < p; j++ {
			zj, s := z.col[j], 0.0
			for k := range zi {
				s += w[k] * zi[k] * zj[k]
			}
			a.SetSym(i, j, s)
		}
	}
	for i, t := range ft.across {
		u := math.Abs(x[0]) * t[1]
		a.SetSym(i+1, i+1, a.At(i+1, i+1)+scale/u/u)
		b[i+1] += scale / u / u * x[0] * t[0]
	}
	if ft.drifts {
		k := p - 1
		a.SetSym(k, k, a.At(k, k)+scale/looseDrift/looseDrift)
		b[k] -= scale / looseDrift / looseDrift * ft.drift
	}
	return a, b
}

// attenuation is what the sensor's own noise adds to the sum of squares of the
// first column.
func (ft *fit) attenuation(z *whitened, w []float64) float64 {
	if ft.m.noise <= 0 {
		return 0
	}
	more := ft.m
	more.noise *= 1.02
	up := ft.f.whiten(more, nil, -1)
	sum := 0.0
	for i := range z.logS {
		sum += w[i] * (up.logS[i] - z.logS[i]) / 0.02
	}
	return sum * ft.sensor / ft.m.noise
}

// clear takes off the matrix what the sensor's noise adds to the columns of offset
// and drift, which would make both seem better known than they are.
func (ft *fit) clear(a *mat.SymDense, z *whitened, w []float64) {
	k := len(ft.c)
	v := ft.c[0] * ft.c[0] * ft.sensor / (2 * ft.lead())
	var sum [3]float64
	for i, fix := range z.fix {
		d := ft.f.t[fix] - ft.mid
		x := w[i] * v * math.Exp(-z.logS[i])
		sum[0], sum[1], sum[2] = sum[0]+x, sum[1]+x*d, sum[2]+x*d*d
	}
	most := 0.7 * a.At(k, k) / sum[0]
	if ft.drifts {
		most = min(most, 0.7*a.At(k+1, k+1)/sum[2])
	}
	for i := range sum {
		sum[i] *= min(most, 1)
	}
	a.SetSym(k, k, a.At(k, k)-sum[0])
	if ft.drifts {
		a.SetSym(k, k+1, a.At(k, k+1)-sum[1])
		a.SetSym(k+1, k+1, a.At(k+1, k+1)-sum[2])
	}
}

// step is one round of Gauss and Newton; it returns how far the offset moved
// in s, NaN where the regression has no solution.
func (ft *fit) step() float64 {
	z := ft.design(ft.m)
	x := ft.unknowns()
	var a *mat.SymDense
	var w []float64
	for range 3 {
		var b []float64
		w, ft.scale = ft.weights(z, residuals(z, x))
		a, b = ft.normal(z, w, ft.scale, x)
		if n := ft.attenuation(z, w); n < 0.2*a.At(0, 0) {
			a.SetSym(0, 0, a.At(0, 0)-n)
		}
		var ch mat.Cholesky
		if !ch.Factorize(a) {
			return math.NaN()
		}
		var sol mat.VecDense
		if ch.SolveVecTo(&sol, mat.NewVecDense(len(b), b)) != nil {
			return math.NaN()
		}
		copy(x, sol.RawVector().Data)
	}
	k := len(ft.c)
	copy(ft.c, x[:k])
	move := min(max(x[k], -0.1), 0.1)
	ft.zero += move
	if ft.drifts {
		ft.drift += min(max(x[k+1], -200e-6), 200e-6)
	}
	ft.clear(a, z, w)
	ft.last = round{z, w, residuals(z, x), a}
	return move
}

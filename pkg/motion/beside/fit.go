package beside

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/uncert"
)

// fit is delay and scale behind one filter.
type fit struct {
	tau, d, k     float64
	scatter, loss float64
	n             int
}

// fit finds delay and scale behind a filter by reweighted least squares; the loss is in units of
// a scatter, that of the fit itself where none is given. It is nil where too little is in common.
func (p *pairing) fit(tau, d, scatter float64) *fit {
	f := &fit{tau: tau, d: d, k: 1}
	c := p.base.filtered(tau)
	var r []float64
	for range rounds {
		r = r[:0]
		p.each(c, f.d, func(_ int, x, _, y float64) { r = append(r, y-f.k*x) })
		if len(r) < leastPairs {
			return nil
		}
		f.n, f.scatter = len(r), scatterOf(r)
		var dd, dk, kk, gd, gk float64
		p.each(c, f.d, func(_ int, x, slope, y float64) {
			e := y - f.k*x
			w := weight(e / f.scatter)
			jd := -f.k * slope
			dd, dk, kk, gd, gk = dd+w*jd*jd, dk+w*jd*x, kk+w*x*x, gd+w*jd*e, gk+w*x*e
		})
		det := dd*kk - dk*dk
		if !(det > 0) {
			return nil
		}
		f.d += (gd*kk - gk*dk) / det
		f.k += (gk*dd - gd*dk) / det
	}
	if scatter == 0 {
		scatter = f.scatter
	}
	sum, n := 0.0, 0
	p.each(c, f.d, func(_ int, x, _, y float64) { sum, n = sum+huber((y-f.k*x)/scatter), n+1 })
	if n < leastPairs {
		return nil
	}
	// Neighbouring differences hang together: what they are worth is their number of blocks.
	f.loss = sum / float64(n) * p.blocks()
	return f
}

// blocks is how many stretches the samples span that are taken for independent.
func (p *pairing) blocks() float64 {
	return (p.of.T[len(p.of.T)-1] - p.of.T[0]) / block
}

// each calls fn for every sample at which both move, with the curve, its slope and the sample.
func (p *pairing) each(c *curve, d float64, fn func(i int, x, slope, y float64)) {
	for i, t := range p.of.T {
		x, slope := c.at(t - d)
		if y := p.of.V[i]; x > moving && y > moving {
			fn(i, x, slope, y)
		}
	}
}

func weight(z float64) float64 {
	if z = math.Abs(z); z > tuning {
		return tuning / z
	}
	return 1
}

func huber(z float64) float64 {
	if z = math.Abs(z); z > tuning {
		return tuning*z - tuning*tuning/2
	}
	return z * z / 2
}

// judged gives a fit its uncertainties, by what the gradient scatters between blocks.
func (p *pairing) judged(f *fit) Behind {
	c := p.base.filtered(f.tau)
	up, down := p.base.filtered(f.tau+tauStep), p.base.filtered(max(0, f.tau-tauStep))
	apart := f.tau + tauStep - max(0, f.tau-tauStep)
	h := mat.NewSymDense(3, nil)
	scores := map[int]*[3]float64{}
	p.each(c, f.d, func(i int, x, slope, y float64) {
		hi, _ := up.at(p.of.T[i] - f.d)
		lo, _ := down.at(p.of.T[i] - f.d)
		e := y - f.k*x
		w, j := weight(e/f.scatter), [3]float64{-f.k * slope, x, f.k * (hi - lo) / apart}
		if j[2] != j[2] {
			return
		}
		b := int(p.of.T[i] / block)
		if scores[b] == nil {
			scores[b] = &[3]float64{}
		}
		for r := range j {
			scores[b][r] += w * j[r] * e
			for s := 0; s <= r; s++ {
				h.SetSym(r, s, h.At(r, s)+w*j[r]*j[s])
			}
		}
	})
	meat := mat.NewSymDense(3, nil)
	for _, s := range scores {
		meat.SymRankOne(meat, 1, mat.NewVecDense(3, s[:]))
	}
	var inv, half, cov mat.Dense
	out := Behind{Late: uncert.Value{X: f.d + f.tau, U: math.NaN()}, Smoothing: uncert.Value{X: f.tau, U: math.NaN()}, Scale: uncert.Value{X: f.k, U: math.NaN()}, Scatter: f.scatter, N: f.n}
	if inv.Inverse(h) != nil {
		return out
	}
	half.Mul(&inv, meat)
	cov.Mul(&half, &inv)
	out.Late.U = max(math.Sqrt(cov.At(0, 0)+cov.At(2, 2)+2*cov.At(0, 2)), leastDelayU)
	out.Scale.U, out.Smoothing.U = max(math.Sqrt(cov.At(1, 1)), leastScaleU), math.Hypot(math.Sqrt(cov.At(2, 2)), tauStep/2)
	return out
}

package align

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// round is what a round of the regression leaves for the uncertainties.
type round struct {
	z    *whitened
	w, r []float64
	a    *mat.SymDense
}

// covariance is the sandwich estimate with the residuals' correlation over the
// memory (Newey and West 1987), and not less than the scatter between stretches
// of the log, nor than the plain one, which a long log is trusted to undercut a
// little: it is too large where the receiver's noise hangs together.
func (rg *regression) covariance() {
	z, w, r, a := rg.last.z, rg.last.w, rg.last.r, rg.last.a
	if z == nil {
		return
	}
	p := len(z.col) - 1
	g := make([][]float64, p)
	for j := range g {
		g[j] = make([]float64, len(r))
		for i := range g[j] {
			g[j][i] = w[i] * r[i] * z.col[j][i]
		}
	}
	var ch mat.Cholesky
	var inv mat.SymDense
	if !ch.Factorize(a) || ch.InverseTo(&inv) != nil {
		return
	}
	var t, v mat.Dense
	t.Mul(&inv, rg.hanging(g))
	v.Mul(&t, &inv)
	rg.cov = mat.NewSymDense(p, nil)
	wide, parts := rg.stretches(z, g, &inv)
	for i := range p {
		least := rg.scale * inv.At(i, i)
		if parts >= manyStretches {
			least *= trusted
		}
		least = max(least, v.At(i, i))
		wide[i] = math.Sqrt(max(least, wide[i]) / max(v.At(i, i), nothing))
	}
	for i := range p {
		for j := i; j < p; j++ {
			rg.cov.SetSym(i, j, v.At(i, j)*wide[i]*wide[j])
		}
	}
}

// hanging is the covariance of the sum of the scores g, those within the memory
// hanging together.
func (rg *regression) hanging(g [][]float64) *mat.SymDense {
	step := max(interval(rg.f.t), leastStep)
	lags := min(max(int(memory/step+0.5), 1), len(g[0])/lagShare)
	out := mat.NewSymDense(len(g), nil)
	for i := range g {
		for j := i; j < len(g); j++ {
			out.SetSym(i, j, longRun(g[i], g[j], lags))
		}
	}
	return out
}

// longRun is the covariance of the sums of a and of b, values up to lags apart
// hanging together, the farther the less (Bartlett's weights).
func longRun(a, b []float64, lags int) float64 {
	s := products(a, b, 0)
	for q := 1; q <= lags; q++ {
		s += (1 - float64(q)/float64(lags+1)) * (products(a, b, q) + products(b, a, q))
	}
	return s
}

// products is the sum of a[i] b[i+lag].
func products(a, b []float64, lag int) float64 {
	s := 0.0
	for i := range len(a) - lag {
		s += a[i] * b[i+lag]
	}
	return s
}

// stretches is the variance of each unknown by the scatter of what stretches of
// the log would have it: a run, a hill, a bend each pull their own way. It is
// zeros where there are few.
func (rg *regression) stretches(z *whitened, g [][]float64, inv *mat.SymDense) (out []float64, n int) {
	p := len(g)
	out = make([]float64, p)
	parts := [][]float64{}
	from := math.Inf(-1)
	for i, fix := range z.fix {
		if t := rg.f.t[fix]; t >= from+stretch {
			from = t
			parts = append(parts, make([]float64, p))
		}
		for j := range g {
			parts[len(parts)-1][j] += g[j][i]
		}
	}
	if n = len(parts); n < leastStretches {
		return out, n
	}
	for _, s := range parts {
		for i := range p {
			d := 0.0
			for j := range p {
				d += inv.At(i, j) * s[j]
			}
			out[i] += d * d * float64(n) / float64(n-1)
		}
	}
	return out, n
}

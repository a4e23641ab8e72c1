package align

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// round is what a round of the fit leaves for the uncertainties.
type round struct {
	z    *whitened
	w, r []float64
	a    *mat.SymDense
}

// covariance is the sandwich estimate with the residuals' correlation over the
// memory (Newey and West 1987), and not less than the scatter between stretches
// of the log, nor than the plain one, which a long log is trusted to undercut a
// little: it is too large where the receiver's noise hangs together.
func (ft *fit) covariance() {
	z, w, r, a := ft.last.z, ft.last.w, ft.last.r, ft.last.a
	if z == nil {
		return
	}
	p := len(z.col) - 1
	n := len(r)
	g := make([][]float64, p)
	for j := range g {
		g[j] = make([]float64, n)
		for i := range g[j] {
			g[j][i] = w[i] * r[i] * z.col[j][i]
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return
	}
	var inv mat.SymDense
	if ch.InverseTo(&inv) != nil {
		return
	}
	var t, v mat.Dense
	t.Mul(&inv, ft.hanging(g))
	v.Mul(&t, &inv)
	ft.cov = mat.NewSymDense(p, nil)
	wide, parts := ft.stretches(z, g, &inv)
	for i := range p {
		least := ft.scale * inv.At(i, i)
		if parts >= manyStretches {
			least *= trusted
		}
		least = max(least, v.At(i, i))
		wide[i] = math.Sqrt(max(least, wide[i]) / max(v.At(i, i), 1e-300))
	}
	for i := range p {
		for j := i; j < p; j++ {
			ft.cov.SetSym(i, j, v.At(i, j)*wide[i]*wide[j])
		}
	}
}

// hanging is the covariance of the sum of the scores g, those within the memory
// hanging together.
func (ft *fit) hanging(g [][]float64) *mat.SymDense {
	step := max(median(ft.f.t), 1e-3)
	lags := min(max(int(memory/step+0.5), 1), len(g[0])/8)
	out := mat.NewSymDense(len(g), nil)
	for i := range g {
		for j := i; j < len(g); j++ {
			s := products(g[i], g[j], 0)
			for q := 1; q <= lags; q++ {
				s += (1 - float64(q)/float64(lags+1)) * (products(g[i], g[j], q) + products(g[j], g[i], q))
			}
			out.SetSym(i, j, s)
		}
	}
	return out
}

// stretches is the variance of each unknown by the scatter of what stretches of
// the log would have it: a run, a hill, a bend each pull their own way. It is
// zeros where there are few.
func (ft *fit) stretches(z *whitened, g [][]float64, inv *mat.SymDense) (out []float64, n int) {
	p := len(g)
	out = make([]float64, p)
	parts := [][]float64{}
	from := math.Inf(-1)
	for i, fix := range z.fix {
		if t := ft.f.t[fix]; t >= from+stretch {
			from = t
			parts = append(parts, make([]float64, p))
		}
		for j := range g {
			parts[len(parts)-1][j] += g[j][i]
		}
	}
	if n = len(parts); n < 5 {
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

// products is the sum of a[i] b[i+lag].
func products(a, b []float64, lag int) float64 {
	s := 0.0
	for i := range len(a) - lag {
		s += a[i] * b[i+lag]
	}
	return s
}

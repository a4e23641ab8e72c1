package align

import (
	"context"
	"math"

	"gonum.org/v1/gonum/mat"
)

// likelihood is the log-likelihood of the moving rows at the present
// coefficients, their common scale fitted; e is the speed less the integral.
func (ft *fit) likelihood(m wander, e [][]float64) float64 {
	z := ft.f.whiten(m, e, -1)
	r := z.col[0]
	sum, logs, n := 0.0, 0.0, 0.0
	w, _ := ft.weights(z, r)
	for i, fix := range z.fix {
		if ft.f.still[fix] == 0 {
			sum, logs, n = sum+w[i]*r[i]*r[i], logs+z.logS[i], n+1
		}
	}
	if n == 0 {
		return math.Inf(-1)
	}
	return -0.5 * (logs + n*math.Log(sum/n))
}

// learn chooses the wander by likelihood, one part after the other.
func (ft *fit) learn(ctx context.Context) error {
	e := [][]float64{ft.leftOver()}
	best := ft.likelihood(ft.m, e)
	for _, factor := range [...]float64{8, 2} {
		for moved := true; moved; {
			moved = false
			for _, part := range [...]func(*wander) *float64{
				func(m *wander) *float64 { return &m.noise }, func(m *wander) *float64 { return &m.bias }} {
				for _, by := range [...]float64{factor, 1 / factor} {
					if err := ctx.Err(); err != nil {
						return err
					}
					m := ft.m
					*part(&m) *= by
					if m.noise > 10 || m.bias > mostWalk*mostWalk || m.noise < 1e-8 || m.bias < 1e-10 {
						continue
					}
					if ll := ft.likelihood(m, e); ll > best+0.1 {
						best, ft.m, moved = ll, m, true
						break
					}
				}
			}
		}
	}
	return nil
}

// leftOver is the speed less the integral at the present coefficients, in m/s.
func (ft *fit) leftOver() []float64 {
	w, _ := ft.columns()
	e := append([]float64{}, ft.f.y...)
	for i := range e {
		for j, c := range ft.c {
			e[i] -= c * w[j][i]
		}
	}
	return e
}

// scan moves the offset to the best of a fine grid about the first one, the
// coefficients free.
func (ft *fit) scan(ctx context.Context) error {
	start, best, at := ft.zero, math.Inf(1), ft.zero
	c := append([]float64{}, ft.c...)
	bestC := c
	for d := -ft.span; d <= ft.span+1e-9; d += midStep {
		if err := ctx.Err(); err != nil {
			return err
		}
		ft.zero = start + d
		w, _ := ft.columns()
		z := ft.f.whiten(ft.m, append(w, ft.f.y), -1)
		ww, scale := ft.weights(z, residuals(z, c))
		a, b := mat.NewSymDense(len(c), nil), make([]float64, len(c))
		for i := range c {
			for j := i; j < len(c); j++ {
				a.SetSym(i, j, weighed(ww, z.col[i], z.col[j]))
			}
			b[i] = weighed(ww, z.col[i], z.col[len(c)])
			a.SetSym(i, i, a.At(i, i)+scale) // where nothing is told, nothing runs away
			if i > 0 {
				t, u := ft.across[i-1][0], math.Abs(c[0])*ft.across[i-1][1]
				a.SetSym(i, i, a.At(i, i)+scale/u/u)
				b[i] += scale / u / u * c[0] * t
			}
		}
		var sol mat.VecDense
		var ch mat.Cholesky
		if !ch.Factorize(a) || ch.SolveVecTo(&sol, mat.NewVecDense(len(b), b)) != nil {
			continue
		}
		x := sol.RawVector().Data
		r := residuals(z, x)
		if q := weighed(ww, r, r); q < best {
			best, at, bestC = q, ft.zero, append([]float64{}, x...)
		}
	}
	ft.zero = at
	copy(ft.c, bestC)
	return nil
}

// weighed is the weighted sum of products.
func weighed(w, a, b []float64) float64 {
	s := 0.0
	for i := range a {
		s += w[i] * a[i] * b[i]
	}
	return s
}

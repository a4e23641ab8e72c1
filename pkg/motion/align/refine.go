package align

import (
	"context"
	"math"

	"fromrest/pkg/motion"
)

// likelihood is the log-likelihood of the moving rows at the present
// coefficients, their common scale fitted; e is the speed less the integral.
func (rg *regression) likelihood(m wander, e [][]float64) float64 {
	z := rg.f.whiten(m, e, -1)
	r := z.col[0]
	sum, logs, n := 0.0, 0.0, 0.0
	w, _ := rg.weights(z, r)
	for i, fix := range z.fix {
		if rg.f.still[fix] == 0 {
			sum, logs, n = sum+w[i]*r[i]*r[i], logs+z.logS[i], n+1
		}
	}
	if n == 0 {
		return math.Inf(-1)
	}
	return -0.5 * (logs + n*math.Log(sum/n))
}

// learn chooses the wander by likelihood, one part after the other.
func (rg *regression) learn(ctx context.Context) error {
	e := [][]float64{rg.leftOver()}
	best := rg.likelihood(rg.m, e)
	for _, factor := range [...]float64{wideFactor, fineFactor} {
		for moved := true; moved; {
			moved = false
			for part := range 2 {
				for _, by := range [...]float64{factor, 1 / factor} {
					if err := ctx.Err(); err != nil {
						return err
					}
					m := rg.m
					*[...]*float64{&m.noise, &m.bias}[part] *= by
					if m.noise > mostNoise || m.bias > mostWalk*mostWalk || m.noise < leastNoise || m.bias < leastBias {
						continue
					}
					if ll := rg.likelihood(m, e); ll > best+gainLL {
						best, rg.m, moved = ll, m, true
						break
					}
				}
			}
		}
	}
	return nil
}

// leftOver is the speed less the integral at the present coefficients, in m/s.
func (rg *regression) leftOver() []float64 {
	w, _ := rg.columns()
	e := append([]float64{}, rg.f.y...)
	for i := range e {
		for j, c := range rg.c {
			e[i] -= c * w[j][i]
		}
	}
	return e
}

// scan moves the offset to the best of a fine grid about the first one, the
// coefficients free.
func (rg *regression) scan(ctx context.Context) error {
	start, best, at := rg.zero, math.Inf(1), rg.zero
	c := append([]float64{}, rg.c...)
	bestC := c
	for d := -rg.span; d <= rg.span+motion.Slack; d += midStep {
		if err := ctx.Err(); err != nil {
			return err
		}
		rg.zero = start + d
		w, _ := rg.columns()
		z := rg.f.whiten(rg.m, append(w, rg.f.y), -1)
		ww, scale := rg.weights(z, residuals(z, c))
		a, b := rg.normal(z, ww, scale, c, scale)
		x := solve(a, b)
		if x == nil {
			continue
		}
		r := residuals(z, x)
		if q := weighed(ww, r, r); q < best {
			best, at, bestC = q, rg.zero, x
		}
	}
	rg.zero = at
	copy(rg.c, bestC)
	return nil
}

// run finds everything: the offset on a fine grid, what to leave out, the wander,
// and the unknowns, at last with the drift.
func (rg *regression) run(ctx context.Context) error {
	if err := rg.scan(ctx); err != nil {
		return err
	}
	rg.f.leaveOut(rg.leftOver())
	rg.drifts = false
	rg.settle()
	if err := rg.learn(ctx); err != nil {
		return err
	}
	rg.drifts = true
	rg.settle()
	if k := len(rg.c) + 1; rg.cov != nil && !(math.Sqrt(rg.cov.At(k, k)) < mostDrift) {
		rg.drifts, rg.drift = false, 0
		rg.settle()
	}
	return ctx.Err()
}

// settle repeats the step until the offset stays.
func (rg *regression) settle() {
	for range mostRounds {
		if move := rg.step(); !(math.Abs(move) > settled) {
			break
		}
	}
	rg.covariance()
}

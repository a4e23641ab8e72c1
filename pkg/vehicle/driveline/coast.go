package driveline

import (
	"errors"
	"math"
)

// CoastTime is how long a vehicle of effective mass m (kg) takes to slow from v1
// to v2 (m/s) against a resistance of a + c·v² (N, N·s²/m²), and how far it goes.
func CoastTime(m, a, c, v1, v2 float64) (seconds, metres float64) {
	q := math.Sqrt(c / a)
	seconds = m / math.Sqrt(a*c) * (math.Atan(v1*q) - math.Atan(v2*q))
	metres = m / (2 * c) * math.Log((a+c*v1*v1)/(a+c*v2*v2))
	return seconds, metres
}

// Coast is the deceleration of a coasting vehicle, A + C·v², per effective mass.
type Coast struct {
	A, C     float64 // m/s², 1/m
	UA, UC   float64 // standard uncertainties
	Residual float64 // m/s, standard deviation of the samples about the fit
	N        int
}

var errCoast = errors.New("coast-down: the samples do not tell rolling resistance and drag apart")

// coastModel is the speed in m/s that a coast-down has x seconds after its start:
// the closed form of dv/dt = -(A + C·v²), with p the speed at the start, A and C.
func coastModel(p [3]float64, x float64) float64 {
	q := math.Sqrt(p[2] / p[1])
	arg := math.Atan(p[0]*q) - math.Sqrt(p[1]*p[2])*x
	if arg <= 0 {
		return arg / q
	}
	return math.Tan(arg) / q
}

// FitCoast fits A and C to the speeds (m/s) of a coast-down at times t (s), by
// least squares on the closed form of dv/dt = -(A + C·v²), Gauss-Newton with
// damping. Uncertainties allow for residuals correlated between neighbours. It
// returns an error where there are too few samples, or where they do not tell
// rolling resistance and drag apart.
func FitCoast(t, v []float64) (Coast, error) {
	n := len(t)
	if n < coastSamples || len(v) != n {
		return Coast{}, errCoast
	}
	// Start: constant deceleration, a part of it drag.
	d := (v[0] - v[n-1]) / (t[n-1] - t[0])
	mid := (v[0] + v[n-1]) / 2
	p, inv, best, ok := coastSearch(t, v, [3]float64{v[0], max(coastRolling*d, coastLeastA), max((1-coastRolling)*d/(mid*mid), coastLeastC)})
	if !ok {
		return Coast{}, errCoast
	}
	out := Coast{A: p[1], C: p[2], N: n, Residual: math.Sqrt(best / float64(n-3))}
	var lag, sq, prev float64
	for i := range t {
		e := v[i] - coastModel(p, t[i]-t[0])
		lag, sq, prev = lag+e*prev, sq+e*e, e
	}
	rho := max(0, min(coastLag, lag/sq))
	infl := out.Residual * math.Sqrt((1+rho)/(1-rho))
	out.UA, out.UC = infl*math.Sqrt(inv[1][1]), infl*math.Sqrt(inv[2][2])
	if math.IsNaN(out.UA+out.UC) || out.UA > out.A || out.UC > out.C {
		return out, errCoast
	}
	return out, nil
}

// coastSearch improves p until the sum of squares falls no more. It returns p, the
// inverse of the last normal equations and the sum of squares; false where the
// samples do not determine p.
func coastSearch(t, v []float64, p [3]float64) (at [3]float64, inv [3][3]float64, best float64, ok bool) {
	cost := func(p [3]float64) float64 {
		sum := 0.0
		for i := range t {
			e := v[i] - coastModel(p, t[i]-t[0])
			sum += e * e
		}
		return sum
	}
	best, lambda := cost(p), coastDamping
	for range coastRounds {
		m, g := coastEquations(p, t, v)
		inv, _ = invert3(m)
		for k := range m {
			m[k][k] *= 1 + lambda
		}
		damped, ok := invert3(m)
		if !ok {
			return p, inv, best, false
		}
		q := p
		for a := range q {
			for b := range g {
				q[a] += damped[a][b] * g[b]
			}
			q[a] = max(q[a], p[a]*coastFall)
		}
		if c := cost(q); c < best {
			done := best-c < coastConverged*best
			p, best, lambda = q, c, lambda/coastDampBy
			if done {
				break
			}
		} else if lambda *= coastDampBy; lambda > coastDampMost {
			break
		}
	}
	return p, inv, best, true
}

// coastEquations are the normal equations of one Gauss-Newton step, with
// numerical derivatives.
func coastEquations(p [3]float64, t, v []float64) (m [3][3]float64, g [3]float64) {
	for i := range t {
		x := t[i] - t[0]
		y := coastModel(p, x)
		var j [3]float64
		for k := range p {
			h := coastSlope * p[k]
			q := p
			q[k] += h
			j[k] = (coastModel(q, x) - y) / h
		}
		for a := range j {
			g[a] += j[a] * (v[i] - y)
			for b := range j {
				m[a][b] += j[a] * j[b]
			}
		}
	}
	return m, g
}

// invert3 inverts a symmetric positive matrix.
func invert3(m [3][3]float64) (out [3][3]float64, ok bool) {
	// Scale first: the columns differ by many orders of magnitude.
	var s [3]float64
	for i := range m {
		s[i] = math.Sqrt(m[i][i])
		if !(s[i] > 0) {
			return out, false
		}
	}
	for i := range m {
		for j := range m {
			m[i][j] /= s[i] * s[j]
		}
	}
	cof := func(i, j int) float64 {
		a, b, c, d := (i+1)%3, (i+2)%3, (j+1)%3, (j+2)%3
		return m[a][c]*m[b][d] - m[a][d]*m[b][c]
	}
	det := m[0][0]*cof(0, 0) + m[0][1]*cof(0, 1) + m[0][2]*cof(0, 2)
	if !(math.Abs(det) > singular) {
		return out, false
	}
	for i := range m {
		for j := range m {
			out[i][j] = cof(j, i) / det / (s[i] * s[j])
		}
	}
	return out, true
}

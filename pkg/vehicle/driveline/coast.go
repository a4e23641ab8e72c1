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

// FitCoast fits A and C to the speeds (m/s) of a coast-down at times t (s), by
// least squares on the closed form of dv/dt = -(A + C·v²), Gauss-Newton with
// damping. Uncertainties allow for residuals correlated between neighbours.
func FitCoast(t, v []float64) (Coast, error) {
	n := len(t)
	if n < 10 || len(v) != n {
		return Coast{}, errCoast
	}
	// Start: constant deceleration, a third of it drag.
	d := (v[0] - v[n-1]) / (t[n-1] - t[0])
	mid := (v[0] + v[n-1]) / 2
	p := [3]float64{v[0], math.Max(0.6*d, 1e-3), math.Max(0.4*d/(mid*mid), 1e-6)}
	model := func(p [3]float64, x float64) float64 {
		q := math.Sqrt(p[2] / p[1])
		arg := math.Atan(p[0]*q) - math.Sqrt(p[1]*p[2])*x
		if arg <= 0 {
			return arg / q
		}
		return math.Tan(arg) / q
	}
	cost := func(p [3]float64) float64 {
		sum := 0.0
		for i := range t {
			e := v[i] - model(p, t[i]-t[0])
			sum += e * e
		}
		return sum
	}
	var inv [3][3]float64
	best, lambda := cost(p), 1e-3
	for range 60 {
		var m [3][3]float64
		var g [3]float64
		for i := range t {
			x := t[i] - t[0]
			y := model(p, x)
			var j [3]float64
			for k := range p {
				h := 1e-6 * p[k]
				q := p
				q[k] += h
				j[k] = (model(q, x) - y) / h
			}
			for a := range j {
				g[a] += j[a] * (v[i] - y)
				for b := range j {
					m[a][b] += j[a] * j[b]
				}
			}
		}
		inv, _ = invert3(m)
		damped := m
		for k := range damped {
			damped[k][k] *= 1 + lambda
		}
		di, ok := invert3(damped)
		if !ok {
			return Coast{}, errCoast
		}
		q := p
		for a := range q {
			for b := range g {
				q[a] += di[a][b] * g[b]
			}
			q[a] = math.Max(q[a], p[a]*0.2)
		}
		c := cost(q)
		if c < best {
			done := best-c < 1e-12*best
			p, best, lambda = q, c, lambda/5
			if done {
				break
			}
		} else if lambda *= 5; lambda > 1e8 {
			break
		}
	}
	out := Coast{A: p[1], C: p[2], N: n, Residual: math.Sqrt(best / float64(n-3))}
	var lag, sq, prev float64
	for i := range t {
		e := v[i] - model(p, t[i]-t[0])
		if i > 0 {
			lag += e * prev
		}
		sq, prev = sq+e*e, e
	}
	rho := math.Max(0, math.Min(0.9, lag/sq))
	infl := out.Residual * math.Sqrt((1+rho)/(1-rho))
	out.UA, out.UC = infl*math.Sqrt(inv[1][1]), infl*math.Sqrt(inv[2][2])
	if math.IsNaN(out.UA+out.UC) || out.UA > out.A || out.UC > out.C {
		return out, errCoast
	}
	return out, nil
}

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
	if !(math.Abs(det) > 1e-14) {
		return out, false
	}
	for i := range m {
		for j := range m {
			out[i][j] = cof(j, i) / det / (s[i] * s[j])
		}
	}
	return out, true
}

// Estimator is a rule of thumb for the quarter mile from weight over power:
// seconds = ET·(W/P)^⅓ and mph = Speed·(P/W)^⅓ with W in lb and P in hp.
type Estimator struct {
	Name      string
	ET, Speed float64
}

// Estimators lists the published ones and the physical limit: constant power
// without losses, whose product of time and speed no real run undercuts.
// Hale, Huntington and Fox (Am. J. Phys. 41, 1973, 311) as quoted on stored pages.
func Estimators() []Estimator {
	return []Estimator{{"Huntington", 6.290, 224}, {"Fox", 6.269, 230}, {"Hale", 5.825, 234},
		{"constant power, no losses", 4.802610, 281.09715}}
}

// QuarterMile applies the rule to a mass in kg and a power in W; the time is in
// s, the speed in m/s.
func (e Estimator) QuarterMile(mass, power float64) (seconds, speed float64) {
	const lb, hp, mph = 0.45359237, 745.69987158227022, 0.44704
	x := math.Cbrt((mass / lb) / (power / hp))
	return e.ET * x, e.Speed / x * mph
}

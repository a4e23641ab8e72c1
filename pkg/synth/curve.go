package synth

import (
	"math"
	"sort"
)

// curve is a movement along a line: between nodes speed is the cubic with the
// nodes' speeds and accelerations, and two nodes at one instant are a step in
// acceleration.
type curve struct {
	T []float64 // s since the start
	S []float64 // m since the start
	V []float64 // m/s
	A []float64 // m/s²
}

// node adds a node.
func (c *curve) node(t, s, v, a float64) {
	c.T, c.S, c.V, c.A = append(c.T, t), append(c.S, s), append(c.V, v), append(c.A, a)
}

// last returns the index of the last node.
func (c *curve) last() int { return len(c.T) - 1 }

// End returns the instant of the last node in seconds since the start.
func (c *curve) End() float64 { return c.T[c.last()] }

// before returns the node from which an instant within the curve is reached: the
// last one not after it, or not at it where that is the first of its instant.
func (c *curve) before(t float64) int {
	i := max(0, sort.SearchFloat64s(c.T, t)-1)
	for i < c.last()-1 && c.T[i+1] == c.T[i] {
		i++
	}
	return i
}

// from evaluates the cubic that begins at node i, x seconds after it.
func (c *curve) from(i int, x float64) (s, v, a float64) {
	return hermite(x, c.T[i+1]-c.T[i], c.S[i], c.V[i], c.A[i], c.V[i+1], c.A[i+1])
}

// hermite evaluates the cubic of one interval x seconds after its start: distance
// in m, speed in m/s, acceleration in m/s².
func hermite(x, h, s0, v0, a0, v1, a1 float64) (s, v, a float64) {
	// v = v0 + a0 x + c x² + d x³
	c := (3*(v1-v0)/h - 2*a0 - a1) / h
	d := (2*(v0-v1)/h + a0 + a1) / (h * h)
	s = s0 + x*(v0+x*(a0/2+x*(c/3+x*d/4)))
	v = v0 + x*(a0+x*(c+x*d))
	a = a0 + x*(2*c+3*d*x)
	return s, v, a
}

// crossing is the first instant at which a column reaches the target, which of
// takes from distance and speed; false where it never does.
func (c *curve) crossing(column []float64, target float64, of func(s, v float64) float64) (float64, bool) {
	for i := 1; i < len(column); i++ {
		if column[i] < target || c.T[i] == c.T[i-1] && i > 1 {
			continue
		}
		return c.T[i-1] + bisect(0, c.T[i]-c.T[i-1], func(x float64) bool {
			s, v, _ := c.from(i-1, x)
			return of(s, v) >= target
		}), true
	}
	return math.NaN(), false
}

// bisect returns where in lo to hi something begins to hold, to rounding; it must
// hold at hi.
func bisect(lo, hi float64, holds func(x float64) bool) float64 {
	const halvings = 60 // more than a float64 has digits
	for range halvings {
		if mid := (lo + hi) / 2; holds(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

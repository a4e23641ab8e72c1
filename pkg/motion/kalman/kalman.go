// Package kalman is a linear Kalman filter and fixed-interval smoother on fixed
// arrays. It knows states, transitions and scalar measurements and nothing of
// vehicles.
//
// The model at node k is x_k = F_k x_{k-1} + w_k with w_k ~ N(0, Q_k), then at
// most one scalar measurement y = h'x + e with e ~ N(0, R). Smoothing uses the
// backward recursion of the score r and its variance N (de Jong, Biometrika 75
// (1988) 594; Durbin and Koopman, Time Series Analysis by State Space Methods,
// 2nd ed., section 4.4), which needs no matrix inverse: a state known exactly,
// whose covariance is singular, is no trouble.
//
// Limits: states are at most N; matrices are dense N by N with the unused rows
// zero; a vector measurement is given as several nodes with identity transition.
package kalman

import "math"

// N is the largest number of states.
const N = 6

// Vec is a state vector; unused entries are zero.
type Vec [N]float64

// Mat is a square matrix over the states; covariances are kept symmetric.
type Mat [N][N]float64

// entry is one off-diagonal element of a transition.
type entry struct {
	i, j uint8
	v    float64
}

// Trans is a transition matrix kept sparse: a diagonal and a few elements off it.
type Trans struct {
	D   Vec // diagonal
	off [8]entry
	n   int
}

// Identity returns the transition that changes nothing.
func Identity() Trans {
	var t Trans
	for i := range t.D {
		t.D[i] = 1
	}
	return t
}

// Set puts v at row i, column j, off the diagonal; at most eight elements.
func (t *Trans) Set(i, j int, v float64) {
	if v == 0 {
		return
	}
	t.off[t.n] = entry{uint8(i), uint8(j), v}
	t.n++
}

// Apply returns F x.
func (t *Trans) Apply(x *Vec) Vec {
	var out Vec
	for i := range out {
		out[i] = t.D[i] * x[i]
	}
	for k := 0; k < t.n; k++ {
		e := &t.off[k]
		out[e.i] += e.v * x[e.j]
	}
	return out
}

// transposed returns F'.
func (t *Trans) transposed() Trans {
	out := *t
	for k := range out.off[:out.n] {
		e := &out.off[k]
		e.i, e.j = e.j, e.i
	}
	return out
}

// congruence returns F M F' for symmetric M.
func (t *Trans) congruence(m *Mat) Mat {
	a := *m
	for i := range a {
		if d := t.D[i]; d != 1 {
			for j := range a[i] {
				a[i][j] *= d
			}
		}
	}
	for k := 0; k < t.n; k++ {
		e := &t.off[k]
		src, dst := &m[e.j], &a[e.i]
		for j := range dst {
			dst[j] += e.v * src[j]
		}
	}
	out := a
	for j, d := range t.D {
		if d != 1 {
			for i := range out {
				out[i][j] *= d
			}
		}
	}
	for k := 0; k < t.n; k++ {
		e := &t.off[k]
		for i := range out {
			out[i][e.i] += e.v * a[i][e.j]
		}
	}
	return out
}

// Obs is a scalar measurement y = h'x + e.
type Obs struct {
	H Vec
	Y float64
	R float64 // variance of e; may be 0 where the states carry the noise
}

// Node is one instant: a transition from the node before, process noise, and a
// measurement if Has is set. The fields below Has are filled by Filter.
type Node struct {
	F   Trans
	Q   Mat
	Obs Obs
	Has bool

	x  Vec     // predicted mean
	p  Mat     // predicted covariance
	k  Vec     // gain
	s  float64 // innovation variance
	v  float64 // innovation
	u  float64 // deleted residual over its variance, by Smooth
	d  float64 // one over the deleted residual's variance
	r  Vec     // score before the measurement, by Smooth
	nn Mat     // its variance
}

// Predicted returns the mean and covariance before the node's measurement.
func (n *Node) Predicted() (*Vec, *Mat) { return &n.x, &n.p }

// Deleted returns the residual of the node's measurement from what all the other
// measurements predict for it, and the variance of that residual (de Jong,
// Journal of the American Statistical Association 83 (1988) 1084). Without a
// measurement both are 0.
func (n *Node) Deleted() (residual, variance float64) {
	if !n.Has || !(n.d > 0) {
		return 0, 0
	}
	return n.u / n.d, 1 / n.d
}

// ObsScore returns the slope of the log-likelihood over the measurement's
// variance R, and the expected square of that slope.
func (n *Node) ObsScore() (slope, info float64) {
	if !n.Has || !(n.d > 0) {
		return 0, 0
	}
	return (n.u*n.u - n.d) / 2, n.d * n.d / 2
}

// Score returns the backward score and its variance at the node.
func (n *Node) Score() (*Vec, *Mat) { return &n.r, &n.nn }

const log2Pi = 1.8378770664093453

// Filter runs forward over the nodes from the prior mean and covariance and
// returns the log-likelihood of all measurements. A node whose innovation
// variance is not positive contributes nothing.
func Filter(nodes []Node, x Vec, p Mat) float64 {
	ll := 0.0
	for k := range nodes {
		n := &nodes[k]
		n.x = n.F.Apply(&x)
		n.p = n.F.congruence(&p)
		for i := range n.p {
			for j := range n.p[i] {
				n.p[i][j] += n.Q[i][j]
			}
		}
		x, p = n.x, n.p
		if n.Has {
			ll += n.update(&x, &p)
		}
	}
	return ll
}

// update applies the node's measurement to the mean and covariance.
func (n *Node) update(x *Vec, p *Mat) float64 {
	h := &n.Obs.H
	var ph Vec
	n.v, n.s = n.Obs.Y, n.Obs.R
	for j, hj := range h {
		if hj == 0 {
			continue
		}
		n.v -= hj * x[j]
		for i := range ph {
			ph[i] += p[i][j] * hj
		}
	}
	for i, hi := range h {
		n.s += hi * ph[i]
	}
	if !(n.s > 0) {
		n.k, n.s = Vec{}, math.Inf(1)
		return 0
	}
	for i := range n.k {
		n.k[i] = ph[i] / n.s
		x[i] += n.k[i] * n.v
	}
	for i := range p {
		ki := n.k[i]
		for j := range p[i] {
			p[i][j] -= ki * ph[j]
		}
	}
	return -0.5 * (log2Pi + math.Log(n.s) + n.v*n.v/n.s)
}

// Smooth runs backward after Filter, filling the scores.
func Smooth(nodes []Node) { SmoothFrom(nodes, Vec{}, Mat{}) }

// SmoothFrom is Smooth for nodes that others follow, from the score and its variance
// after the last node's measurement.
func SmoothFrom(nodes []Node, r Vec, nn Mat) {
	for k := len(nodes) - 1; k >= 0; k-- {
		n := &nodes[k]
		if n.Has && !math.IsInf(n.s, 1) {
			backUpdate(n, &r, &nn)
		}
		n.r, n.nn = r, nn
		r, nn = n.back()
	}
}

// back is the score and its variance after the measurement of the node before.
func (n *Node) back() (Vec, Mat) {
	t := n.F.transposed()
	return t.Apply(&n.r), t.congruence(&n.nn)
}

// backUpdate takes the score from after the node's measurement to before it:
// r = h v/s + (I-kh')'r and N = hh'/s + (I-kh')'N(I-kh').
func backUpdate(n *Node, r *Vec, nn *Mat) {
	h := &n.Obs.H
	kr := 0.0
	var nk Vec
	for i := range nk {
		kr += n.k[i] * r[i]
		for j, kj := range n.k {
			nk[i] += nn[i][j] * kj
		}
	}
	knk := 1 / n.s
	for i := range nk {
		knk += n.k[i] * nk[i]
	}
	n.u, n.d = n.v/n.s-kr, knk
	for i, hi := range h {
		if hi != 0 {
			r[i] += hi * n.u
		}
	}
	for i := range nn {
		for j := range nn[i] {
			nn[i][j] += -h[i]*nk[j] - nk[i]*h[j] + h[i]*h[j]*knk
		}
	}
}

// Mean returns the smoothed mean at a node, after Smooth.
func (n *Node) Mean() Vec {
	x := n.x
	for i := range x {
		for j, rj := range n.r {
			x[i] += n.p[i][j] * rj
		}
	}
	return x
}

// Cov returns the smoothed covariance of states a and b at a node.
func (n *Node) Cov(a, b int) float64 {
	c := n.p[a][b]
	for i := range n.nn {
		pi := n.p[a][i]
		if pi == 0 {
			continue
		}
		sum := 0.0
		for j := range n.nn[i] {
			sum += n.nn[i][j] * n.p[j][b]
		}
		c -= pi * sum
	}
	return c
}

// Carry is a linear combination of one node's states carried forward, so that
// its covariance with later states can be asked for.
type Carry struct{ c Vec }

// StartCarry returns the combination g'x of a node.
func StartCarry(n *Node, g *Vec) Carry {
	var c Carry
	for i, gi := range g {
		if gi == 0 {
			continue
		}
		for j := range c.c {
			c.c[j] += gi * n.p[i][j]
		}
	}
	return c
}

// Step carries the combination from node n to the next node.
func (c *Carry) Step(n, next *Node) {
	if n.Has && !math.IsInf(n.s, 1) {
		hc := 0.0
		for i, hi := range n.Obs.H {
			hc += hi * c.c[i]
		}
		for i := range c.c {
			c.c[i] -= n.k[i] * hc
		}
	}
	c.c = next.F.Apply(&c.c)
}

// Cov returns the smoothed covariance of the carried combination with h'x at the
// node it has been carried to.
func (c *Carry) Cov(n *Node, h *Vec) float64 {
	sum := 0.0
	for a, v := range c.All(n) {
		sum += h[a] * v
	}
	return sum
}

// All returns the smoothed covariances of the carried combination with every state of the
// node it has been carried to.
func (c *Carry) All(n *Node) Vec {
	var nc Vec
	for i := range nc {
		for j, cj := range c.c {
			nc[i] += n.nn[i][j] * cj
		}
	}
	out := c.c
	for a := range out {
		for i := range nc {
			out[a] -= n.p[a][i] * nc[i]
		}
	}
	return out
}

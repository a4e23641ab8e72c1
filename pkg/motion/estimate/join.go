package estimate

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/motion/kalman"
)

// join is where the hypotheses of a launch meet: a node by which the thrust of each has
// built up. What the readings after it tell of the states there is the same for all, and
// so is how the motion after it depends on those states; one run through the whole window
// gives both, and a hypothesis is then run no farther than the join.
//
// With x the states at the join and z those at a later node, the mean of z under a
// hypothesis is that of the run, plus M times the difference of the means of x, where
// M = Cov(z, x) Cov(x, x)^-1; its covariance differs by M times the difference of the
// covariances of x times M'.
type join struct {
	k     int // node
	ahead kalman.Ahead
	x     kalman.Vec            // mean at the join
	v     kalman.Mat            // covariance
	mean  []kalman.Vec          // of the nodes after it
	carry [][stA + 1]kalman.Vec // M of each, rows for distance, speed and acceleration
}

// joinStates are those that the motion goes on from: not the thrust, which has built up.
var joinStates = [...]int{stS, stV, stA, stE, stB}

// joined runs the most probable hypothesis through the whole window and finds where the
// others may join it; nil where that is not before its end.
func (so *solver) joined(hs []hypothesis) *join {
	at := math.Inf(-1)
	var best *hypothesis
	for i := range hs {
		if h := &hs[i]; h.of == so {
			at = max(at, h.launch+max(h.Over(), so.pace.span))
			if best == nil {
				best = h
			}
		}
	}
	k := so.first(at)
	if best == nil || k+2 >= len(so.t) {
		return nil
	}
	so.run(*best)
	j := &join{k: k}
	j.ahead = kalman.After(so.node, k)
	j.x, j.v = moments(&so.node[k])
	inv := j.inverse()
	var c [len(joinStates)]kalman.Carry
	for i, s := range joinStates {
		var g kalman.Vec
		g[s] = 1
		c[i] = kalman.StartCarry(&so.node[k], &g)
	}
	for l := k + 1; l < len(so.t); l++ {
		j.mean = append(j.mean, so.node[l].Mean())
		var cov [len(joinStates)]kalman.Vec
		for i := range c {
			c[i].Step(&so.node[l-1], &so.node[l])
			cov[i] = c[i].All(&so.node[l])
		}
		var m [stA + 1]kalman.Vec
		for a := range m {
			for b, s := range joinStates {
				for i := range cov {
					m[a][s] += cov[i][a] * inv.At(i, b)
				}
			}
		}
		j.carry = append(j.carry, m)
	}
	return j
}

// moments are the smoothed mean and covariance at a node.
func moments(n *kalman.Node) (x kalman.Vec, v kalman.Mat) {
	for a := range v {
		for b := range v {
			v[a][b] = n.Cov(a, b)
		}
	}
	return n.Mean(), v
}

// inverse is that of the covariance at the join, of what of it is known no better than
// rounding: a reading without noise of its own fixes a sum of two states.
func (j *join) inverse() *mat.Dense {
	const n = len(joinStates)
	scale := [n]float64{}
	for i, s := range joinStates {
		scale[i] = root(j.v[s][s])
	}
	m := mat.NewSymDense(n, nil)
	for i, a := range joinStates {
		for k, b := range joinStates {
			if scale[i] > 0 && scale[k] > 0 {
				m.SetSym(i, k, (j.v[a][b]+j.v[b][a])/2/scale[i]/scale[k])
			}
		}
	}
	out := mat.NewDense(n, n, nil)
	var e mat.EigenSym
	if !e.Factorize(m, true) {
		return out
	}
	var vec mat.Dense
	e.VectorsTo(&vec)
	for q, value := range e.Values(nil) {
		if value < leastEigen {
			continue
		}
		for i := range n {
			for k := range n {
				if scale[i] > 0 && scale[k] > 0 {
					out.Set(i, k, out.At(i, k)+vec.At(i, q)*vec.At(k, q)/value/scale[i]/scale[k])
				}
			}
		}
	}
	return out
}

// onto puts the nodes after the join into a path whose own nodes end there.
func (j *join) onto(p *Path) {
	x, v := moments(&p.node[j.k])
	for _, s := range joinStates {
		x[s] -= j.x[s]
		for _, r := range joinStates {
			p.differs[s][r] = v[s][r] - j.v[s][r]
		}
	}
	for i := range j.mean {
		m := j.mean[i]
		for a, w := range j.carry[i] {
			for _, s := range joinStates {
				m[a] += w[s] * x[s]
			}
		}
		m[stG] = p.node[j.k].Mean()[stG] // it has built up and stays
		p.mean[j.k+1+i] = m
	}
}

// at is the combination of the states at the join that g'x at a later node goes with.
func (j *join) at(k int, g *kalman.Vec) (w kalman.Vec) {
	for a, m := range j.carry[k-j.k-1] {
		for _, s := range joinStates {
			w[s] += g[a] * m[s]
		}
	}
	return w
}

// form is a'Mb.
func form(a *kalman.Vec, m *kalman.Mat, b *kalman.Vec) (sum float64) {
	for i, ai := range a {
		for k, bk := range b {
			if ai != 0 && bk != 0 {
				sum += ai * m[i][k] * bk
			}
		}
	}
	return sum
}

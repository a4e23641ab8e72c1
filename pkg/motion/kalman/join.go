package kalman

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Ahead is what the measurements after a node tell of its states, whatever came before
// it: the normal likelihood exp(b'x - x'Ax/2). Filters that differ up to a node and agree
// after it share it, and each needs to run no farther than that node.
type Ahead struct {
	a Mat
	b Vec
}

// filtered is the mean and the covariance after the node's own measurement.
func (n *Node) filtered() (Vec, Mat) {
	x, p := n.x, n.p
	if n.Has && !math.IsInf(n.s, 1) {
		for i, ki := range n.k {
			x[i] += ki * n.v
			for j, kj := range n.k {
				p[i][j] -= ki * n.s * kj
			}
		}
	}
	return x, p
}

// After is what the measurements after node k tell of it, once the nodes are filtered and
// smoothed. With r and N the score and its variance after the node's measurement, x and P
// its filtered mean and covariance: A = N(I-PN)^-1 and b = r + A(x+Pr).
func After(nodes []Node, k int) Ahead {
	var r Vec
	var nn Mat
	if k+1 < len(nodes) {
		r, nn = nodes[k+1].back()
	}
	x, p := nodes[k].filtered()
	m := mat.NewDense(N, N, nil)
	for i := range N {
		for j := range N {
			if i == j {
				m.Set(i, j, 1)
			}
			for l := range N {
				m.Set(i, j, m.At(i, j)-nn[i][l]*p[l][j])
			}
			x[i] += p[i][j] * r[j]
		}
	}
	// A is symmetric: (I-NP)A = N.
	a := Ahead{a: solve(m, &nn), b: r}
	for i := range N {
		for j := range N {
			a.b[i] += a.a[i][j] * x[j]
		}
	}
	return a
}

// Join smooths filtered nodes whose last one is that which a is about: the score after its
// measurement is (I+AP)^-1(b-Ax), and its variance (I+AP)^-1 A.
func Join(nodes []Node, a *Ahead) {
	x, p := nodes[len(nodes)-1].filtered()
	m := mat.NewDense(N, N, nil)
	rest := a.b
	for i := range N {
		for j := range N {
			if i == j {
				m.Set(i, j, 1)
			}
			for l := range N {
				m.Set(i, j, m.At(i, j)+a.a[i][l]*p[l][j])
			}
			rest[i] -= a.a[i][j] * x[j]
		}
	}
	var lu mat.LU
	lu.Factorize(m)
	var r Vec
	out := mat.NewVecDense(N, r[:])
	_ = lu.SolveVecTo(out, false, mat.NewVecDense(N, rest[:])) // an ill condition is said, the solution stands
	SmoothFrom(nodes, r, solve(m, &a.a))
}

// solve is M^-1 B made symmetric, as what is asked for here always is.
func solve(m *mat.Dense, b *Mat) Mat {
	rhs, out := mat.NewDense(N, N, nil), mat.NewDense(N, N, nil)
	for i := range N {
		for j := range N {
			rhs.Set(i, j, b[i][j])
		}
	}
	_ = out.Solve(m, rhs) // an ill condition is said, the solution stands
	var x Mat
	for i := range N {
		for j := range N {
			x[i][j] = (out.At(i, j) + out.At(j, i)) / 2
		}
	}
	return x
}

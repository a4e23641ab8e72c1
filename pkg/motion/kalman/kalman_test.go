package kalman

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// nile is the annual flow of the Nile at Aswan 1871-1970 (R datasets::Nile).
var nile = []float64{1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180, 799, 958, 1140,
	1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833, 701, 916, 692, 1020, 1050, 969,
	831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845, 864, 862, 698, 845, 744, 796, 1040, 759,
	781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649, 846, 812, 742, 801, 1040, 860, 874, 848, 890,
	744, 749, 838, 1050, 918, 986, 797, 923, 975, 815, 1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740}

// Values: R 4.2.2 KalmanSmooth and an independent loop agree to all digits
// (produced by running the reference library); the model is the local level
// model of Durbin and Koopman with 15099, 1469.1, P1 = 1e7.
func TestNileLocalLevel(t *testing.T) {
	nodes := make([]Node, len(nile))
	for k, y := range nile {
		n := &nodes[k]
		n.F = Identity()
		if k > 0 {
			n.Q[0][0] = 1469.1
		}
		n.Has, n.Obs = true, Obs{H: Vec{1}, Y: y, R: 15099}
	}
	var p Mat
	p[0][0] = 1e7
	Filter(nodes, Vec{}, p)
	Smooth(nodes)
	filtered := map[int]float64{1: 1118.311462, 2: 1140.108439, 3: 1072.316018, 4: 1116.974768, 28: 1133.126115, 50: 849.070566, 100: 798.370293}
	for year, want := range filtered {
		n := &nodes[year-1]
		if got := n.x[0] + n.k[0]*n.v; math.Abs(got-want) > 5e-7 {
			t.Errorf("filtered year %d: %.6f, want %.6f", year, got, want)
		}
	}
	smoothed := map[int][2]float64{1: {1111.220258, 4030.532767}, 2: {1110.529257, 3242.056999}, 3: {1105.024860, 2818.473138},
		4: {1113.339175, 2590.916003}, 28: {999.585117, 2326.756958}, 50: {834.763259, 2326.756870}, 100: {798.370293, 4032.157942}}
	for year, want := range smoothed {
		n := &nodes[year-1]
		if got := n.Mean()[0]; math.Abs(got-want[0]) > 5e-7 {
			t.Errorf("smoothed year %d: %.6f, want %.6f", year, got, want[0])
		}
		if got := n.Cov(0, 0); math.Abs(got-want[1]) > 5e-6 {
			t.Errorf("smoothed variance year %d: %.6f, want %.6f", year, got, want[1])
		}
	}
	if n := &nodes[99]; math.Abs(n.k[0]-0.2670480126) > 5e-10 {
		t.Errorf("steady gain %.10f", n.k[0])
	}
}

// Kalata's steady-state gains at tracking index 1: alpha 0.75, beta 0.5
// (computed, by iterating the Riccati equation).
func TestKalataSteadyGain(t *testing.T) {
	nodes := make([]Node, 200)
	for k := range nodes {
		n := &nodes[k]
		n.F = Identity()
		n.F.Set(0, 1, 1)
		n.Q[0][0], n.Q[0][1], n.Q[1][0], n.Q[1][1] = 0.25, 0.5, 0.5, 1
		n.Has, n.Obs = true, Obs{H: Vec{1}, R: 1}
	}
	var p Mat
	p[0][0], p[1][1] = 100, 100
	Filter(nodes, Vec{}, p)
	if k := nodes[199].k; math.Abs(k[0]-0.75) > 1e-9 || math.Abs(k[1]-0.5) > 1e-9 {
		t.Errorf("gain %v, want 0.75, 0.5", k[:2])
	}
}

// The smoother is the least-squares solution: a random four-state model against
// a dense solve of the normal equations, means, variances and the covariance of
// states at different nodes.
func TestSmootherIsDenseLeastSquares(t *testing.T) {
	const m, n = 12, 4
	rng := rand.New(rand.NewPCG(3, 4))
	nodes := make([]Node, m)
	for k := range nodes {
		nd := &nodes[k]
		nd.F = Identity()
		nd.F.D[3] = 0.4
		nd.F.Set(0, 1, 0.3)
		nd.F.Set(0, 2, 0.045)
		nd.F.Set(1, 2, 0.3)
		nd.F.Set(2, 3, 0.1*rng.Float64())
		for i := range n {
			nd.Q[i][i] = 0.2 + rng.Float64()
		}
		nd.Q[0][1], nd.Q[1][0] = 0.1, 0.1
		if k%3 != 1 {
			nd.Has = true
			nd.Obs = Obs{H: Vec{0, 1, 0, 1}, Y: rng.NormFloat64() * 3, R: 0.3}
		}
	}
	var p Mat
	for i := range n {
		p[i][i] = 2
	}
	Filter(nodes, Vec{}, p)
	Smooth(nodes)
	info, rhs := dense(nodes, p, n)
	var cov mat.Dense
	if err := cov.Inverse(info); err != nil {
		t.Fatal(err)
	}
	var mean mat.VecDense
	mean.MulVec(&cov, rhs)
	for k := range nodes {
		x := nodes[k].Mean()
		for i := range n {
			at := (k+1)*n + i
			if d := math.Abs(x[i] - mean.AtVec(at)); d > 1e-9 {
				t.Fatalf("node %d state %d: %g off the dense solution", k, i, d)
			}
			for j := range n {
				if d := math.Abs(nodes[k].Cov(i, j) - cov.At(at, (k+1)*n+j)); d > 1e-9 {
					t.Fatalf("node %d covariance %d,%d: %g off", k, i, j, d)
				}
			}
		}
	}
	c := StartCarry(&nodes[2], &Vec{0, 1, 0.5})
	for k := 2; k < m-1; k++ {
		c.Step(&nodes[k], &nodes[k+1])
		for j := range n {
			var h Vec
			h[j] = 1
			want := cov.At(3*n+1, (k+2)*n+j) + 0.5*cov.At(3*n+2, (k+2)*n+j)
			if got := c.Cov(&nodes[k+1], &h); math.Abs(got-want) > 1e-9 {
				t.Fatalf("covariance of node 2 with node %d state %d: %g, want %g", k+1, j, got, want)
			}
		}
	}
}

// dense builds the information matrix and vector over the prior state and all
// nodes.
func dense(nodes []Node, p Mat, n int) (*mat.Dense, *mat.VecDense) {
	m := len(nodes)
	info := mat.NewDense((m+1)*n, (m+1)*n, nil)
	rhs := mat.NewVecDense((m+1)*n, nil)
	for i := range n {
		info.Set(i, i, 1/p[i][i])
	}
	for k := range nodes {
		q := mat.NewDense(n, n, nil)
		f := mat.NewDense(n, n, nil)
		for i := range n {
			for j := range n {
				q.Set(i, j, nodes[k].Q[i][j])
				var e Vec
				e[j] = 1
				f.Set(i, j, nodes[k].F.Apply(&e)[i])
			}
		}
		var qi, fq, fqf mat.Dense
		if err := qi.Inverse(q); err != nil {
			panic(err)
		}
		fq.Mul(f.T(), &qi)
		fqf.Mul(&fq, f)
		for i := range n {
			for j := range n {
				a, b := k*n, (k+1)*n
				info.Set(a+i, a+j, info.At(a+i, a+j)+fqf.At(i, j))
				info.Set(a+i, b+j, info.At(a+i, b+j)-fq.At(i, j))
				info.Set(b+j, a+i, info.At(b+j, a+i)-fq.At(i, j))
				info.Set(b+i, b+j, info.At(b+i, b+j)+qi.At(i, j))
			}
		}
		if nodes[k].Has {
			o := &nodes[k].Obs
			for i := range n {
				b := (k + 1) * n
				rhs.SetVec(b+i, rhs.AtVec(b+i)+o.H[i]*o.Y/o.R)
				for j := range n {
					info.Set(b+i, b+j, info.At(b+i, b+j)+o.H[i]*o.H[j]/o.R)
				}
			}
		}
	}
	return info, rhs
}

// The deleted residual of a measurement is what leaving it out gives.
func TestDeletedResidual(t *testing.T) {
	build := func(without int) []Node {
		nodes := make([]Node, 9)
		for k := range nodes {
			n := &nodes[k]
			n.F = Identity()
			n.F.Set(0, 1, 0.5)
			n.Q[1][1] = 0.3
			n.Has = k != without
			n.Obs = Obs{H: Vec{1}, Y: math.Sin(float64(k)), R: 0.2}
		}
		var p Mat
		p[0][0], p[1][1] = 3, 3
		Filter(nodes, Vec{}, p)
		Smooth(nodes)
		return nodes
	}
	all, less := build(-1), build(4)
	res, va := all[4].Deleted()
	if want := all[4].Obs.Y - less[4].Mean()[0]; math.Abs(res-want) > 1e-12 {
		t.Errorf("residual %g, want %g", res, want)
	}
	if want := less[4].Cov(0, 0) + 0.2; math.Abs(va-want) > 1e-12 {
		t.Errorf("variance %g, want %g", va, want)
	}
}

package align

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"gonum.org/v1/gonum/mat"

	"fromrest/pkg/recording"
)

// The sums at every lag are those of adding up.
func TestCorrelateAddsUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	column := func(n, axes int) grid {
		g := grid{ok: make([]float64, n)}
		for i := range g.ok {
			if rng.Float64() < 0.8 {
				g.ok[i] = 1
			}
		}
		for range axes {
			v := make([]float64, n)
			for i := range v {
				v[i] = rng.NormFloat64() * g.ok[i]
			}
			g.v = append(g.v, v)
		}
		return g
	}
	y, x := column(90, 1), column(70, 3)
	s, err := correlate(context.Background(), y, x)
	if err != nil {
		t.Fatal(err)
	}
	for m := -69; m < 90; m++ {
		var n, sy, sx, sxy, sxx float64
		for k := range x.ok {
			if j := k + m; j >= 0 && j < len(y.ok) && x.ok[k]*y.ok[j] == 1 {
				n, sy, sx = n+1, sy+y.v[0][j], sx+x.v[1][k]
				sxy, sxx = sxy+x.v[1][k]*y.v[0][j], sxx+x.v[1][k]*x.v[2][k]
			}
		}
		i := (m + s.size) % s.size
		for _, c := range [][2]float64{{s.n[i], n}, {s.y[i], sy}, {s.x[1][i], sx}, {s.xy[1][i], sxy}, {s.xx[4][i], sxx}} {
			if math.Abs(c[0]-c[1]) > 1e-9 {
				t.Fatalf("lag %d: %v, want %v", m, c[0], c[1])
			}
		}
	}
}

// Whitened residuals are those of the covariance matrix of the wander: their sum
// of squares is e' C⁻¹ e, with what nothing tells made very uncertain.
func TestWhiteningIsThatOfTheCovariance(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const n = 40
	f := &fixes{reset: make([]bool, n), skip: make([]bool, n), still: make([]int, n)}
	at := 0.0
	for range n {
		at += 0.05 + 0.3*rng.Float64()
		f.t, f.r = append(f.t, at), append(f.r, 0.002+0.003*rng.Float64())
	}
	f.skip[7], f.skip[8] = true, true
	m := wander{noise: 0.004, bias: 0.003}
	e := make([]float64, n)
	for i := range e {
		e[i] = rng.NormFloat64()
	}
	// The covariance of level and slope, each unknown to begin with, of the
	// integrated noise, min(s, u) per noise, and of the integrated wander of the
	// slope, s²(3u-s)/6 for s < u.
	var rows []int
	for i := range n {
		if !f.skip[i] {
			rows = append(rows, i)
		}
	}
	c := mat.NewSymDense(len(rows), nil)
	v := mat.NewVecDense(len(rows), nil)
	for a, i := range rows {
		v.SetVec(a, e[i])
		for b := a; b < len(rows); b++ {
			s, u := f.t[i]-f.t[0], f.t[rows[b]]-f.t[0]
			x := unknown + firstBias*firstBias*s*u + m.noise*s + m.bias*s*s*(3*u-s)/6
			if a == b {
				x += f.r[i]
			}
			c.SetSym(a, b, x)
		}
	}
	var ch mat.Cholesky
	if !ch.Factorize(c) {
		t.Fatal("no covariance")
	}
	var w mat.VecDense
	if err := ch.SolveVecTo(&w, v); err != nil {
		t.Log(err) // ill-conditioned by what is unknown, but good enough
	}
	want := mat.Dot(v, &w) - e[0]*e[0]/(unknown+f.r[0])
	z := f.whiten(m, [][]float64{e}, -1)
	got := 0.0
	for _, x := range z.col[0] {
		got += x * x
	}
	if math.Abs(got/want-1) > 1e-4 {
		t.Errorf("sum of squares %.6f, want %.6f", got, want)
	}
	if len(z.fix) != len(rows)-1 {
		t.Errorf("%d rows of %d", len(z.fix), len(rows))
	}
}

// A vehicle that backs up now and then does not spoil the fit: a receiver shows
// its speed without a sign.
func TestBackingUp(t *testing.T) {
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 9))
		start := time.Date(2026, 5, 9, 8, 30, 0, 0, time.UTC)
		// Each leg: at rest, off at a, on at speed, and braked to rest.
		type leg struct{ until, a float64 }
		var legs []leg
		at := 0.0
		for k := range 10 {
			sign, a := 1.0, 2+1.5*rng.Float64()
			run := 5.0
			if k%3 == 2 {
				sign, a, run = -1, 1.1, 3
			}
			for _, d := range []leg{{4, 0}, {run, sign * a}, {2, 0}, {run, -sign * a}} {
				at += d.until
				legs = append(legs, leg{at, d.a})
			}
		}
		acceleration := func(t float64) float64 {
			for _, l := range legs {
				if t < l.until {
					return l.a
				}
			}
			return 0
		}
		acc := &recording.Accel{}
		sp := Speed{Start: start}
		v, k := 0.0, 0.41
		for i := range int(at * 100) {
			s := float64(i) / 100
			a := acceleration(s)
			acc.NanoUTC = append(acc.NanoUTC, recording.Nano(start)+int64((s-k)*1e9))
			acc.X = append(acc.X, 0.3*rng.NormFloat64())
			acc.Y = append(acc.Y, -1.04*a+0.1+0.3*rng.NormFloat64())
			acc.Z = append(acc.Z, 9.8+0.3*rng.NormFloat64())
			if i%10 == 0 {
				sp.T, sp.U = append(sp.T, s), append(sp.U, 0.05)
				sp.V = append(sp.V, math.Hypot(v+0.05*rng.NormFloat64(), 0.05*rng.NormFloat64()))
			}
			v += a / 100
		}
		al, err := Align(context.Background(), acc, sp)
		if err != nil || al.Reason != "" {
			t.Fatalf("seed %d: %v %q", seed, err, al.Reason)
		}
		if math.Abs(al.Gain.X-1/1.04) > max(4*al.Gain.U, 0.004) || math.Abs(al.Offset.X-k) > max(4*al.Offset.U, 0.01) || al.Forward[1] > -0.99 {
			t.Errorf("seed %d: gain %.4f ± %.4f, offset %.4f ± %.4f, forward %.2f", seed, al.Gain.X, al.Gain.U, al.Offset.X, al.Offset.U, al.Forward)
		}
	}
}

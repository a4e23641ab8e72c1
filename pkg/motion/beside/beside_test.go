package beside

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// drive is ten minutes of stops and goes as they are, each millisecond.
func drive(rng *rand.Rand) []float64 {
	var v []float64
	x := 0.0
	for len(v) < 600_000 {
		top := 5 + 20*rng.Float64()
		up, down, hold := 1+2*rng.Float64(), 1+3*rng.Float64(), 3000+rng.IntN(9000)
		for a := 0.0; x < top; x += a / 1000 {
			a = math.Min(a+0.004, up*(1-0.5*x/30))
			v = append(v, x)
		}
		for range hold {
			v = append(v, x)
		}
		for ; x > 0; x -= down / 1000 {
			v = append(v, x)
		}
		x = 0
		for range 4000 {
			v = append(v, 0)
		}
	}
	return v
}

// seen is what a receiver shows of a drive.
func seen(v []float64, rate, late, tau, scale, noise float64, rng *rand.Rand) (s Series) {
	y, keep := v[0], 0.0
	if tau > 0 {
		keep = math.Exp(-0.001 / tau)
	}
	filtered := make([]float64, len(v))
	for i, x := range v {
		y = keep*y + (1-keep)*x
		filtered[i] = y
	}
	for t := 5 + rng.Float64()/rate; t < float64(len(v))/1000-1; t += 1 / rate {
		s.T = append(s.T, t)
		s.V = append(s.V, math.Abs(scale*filtered[int(1000*(t-late))]+noise*rng.NormFloat64()))
	}
	return s
}

// What one simulated receiver does more than the other is found, and its interval holds.
func TestHold(t *testing.T) {
	var misses, n int
	for _, c := range []struct {
		rateA, rateB, late, tau, scale, noise float64
	}{
		{50, 10, 0, 0, 1, 0.05}, {50, 10, 0.3, 0, 1, 0.05}, {50, 10, 0, 0.2, 1, 0.05}, {10, 10, 0.15, 0.3, 1, 0.05}, {10, 10, -0.2, 0, 1.01, 0.05},
		{50, 1, 1, 0, 0.98, 0.05}, {10, 1, 0.5, 0.5, 1, 0.05}, {10, 50, 0.1, 0.4, 1, 0.05}, {1, 10, 0.25, 0, 1, 0.05}, {2, 1, 0.25, 0, 1, 0.1},
	} {
		for seed := range uint64(2) {
			rng := rand.New(rand.NewPCG(seed, 7))
			v := drive(rng)
			got, err := Hold(context.Background(), seen(v, c.rateA, 0, 0, 1, 0.05, rng), seen(v, c.rateB, c.late, c.tau, c.scale, c.noise, rng), false)
			if err != nil {
				t.Fatal(err)
			}
			late := got.Late.X - c.late - c.tau
			if n++; math.Abs(late) > got.Late.U95() {
				misses++
			}
			t.Logf("%+v: late %.3f ± %.3f, smoothing %.2f ± %.2f, scale %.4f ± %.4f, scatter %.3f", c, got.Late.X, got.Late.U95(), got.Smoothing.X, got.Smoothing.U95(), got.Scale.X, got.Scale.U95(), got.Scatter)
			if math.Abs(late) > 0.05 || math.Abs(got.Scale.X-c.scale) > 0.003 || math.Abs(got.Smoothing.X-c.tau) > 0.1+0.3/min(c.rateA, c.rateB) {
				t.Errorf("%+v: late %.3f ± %.3f s, smoothing %.2f ± %.2f s, scale %.4f ± %.4f", c, got.Late.X, got.Late.U95(), got.Smoothing.X, got.Smoothing.U95(), got.Scale.X, got.Scale.U95())
			}
		}
	}
	if misses > n/8 {
		t.Errorf("%d of %d delays lie outside their interval", misses, n)
	}
	t.Logf("%d of %d delays lie outside their interval", misses, n)
}

// Clocks that have nothing in common are found to, and drives that are not one are told.
func TestFarAndUnlike(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 9))
	v := drive(rng)
	a, b := seen(v, 10, 0, 0, 1, 0.05, rng), seen(v, 10, 0.1, 0, 1, 0.05, rng)
	for i := range b.T {
		b.T[i] += 4321
	}
	if got, err := Hold(context.Background(), a, b, true); err != nil || math.Abs(got.Late.X-4321.1) > 0.02 {
		t.Errorf("%+v %v", got, err)
	}
	if _, err := Hold(context.Background(), a, seen(drive(rng), 10, 0, 0, 1, 0.05, rng), false); !errors.Is(err, ErrUnlike) {
		t.Errorf("%v", err)
	}
}

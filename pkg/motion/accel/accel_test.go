package accel

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// The noise of samples is told beside smooth motion, with its correlation.
func TestNoiseOfSamples(t *testing.T) {
	for _, rho := range []float64{-0.4, 0, 0.5, 0.8} {
		rng := rand.New(rand.NewPCG(5, 6))
		a := &recording.Accel{}
		x := 0.0
		for i := range 60000 {
			x = rho*x + math.Sqrt(1-rho*rho)*rng.NormFloat64()
			at := float64(i) / 100
			a.NanoUTC = append(a.NanoUTC, int64(i)*1e7)
			a.X = append(a.X, 0.25*x+3*math.Sin(at/2))
		}
		s, _ := Open(a)
		n := s.Noise([3]float64{1}, [][2]float64{{0, 600}})
		// The parabola takes some of the slow part away.
		if math.Abs(n.quick-rho) > 0.12+0.4*rho*rho || math.Abs(math.Sqrt(n.Variance)-0.25) > 0.02+0.1*rho*rho {
			t.Errorf("rho %.1f: %.2f, standard deviation %.3f of 0.25", rho, n.quick, math.Sqrt(n.Variance))
		}
		// What a mean over many samples scatters by is what matters in the end.
		if want := 0.25 * math.Sqrt((1+rho)/(1-rho)); math.Abs(math.Sqrt(n.Long())/want-1) > 0.1+0.55*rho*rho {
			t.Errorf("rho %.1f: long %.3f, want %.3f", rho, math.Sqrt(n.Long()), want)
		}
	}
}

// Gaps and clipped samples are marked, and the clock is that of the receiver.
func TestForwardSamples(t *testing.T) {
	start := time.Date(2026, 5, 9, 8, 30, 0, 0, time.UTC)
	a := &recording.Accel{}
	for i := range 300 {
		if i >= 100 && i < 180 {
			continue // 0.8 s are missing
		}
		v := math.Sin(float64(i) * 0.7)
		if i > 250 && i < 256 {
			v = 4 // the end of its range
		}
		a.NanoUTC = append(a.NanoUTC, recording.Nano(start)+int64(i)*1e7)
		a.X, a.Y, a.Z = append(a.X, v), append(a.Y, 0.5), append(a.Z, 9.81)
	}
	al := &Alignment{Forward: [3]float64{1, 0, 0}, Gain: uncert.Value{X: 0.9}, Bias: uncert.Value{X: 0.1}, Rate: 100,
		Offset: uncert.Value{X: 2, U: 0.003}, Drift: uncert.Value{X: 1e-3, U: 1e-5}, Middle: start.Add(time.Second)}
	ts, acc, bad := al.ForwardSamples(a, start.Add(-time.Second))
	if len(ts) != 220 || len(acc) != 220 || len(bad) != 220 {
		t.Fatalf("%d, %d, %d samples", len(ts), len(acc), len(bad))
	}
	// The first sample is 1 s after the start by its own clock, 3 s by the
	// receiver's, which is 1 s after the middle, where the drift has added 1 ms.
	if math.Abs(ts[0]-3.001) > 1e-9 || math.Abs(acc[0]-0.9*(0-0.1)) > 1e-12 {
		t.Errorf("first sample at %.6f s, %.3f m/s²", ts[0], acc[0])
	}
	n := 0
	for i, b := range bad {
		if b {
			n++
		}
		if want := i == 99 || i == 100 || i > 170 && i < 176; b != want {
			t.Errorf("sample %d: bad %v", i, b)
		}
	}
	if n != 7 {
		t.Errorf("%d bad samples", n)
	}
	if o := al.OffsetAt(start.Add(101 * time.Second)); math.Abs(o.X-2.1) > 1e-12 || math.Abs(o.U-math.Hypot(0.003, 1e-3)) > 1e-12 {
		t.Errorf("offset %.4f ± %.5f", o.X, o.U)
	}
	al.Reason = "loose"
	if ts, _, _ := al.ForwardSamples(a, start); ts != nil {
		t.Error("a sensor set aside gives samples")
	}
}

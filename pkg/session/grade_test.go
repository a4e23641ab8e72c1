package session

import (
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/motion"
)

// climbing is a run at 3 m/s² for 10 s with heights and vertical speeds at 10 Hz as
// height and up make them of the distance and the speed.
func climbing(height, up func(s, v float64) float64) *TimedRun {
	r := &TimedRun{}
	var tr motion.Trace
	for i := 0; i <= 100; i++ {
		t := float64(i) / 10
		s, v := 1.5*t*t, 3*t
		tr.T, tr.S, tr.V, tr.A = append(tr.T, t), append(tr.S, s), append(tr.V, v), append(tr.A, 3)
		tr.SS, tr.SV, tr.SA = append(tr.SS, 0), append(tr.SV, 0), append(tr.SA, 0)
		if height != nil {
			r.Climb.AltT, r.Climb.Alt = append(r.Climb.AltT, t), append(r.Climb.Alt, height(s, v))
		}
		if up != nil {
			r.Climb.UpT, r.Climb.Up = append(r.Climb.UpT, t), append(r.Climb.Up, up(s, v))
		}
	}
	r.Trace = tr
	return r
}

// coverage counts how often the interval of a grade holds the true one.
func coverage(t *testing.T, grade float64, make func(rng *rand.Rand) *TimedRun, want string) (share, half float64) {
	t.Helper()
	in := 0
	const n = 2000
	for i := range n {
		g, from := make(rand.New(rand.NewPCG(uint64(i), 1))).Grade()
		if from != want {
			t.Fatalf("grade from %q, want %q", from, want)
		}
		if math.Abs(g.X-grade) <= g.U95() {
			in++
		}
		half += g.U95() / n
	}
	return float64(in) / n, half
}

func TestGradeIntervals(t *testing.T) {
	const grade = 0.01
	sine := math.Sin(math.Atan(grade))
	for _, c := range []struct {
		name, from string
		lo, hi     float64
		make       func(rng *rand.Rand) *TimedRun
	}{
		{"white vertical velocity", "vertical velocity", 0.93, 0.985, func(rng *rand.Rand) *TimedRun {
			return climbing(nil, func(_, v float64) float64 { return v*sine + 0.1*rng.NormFloat64() })
		}},
		{"correlated vertical velocity", "vertical velocity", 0.92, 0.975, func(rng *rand.Rand) *TimedRun {
			x := rng.NormFloat64()
			return climbing(nil, func(_, v float64) float64 {
				x = 0.35*x + math.Sqrt(1-0.35*0.35)*rng.NormFloat64()
				return v*sine + 0.1*x
			})
		}},
		{"altitude that wanders", "altitude", 0.93, 0.975, func(rng *rand.Rand) *TimedRun {
			x := 0.0
			return climbing(func(s, _ float64) float64 { x += 0.1 * rng.NormFloat64(); return 60 + s*sine + x }, nil)
		}},
		{"altitude in steps of 0.2 m", "altitude", 0.93, 1, func(rng *rand.Rand) *TimedRun {
			off := rng.Float64()
			return climbing(func(s, _ float64) float64 { return math.Round((60+off+s*sine)/0.2) * 0.2 }, nil)
		}},
		{"altitude that wanders, in steps", "altitude", 0.93, 0.99, func(rng *rand.Rand) *TimedRun {
			x := rng.Float64()
			return climbing(func(s, _ float64) float64 {
				x += 0.05 * rng.NormFloat64()
				return math.Round((60+s*sine+x)/0.2) * 0.2
			}, nil)
		}},
	} {
		share, half := coverage(t, grade, c.make, c.from)
		t.Logf("%-32s %.1f %% in their interval, half-width %.3f %%", c.name, 100*share, 100*half)
		if share < c.lo || share > c.hi {
			t.Errorf("%s: %.1f %% in their interval", c.name, 100*share)
		}
	}
}

// A column of zeros is no measurement, and a run without heights has no grade.
func TestNoGradeFromNothing(t *testing.T) {
	zero := func(_, _ float64) float64 { return 0 }
	for name, r := range map[string]*TimedRun{"nothing": climbing(nil, nil), "zeros": climbing(zero, zero)} {
		if g, from := r.Grade(); from != "" || !math.IsNaN(g.X) {
			t.Errorf("%s: grade %v from %q", name, g, from)
		}
	}
}

package inertial

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
)

var draws = flag.Int("inertial.draws", 33, "sessions drawn in the trial of the uncertainties")

// morning is a session of starts both ways, with some driving about.
func morning(t testing.TB, seed uint64, starts int) *synth.Session {
	t.Helper()
	vs := synth.Vehicles()
	sc := synth.Scenario{HeadingDeg: 77, RestMin: 3, RestMax: 8}
	for i := range starts {
		v := vs[(int(seed%1000)+i)%len(vs)]
		v.BuildMin, v.BuildMax = 0.04, 0.25
		sc.Events = append(sc.Events, synth.Event{Kind: synth.Start, Vehicle: v, Reverse: i%2 == 1})
		if i%3 == 0 {
			sc.Events = append(sc.Events, synth.Event{Kind: synth.Creep})
		}
	}
	s, err := sc.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// draw makes a session and a sensor as loggers have it: any mounting, 0.2 m/s² of
// bias, 3 % of scale, vibration of 0.3 m/s².
func draw(t testing.TB, seed uint64) (*synth.Session, synth.Accelerometer) {
	rng := rand.New(rand.NewPCG(seed, 4))
	s := morning(t, seed, 4)
	acc := synth.Accelerometer{Rate: 100, Mounting: synth.RandomRotation(rng), Noise: 0.3}
	rng.Float64() // the clock's offset and drift, which do not matter here
	rng.NormFloat64()
	acc.Pitch = 0.006 * rng.Float64()
	for i := range 3 {
		acc.Bias[i] = 0.2 * rng.NormFloat64()
		acc.Scale[i] = 0.03 * rng.NormFloat64()
	}
	return s, acc
}

// reckoned integrates a session's accelerometer and compares.
func reckoned(t testing.TB, s *synth.Session, acc synth.Accelerometer, seed uint64) (*Reckoning, []float64) {
	t.Helper()
	out, err := Reckon(context.Background(), s.Accel(acc, seed))
	if err != nil {
		t.Fatal(err)
	}
	truth := make([]float64, len(out.T))
	for i, x := range out.T {
		truth[i] = s.Motion.At(x).V
	}
	return out, truth
}

// Speed dead reckoned between standstills is as good as it says, for any
// mounting, and standstills are where the vehicle stands.
func TestDeadReckoningIsHonest(t *testing.T) {
	n, in, squares, at := 0.0, 0.0, 0.0, 0.0
	stops, moves := 0, 0
	for i := range *draws {
		s, acc := draw(t, uint64(i)+1)
		out, truth := reckoned(t, s, acc, uint64(i)+1)
		if out.Align.Reason != "" {
			t.Errorf("draw %d: %s", i, out.Align.Reason)
			continue
		}
		for _, r := range out.Rest {
			fastest := 0.0
			for x := r[0]; x < r[1]; x += 0.1 {
				fastest = max(fastest, s.Motion.At(x).V)
			}
			// A vehicle that shakes no more when it creeps cannot be told from one at
			// rest half a minute after the last standstill.
			if stops++; fastest > 0.1 {
				moves++
			}
			if fastest > 1.5 {
				t.Errorf("draw %d: moves at %.2f m/s in the standstill %.1f", i, fastest, r)
			}
		}
		for k := range truth {
			if truth[k] < 5 || k%40 > 0 {
				continue
			}
			e := (out.V[k] - truth[k]) / out.U[k]
			n, squares = n+1, squares+e*e
			at += math.Abs(out.V[k]-truth[k]) / truth[k]
			if math.Abs(e) < 1.96 {
				in++
			}
			if math.Abs(e) > 4 {
				t.Logf("draw %d at %.1f: %.2f ± %.2f, truth %.2f", i, out.T[k], out.V[k], out.U[k], truth[k])
			}
		}
	}
	if moves*20 > stops {
		t.Errorf("%d of %d standstills are none", moves, stops)
	}
	if in/n < 0.95 {
		t.Errorf("only %.1f %% of the speeds lie within their 95 %% interval", 100*in/n)
	}
	t.Logf("%d standstills, %d of them creep", stops, moves)
	t.Logf("rms of deviation/u %.2f, %.1f %% within 95 %%, mean error %.1f %% of the speed", math.Sqrt(squares/n), 100*in/n, 100*at/n)
}

// Cancelling ends it.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	s, acc := draw(t, 1)
	if _, err := Reckon(ctx, s.Accel(acc, 1)); err == nil {
		t.Error("no error though cancelled")
	}
}

// Empty and damaged input gives a reason or an error, never a panic.
func TestHostileSamples(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	long := func(f func(i int) float64) *recording.Accel {
		a := &recording.Accel{}
		for i := range 3000 {
			a.NanoUTC = append(a.NanoUTC, int64(i)*1e7)
			a.X, a.Y, a.Z = append(a.X, f(i)), append(a.Y, f(i)), append(a.Z, f(i))
		}
		return a
	}
	for name, a := range map[string]*recording.Accel{
		"nil":      nil,
		"empty":    {},
		"one":      {NanoUTC: []int64{0}, X: []float64{1}},
		"same":     {NanoUTC: make([]int64, 50), X: make([]float64, 50)},
		"zeros":    long(func(int) float64 { return 0 }),
		"NaN":      long(func(int) float64 { return nan }),
		"Inf":      long(func(i int) float64 { return map[bool]float64{true: inf, false: 0}[i == 7] }),
		"huge":     long(func(i int) float64 { return 1e300 * math.Sin(float64(i)) }),
		"half NaN": long(func(i int) float64 { return map[bool]float64{true: nan, false: 1}[i%2 == 0] }),
		"constant": long(func(int) float64 { return 5.66 }),
	} {
		if out, err := Reckon(context.Background(), a); err == nil && out.Align.Reason == "" {
			t.Errorf("%s: integrated", name)
		}
	}
}

// Garbage of every kind ends in a reason or numbers, never in a panic or NaN in
// what is used.
func TestGarbage(t *testing.T) {
	for seed := range uint64(150) {
		rng := rand.New(rand.NewPCG(seed, 12))
		a := &recording.Accel{}
		at := int64(0)
		for i := range 900 + rng.IntN(8000) {
			step := int64(1e7)
			switch rng.IntN(900) {
			case 0:
				step = int64(rng.IntN(3)) * 5e8
			case 1:
				step = 0
			case 2:
				if seed%3 == 0 {
					step = -2e7 // readers keep stamps in order, but who knows
				}
			}
			at += step
			x := func() float64 {
				switch rng.IntN(20000) {
				case 0:
					return math.NaN()
				case 1:
					return 1e6 * rng.NormFloat64()
				}
				return 3*math.Sin(float64(i)/200) + rng.NormFloat64()
			}
			a.NanoUTC = append(a.NanoUTC, at)
			a.X, a.Y, a.Z = append(a.X, x()), append(a.Y, x()), append(a.Z, 9.8+x())
		}
		if out, err := Reckon(context.Background(), a); err == nil && out.Align.Reason == "" {
			for i := range out.V {
				if math.IsNaN(out.V[i]) || math.IsNaN(out.U[i]) {
					t.Errorf("seed %d: speed %v ± %v at %.2f", seed, out.V[i], out.U[i], out.T[i])
					break
				}
			}
		}
	}
}

// BenchmarkHour reckons an hour of three axes at 100 Hz.
func BenchmarkHour(b *testing.B) {
	a := morning(b, 3, 60).Accel(synth.Accelerometer{Rate: 100, Noise: 0.3, Offset: 1}, 1)
	b.ReportAllocs()
	for range b.N {
		if _, err := Reckon(context.Background(), a); err != nil {
			b.Fatal(err)
		}
	}
}

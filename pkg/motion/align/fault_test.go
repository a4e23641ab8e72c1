package align

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// times multiplies every sample.
func times(a *recording.Accel, f float64) {
	for _, s := range [][]float64{a.X, a.Y, a.Z} {
		for i := range s {
			s[i] *= f
		}
	}
}

// shift moves the sensor's clock.
func shift(a *recording.Accel, by int64) {
	for i := range a.NanoUTC {
		a.NanoUTC[i] += by
	}
}

// What is wrong with a sensor is said; what is only mounted oddly is used.
func TestFaults(t *testing.T) {
	rx := synth.Receiver{Rate: 10, Noise: 0.05}
	for _, c := range []struct {
		name   string
		acc    func(*synth.Accelerometer)
		after  func(*recording.Accel)
		reason string // "" where it is used
		note   string
	}{
		{name: "as it is"},
		{name: "reversed", acc: func(a *synth.Accelerometer) { a.Reversed = true }},
		{name: "upside down", acc: func(a *synth.Accelerometer) { a.Mounting = synth.Rotation{1, 0, 0, 0, -1, 0, 0, 0, -1} }},
		{name: "25 Hz", acc: func(a *synth.Accelerometer) { a.Rate = 25 }},
		{name: "10 Hz", acc: func(a *synth.Accelerometer) { a.Rate = 10 }, reason: "10.0 samples a second, at least 20"},
		{name: "some gaps", acc: func(a *synth.Accelerometer) { a.Gaps = 3 }},
		{name: "many gaps", acc: func(a *synth.Accelerometer) { a.Gaps = 12 }, reason: "samples are missing"},
		{name: "clipped", acc: func(a *synth.Accelerometer) { a.Clip = 4 }, reason: "at the end of its range"},
		{name: "clips at its peaks", acc: func(a *synth.Accelerometer) { a.Clip = 11.5 }},
		{name: "coarse", acc: func(a *synth.Accelerometer) { a.Noise = 0.15 }, after: func(a *recording.Accel) {
			for _, s := range [][]float64{a.X, a.Y, a.Z} {
				for i := range s {
					s[i] = math.Round(s[i]/unit.GravityStandard*20) * unit.GravityStandard / 20
				}
			}
		}},
		{name: "in g", after: func(a *recording.Accel) { times(a, 1/unit.GravityStandard) }, note: "factor of 9.807"},
		{name: "taken for g", after: func(a *recording.Accel) { times(a, unit.GravityStandard) }, note: "factor of 0.102"},
		{name: "half as much", after: func(a *recording.Accel) { times(a, 0.5) }, reason: "a wrong unit or a damaged axis"},
		{name: "vertical axis dead", acc: func(a *synth.Accelerometer) { a.Mounting = synth.Level }, after: func(a *recording.Accel) { clear(a.Z) }},
		{name: "nothing but noise", after: func(a *recording.Accel) {
			rng := rand.New(rand.NewPCG(1, 1))
			for i := range a.X {
				a.X[i], a.Y[i], a.Z[i] = rng.NormFloat64(), rng.NormFloat64(), 9.8+rng.NormFloat64()
			}
		}, reason: "correlate"},
		{name: "off by the leap seconds", after: func(a *recording.Accel) { shift(a, 18e9) }, note: "its clock is off by"},
		{name: "in another time zone", after: func(a *recording.Accel) { shift(a, -3600e9) }, note: "its clock is off by"},
		{name: "of another drive", after: func(a *recording.Accel) {
			other := synth.Accelerometer{Rate: 100, Noise: 0.3}
			*a = *morning(t, 77, 4).Accel(other, 3)
		}, reason: "correlate"},
		{name: "gravity taken off", after: func(a *recording.Accel) { a.GravityRemoved = true; level(a) }},
		{name: "one axis", acc: func(a *synth.Accelerometer) { a.Mounting = synth.Level }, after: func(a *recording.Accel) { a.Y, a.Z = nil, nil }},
		{name: "one axis in g", acc: func(a *synth.Accelerometer) { a.Mounting = synth.Level }, after: func(a *recording.Accel) {
			a.Y, a.Z = nil, nil
			times(a, 1/unit.GravityStandard)
		}, note: "reads 1 where the speed says"},
		{name: "wild values", after: func(a *recording.Accel) {
			for i := 100; i < a.Len(); i += 900 {
				a.Z[i] = 1e6
			}
		}},
		{name: "lost values", after: func(a *recording.Accel) {
			for i := 5000; i < 5300; i++ {
				a.Y[i] = math.NaN()
			}
		}},
	} {
		tr := draw(t, 11, rx, false)
		if c.acc != nil {
			c.acc(&tr.acc)
		}
		rec := tr.s.Recording(rx, &tr.acc, 5)
		if c.after != nil {
			c.after(rec.Accel)
		}
		sp := speedOf(rec.Primary(), 0.05)
		al, err := Align(context.Background(), rec.Accel, sp)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		match := al.Reason == ""
		if c.reason != "" {
			match = slices.ContainsFunc(strings.Split(c.reason, "|"), func(s string) bool { return strings.Contains(al.Reason, s) })
		}
		if !match {
			t.Errorf("%s: reason %q, want %q", c.name, al.Reason, c.reason)
			continue
		}
		if strings.Contains(al.Reason, "\n") || !strings.Contains(al.Note, c.note) || c.note == "" && al.Note != "" {
			t.Errorf("%s: note %q, want %q", c.name, al.Note, c.note)
		}
		if al.Reason == "" {
			if e := forwardError(tr, al, rec.Accel, sp); e > 0.04 {
				t.Errorf("%s: forward acceleration is %.3f m/s² off", c.name, e)
			}
			if strings.HasPrefix(c.name, "off by") || strings.Contains(c.name, "zone") {
				continue
			}
			if e := math.Abs(al.Offset.X+tr.acc.Offset+tr.acc.Drift*al.Middle.Sub(tr.s.Scenario.Begin).Seconds()) / al.Offset.U; e > 4 {
				t.Errorf("%s: offset %.4f ± %.4f is wrong", c.name, al.Offset.X, al.Offset.U)
			}
		}
	}
}

// level takes off every axis what it reads at first.
func level(a *recording.Accel) {
	for _, s := range [][]float64{a.X, a.Y, a.Z} {
		m := 0.0
		for _, v := range s[:200] {
			m += v / 200
		}
		for i := range s {
			s[i] -= m
		}
	}
}

// forwardError is the root mean square over the second of the difference between
// the samples and the true acceleration, means over half a second.
func forwardError(tr *trial, al *accel.Alignment, a *recording.Accel, sp Speed) float64 {
	ts, acc, bad := al.ForwardSamples(a, sp.Start)
	lag := sp.Start.Sub(tr.s.Scenario.Begin).Seconds()
	sum, n := 0.0, 0.0
	for i := 0; i+50 <= len(ts); i += 50 {
		e, ok := 0.0, true
		for k := i; k < i+50; k++ {
			e += (acc[k] - tr.s.Motion.At(ts[k]+lag).A) / 50
			ok = ok && !bad[k]
		}
		if ok && ts[i+49]-ts[i] < 2.1 {
			sum, n = sum+e*e, n+1
		}
	}
	// What 50 samples' noise leaves is known.
	return math.Sqrt(max(sum/n-0.3*0.3/50, 0))
}

// A sensor that slides on its mount is set aside, one that turns about the
// vertical too.
func TestLooseSensor(t *testing.T) {
	rx := synth.Receiver{Rate: 10, Noise: 0.05}
	for seed := range uint64(10) {
		for _, upright := range []bool{false, true} {
			tr := draw(t, seed+1, rx, false)
			a, b := tr.acc, tr.acc
			b.Mounting = synth.RandomRotation(tr.rng)
			if upright {
				a.Mounting = synth.Level
				s, c := math.Sincos(0.9 + 1.2*tr.rng.Float64())
				b.Mounting = synth.Rotation{c, -s, 0, s, c, 0, 0, 0, 1}
			}
			rec := tr.s.Recording(rx, &a, 5)
			moved := tr.s.Accel(b, 5)
			for i := rec.Accel.Len() / 2; i < rec.Accel.Len(); i++ {
				rec.Accel.X[i], rec.Accel.Y[i], rec.Accel.Z[i] = moved.X[i], moved.Y[i], moved.Z[i]
			}
			al, err := Align(context.Background(), rec.Accel, speedOf(rec.Primary(), 0.05))
			if err != nil {
				t.Fatal(err)
			}
			if !strings.Contains(al.Reason, "moves on the vehicle") && !strings.Contains(al.Reason, "correlate") {
				t.Errorf("seed %d, upright %v: reason %q, correlation %.2f", seed, upright, al.Reason, al.Correlation)
			}
		}
	}
}

// Cancelling ends it.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	tr := draw(t, 1, synth.Receiver{Rate: 10}, false)
	rec := tr.s.Recording(tr.rx, &tr.acc, 1)
	if _, err := Align(ctx, rec.Accel, speedOf(rec.Primary(), 0.05)); err == nil {
		t.Error("no error though cancelled")
	}
}

// Empty and damaged input gives a reason or an error, never a panic.
func TestHostileSamples(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	speed := func(n int) (sp Speed) {
		for i := range n {
			sp.T, sp.V = append(sp.T, float64(i)*0.1), append(sp.V, 3+2*math.Sin(float64(i)*0.05))
		}
		return sp
	}
	long := func(f func(i int) float64) *recording.Accel {
		a := &recording.Accel{}
		for i := range 3000 {
			a.NanoUTC = append(a.NanoUTC, recording.Nano(speed(0).Start)+int64(i)*1e7)
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
		for _, own := range []bool{false, true} {
			if a != nil {
				a.OwnClock = own
			}
			al, err := Align(context.Background(), a, speed(400))
			if err == nil && al.Reason == "" {
				t.Errorf("%s: used", name)
			}
		}
	}
	good := long(func(i int) float64 { return math.Sin(float64(i)) })
	for n := range 12 {
		if al, err := Align(context.Background(), good, speed(n)); err == nil && al.Reason == "" {
			t.Errorf("used beside %d speeds", n)
		}
	}
}

// Garbage of every kind ends in a reason or numbers, never in a panic or NaN in
// what is used.
func TestGarbage(t *testing.T) {
	reasons := map[string]int{}
	for seed := range uint64(150) {
		rng := rand.New(rand.NewPCG(seed, 12))
		a := &recording.Accel{OwnClock: rng.IntN(2) == 0}
		at := int64(0)
		sp := Speed{}
		v := 0.0
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
			a.NanoUTC = append(a.NanoUTC, recording.Nano(sp.Start)+at)
			a.X, a.Y, a.Z = append(a.X, x()), append(a.Y, x()), append(a.Z, 9.8+x())
			if i%10 == 0 && rng.IntN(20) > 0 {
				v += 0.3 * math.Sin(float64(i)/200)
				sp.T, sp.V, sp.U = append(sp.T, float64(at)/1e9), append(sp.V, math.Abs(v)), append(sp.U, 0.05*float64(rng.IntN(3)))
				if rng.IntN(50) == 0 {
					sp.V[len(sp.V)-1] = math.NaN()
				}
			}
		}
		al, err := Align(context.Background(), a, sp)
		if err == nil {
			reasons[strings.Map(func(r rune) rune {
				if r >= '0' && r <= '9' {
					return -1
				}
				return r
			}, al.Reason)]++
		}
		if err == nil && al.Reason == "" {
			for _, x := range []float64{al.Gain.X, al.Gain.U, al.Bias.X, al.Bias.U, al.Offset.X, al.Offset.U, al.Drift.X, al.Drift.U, al.Forward[0], al.Correlation} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Errorf("seed %d: %+v", seed, al)
					break
				}
			}
			al.ForwardSamples(a, sp.Start)
		}
	}
	t.Logf("%v", reasons)
	if len(reasons) < 3 {
		t.Errorf("only %v", reasons)
	}
}

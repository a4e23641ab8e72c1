package session_test

import (
	"bytes"
	"context"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// nmeaOf writes a recording as an NMEA log.
func nmeaOf(t testing.TB, rec *recording.Recording, decimals int) []byte {
	t.Helper()
	var buf bytes.Buffer
	if err := synth.WriteNMEA(&buf, rec, synth.NMEAOptions{Decimals: decimals}); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// fromBytes analyses a log held in memory.
func fromBytes(t testing.TB, log []byte) *session.Result {
	t.Helper()
	res, err := session.Run(context.Background(), []session.Input{{Path: "drive.nmea",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log)), nil }}}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range res.Failed {
		t.Fatal(f)
	}
	return res
}

// closedForm is a motion with a formula and its times as tabulated.
type closedForm struct {
	name    string
	truth   *synth.Truth
	foot    float64            // s to 0.3048 m
	printed map[string]float64 // s from rest
	rolled  map[string]float64 // s with rollout, where tabulated
}

// closedForms are computed checks ("C": evaluated from the formula to all the
// digits shown, not read in a publication).
func closedForms() []closedForm {
	const foot = unit.Rollout
	return []closedForm{
		// Constant acceleration, t = v/a and sqrt(2d/a); table of four, C.
		{"0.3 g", synth.ConstantAcceleration(2.941995, 20), 0.455199,
			map[string]float64{"0-30 mph": 4.558539, "0-60 mph": 9.117079, "0-100 km/h": 9.441817}, nil},
		{"4 m/s2", synth.ConstantAcceleration(4, 18), 0.390384,
			map[string]float64{"0-30 mph": 3.352800, "0-60 mph": 6.705600, "0-100 km/h": 6.944444}, nil},
		{"0.5 g", synth.ConstantAcceleration(4.903325, 16), 0.352596,
			map[string]float64{"0-30 mph": 2.735124, "0-60 mph": 5.470247, "0-100 km/h": 5.665090},
			map[string]float64{"0-30 mph": 2.382528, "0-60 mph": 5.117651, "0-100 km/h": 5.312494, "60 ft": 2.401265, "1/4 mile": 12.462697}},
		{"1 g", synth.ConstantAcceleration(9.80665, 12), 0.249323,
			map[string]float64{"0-30 mph": 1.367562, "0-60 mph": 2.735124, "0-100 km/h": 2.832545}, nil},
		// Constant power, t = (9 m d²/(8P))^(1/3), C.
		{"constant power, 100 W/kg", synth.ConstantPower(100, 15), math.Cbrt(9 * foot * foot / 800),
			map[string]float64{"0-60 mph": 3.597206, "0-100 km/h": 3.858025}, nil},
		{"constant power, 50 W/kg", synth.ConstantPower(50, 18), math.Cbrt(9 * foot * foot / 400),
			map[string]float64{"0-60 mph": 7.194411, "0-100 km/h": 7.716049}, nil},
		// Traction limit of 0.5 g, then 100 W/kg, C.
		{"0.5 g then 100 W/kg", synth.TractionThenPower(4.903325, 100, 17), 0.352596,
			map[string]float64{"0-60 mph": 5.676848, "0-100 km/h": 5.937667}, nil},
		// Constant force and drag, x = vt²/a ln cosh(a t/vt), C.
		{"4 m/s2 with drag", synth.ForceAndDrag(4, 60, 18), 60. / 4 * math.Acosh(math.Exp(4*foot/3600)),
			map[string]float64{"0-60 mph": 7.214923, "0-100 km/h": 7.516140}, nil},
	}
}

// Times with rollout from samples without noise at 25 Hz are the tabulated ones
// within 2 ms. Constant power is met to 20 ms only: its acceleration is unbounded
// at the launch (2.8 m/s after one sample at 100 W/kg), which looks as if the receiver held
// speed at zero, and the first foot passes within two samples. Under a limit of traction, which every vehicle has, constant power is
// met like the others.
func TestClosedForms(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	t.Parallel()
	for _, c := range closedForms() {
		unbounded := strings.HasPrefix(c.name, "constant power")
		within, worst, found := 0.002, 0.0, 0
		if unbounded {
			within = 0.02
		}
		if d := math.Abs(c.truth.Rollout() - c.foot); d > 2e-5 {
			t.Errorf("%s: simulated rollout %.6f s, formula %.6f s", c.name, c.truth.Rollout(), c.foot)
		}
		// The launch falls on a sample and between samples.
		for _, rested := range []float64{5, 5.01, 5.02, 5.033} {
			rec := synth.Single(c.truth, 40, rested).Recording(synth.Receiver{Rate: 25, PositionNoise: 0.01}, nil, 1)
			starts := startsOf(fromBytes(t, nmeaOf(t, rec, 6)))
			if len(starts) != 1 {
				t.Errorf("%s after %.3f s: %d standing starts", c.name, rested, len(starts))
				continue
			}
			found++
			for name, want := range c.withRollout() {
				x, ok := starts[0].Time(name, timing.FromRollout)
				if !ok {
					t.Errorf("%s: no %s", c.name, name)
					continue
				}
				e := x.Seconds - want
				worst = max(worst, math.Abs(e))
				if math.Abs(e) > within || (!unbounded && math.Abs(e) > x.U95) {
					t.Errorf("%s after %.3f s, %s: %.2f ms off, U95 %.2f ms", c.name, rested, name, 1e3*e, 1e3*x.U95)
				}
			}
		}
		if found == 0 {
			t.Errorf("%s: never found", c.name)
		}
		t.Logf("%s: worst %.2f ms", c.name, 1e3*worst)
	}
}

// withRollout are the times counted from the first foot.
func (c *closedForm) withRollout() map[string]float64 {
	out := map[string]float64{}
	for name, x := range c.printed {
		out[name] = x - c.foot
	}
	for name, x := range c.rolled {
		out[name] = x
	}
	return out
}

// thinned keeps some of the fixes of a recording.
func thinned(rec *recording.Recording, keep func(i int) bool) *recording.Recording {
	src := rec.Primary()
	tr := &recording.Track{Source: src.Source, Name: src.Name, SpeedStep: src.SpeedStep, SpeedUnit: src.SpeedUnit, TimeStep: src.TimeStep}
	for i := range src.Len() {
		if keep(i) {
			f := src.At(i)
			tr.Append(&f)
		}
	}
	return &recording.Recording{Name: rec.Name, Format: rec.Format, Clock: rec.Clock, Tracks: []*recording.Track{tr}}
}

// Every second sample is dropped, or each by the toss of a coin: no time changes
// by more than both intervals in more than 5 of 100 runs.
func TestDroppingHalf(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	t.Parallel()
	cases, inside := map[string]int{}, map[string]int{}
	vehicles := synth.Vehicles()
	for seed := range uint64(100) {
		rng := rand.New(rand.NewPCG(seed, 41))
		truth, err := synth.SimulateRun(rng, vehicles[seed%uint64(len(vehicles))], synth.Road{}, synth.Variation{Power: 0.02})
		if err != nil {
			t.Fatal(err)
		}
		rec := synth.Single(truth, 360*rng.Float64(), 5+3*rng.Float64()).
			Recording(synth.Receiver{Rate: 10, Noise: 0.05, PositionNoise: 0.5, Step: 0.001 * unit.Knot}, nil, seed)
		half := [](func(int) bool){
			func(i int) bool { return i%2 == 1 },
			func(i int) bool { return i%2 == 0 },
			func(int) bool { return rng.IntN(2) == 0 },
		}[seed%3]
		all, less := startsOf(fromBytes(t, nmeaOf(t, rec, 0))), startsOf(fromBytes(t, nmeaOf(t, thinned(rec, half), 0)))
		if len(all) != 1 || len(less) != 1 {
			t.Errorf("seed %d: %d and %d standing starts", seed, len(all), len(less))
			continue
		}
		for _, x := range all[0].Times {
			y, ok := less[0].Time(x.Name, x.From)
			if !ok {
				continue
			}
			k := x.Name + " " + string(x.From)
			cases[k]++
			if math.Abs(x.Seconds-y.Seconds) <= x.U95+y.U95 {
				inside[k]++
			}
		}
	}
	if cases["0-30 mph rest"] < 95 || cases["1/4 mile rollout"] < 95 {
		t.Errorf("too few cases: %v", cases)
	}
	for k, n := range cases {
		if 100*inside[k] < 95*n {
			t.Errorf("%s: only %d of %d times within both intervals", k, inside[k], n)
		}
	}
}

package align

import (
	"context"
	"flag"
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

var draws = flag.Int("align.draws", 100, "sessions drawn in the trials of the uncertainties")

// speedOf takes the speeds of a track as they stand.
func speedOf(tr *recording.Track, u float64) Speed {
	sp := Speed{Start: tr.TimeAt(0)}
	for i := range tr.Len() {
		f := tr.At(i)
		sp.T = append(sp.T, f.Time.Sub(sp.Start).Seconds())
		sp.V = append(sp.V, f.Q[recording.Speed])
		sp.U = append(sp.U, u)
	}
	return sp
}

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

// trial draws a sensor and aligns it.
type trial struct {
	rng *rand.Rand
	s   *synth.Session
	rx  synth.Receiver
	acc synth.Accelerometer
	rec *recording.Recording
	al  *accel.Alignment
}

// draw makes a sensor as loggers have it: any mounting, 0.2 m/s² of bias, 3 %
// of scale, vibration of 0.3 m/s², a clock up to 2 s off that drifts.
func draw(t testing.TB, seed uint64, rx synth.Receiver, own bool) *trial {
	rng := rand.New(rand.NewPCG(seed, 4))
	tr := &trial{rng: rng, rx: rx, s: morning(t, seed, 4)}
	tr.acc = synth.Accelerometer{Rate: 100, Mounting: synth.RandomRotation(rng), Noise: 0.3,
		Offset: 2 * rng.Float64(), Drift: 20e-6 * rng.NormFloat64(), Pitch: 0.006 * rng.Float64(), OwnClock: own}
	if own {
		tr.acc.Offset = 600 * (rng.Float64() - 0.5)
	}
	for i := range 3 {
		tr.acc.Bias[i] = 0.2 * rng.NormFloat64()
		tr.acc.Scale[i] = 0.03 * rng.NormFloat64()
	}
	return tr
}

func (tr *trial) align(t testing.TB, seed uint64) *accel.Alignment {
	t.Helper()
	tr.rec = tr.s.Recording(tr.rx, &tr.acc, seed)
	al, err := Align(context.Background(), tr.rec.Accel, speedOf(tr.rec.Primary(), tr.rx.Noise))
	if err != nil {
		t.Fatal(err)
	}
	tr.al = al
	return al
}

// response is what the sensor reads more, on its axes, for one m/s² of the
// vehicle forward and to the left, and atRest what it reads at rest on level
// ground.
func (tr *trial) response() (per, left, atRest [3]float64) {
	m := tr.acc.Mounting
	for i := range 3 {
		k := 1 + tr.acc.Scale[i]
		per[i] = m[3*i] * (1 + unit.GravityStandard*tr.acc.Pitch) * k
		left[i] = m[3*i+1] * k
		atRest[i] = m[3*i+2]*unit.GravityStandard*k + tr.acc.Bias[i]
	}
	return per, left, atRest
}

// errors are the deviations of the alignment from the truth, each over its
// standard uncertainty.
func (tr *trial) errors() map[string]float64 {
	al := tr.al
	per, left, rest := tr.response()
	up := accel.Unit(rest)
	// Forward is level and leaves out what is across.
	forward := accel.Unit(accel.Cross(left, up))
	side := accel.Cross(up, forward)
	// Stamps are t (1 + drift) + offset, t from the session's begin.
	begin := tr.s.Scenario.Begin
	at := al.Middle.Sub(begin).Seconds()
	return map[string]float64{
		"gain":    (al.Gain.X - 1/accel.Dot(al.Forward, per)) / al.Gain.U,
		"bias":    (al.Bias.X - accel.Dot(al.Forward, rest)) / al.Bias.U,
		"offset":  (al.Offset.X + tr.acc.Offset + tr.acc.Drift*at) / al.Offset.U,
		"drift":   (al.Drift.X + tr.acc.Drift) / al.Drift.U,
		"forward": math.Asin(accel.Dot(al.Forward, side)) / al.ForwardU,
		"up":      accel.Angle(al.Up, up) / math.Sqrt2 / al.UpU,
	}
}

// Every uncertainty that is stated is that of the deviations from the truth.
func TestUncertaintiesAreHonest(t *testing.T) {
	for _, c := range []struct {
		name string
		rx   synth.Receiver
		own  bool
		of   int // every draw, or every how manieth
	}{
		{"10 Hz", synth.Receiver{Rate: 10, Noise: 0.05}, false, 1},
		{"10 Hz, own clock", synth.Receiver{Rate: 10, Noise: 0.05}, true, 3},
		{"25 Hz", synth.Receiver{Rate: 25, Noise: 0.02}, false, 3},
		{"1 Hz", synth.Receiver{Rate: 1, Noise: 0.05}, false, 1},
		{"1 Hz, own clock", synth.Receiver{Rate: 1, Noise: 0.05}, true, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			squares, sizes := map[string]float64{}, map[string]float64{}
			worst := map[string]float64{}
			n := 0.0
			for i := 0; i < *draws; i += c.of {
				tr := draw(t, uint64(i)+1, c.rx, c.own)
				al := tr.align(t, uint64(i)+1)
				if al.Reason != "" {
					t.Errorf("draw %d: set aside: %s", i, al.Reason)
					continue
				}
				n++
				for k, e := range tr.errors() {
					squares[k] += e * e
					worst[k] = max(worst[k], math.Abs(e))
				}
				sizes["gain"] += al.Gain.U
				sizes["bias"] += al.Bias.U
				sizes["offset"] += al.Offset.U
				sizes["drift"] += al.Drift.U
				sizes["forward"] += al.ForwardU
				sizes["up"] += al.UpU
				sizes["rest"] += al.Rest
				sizes["moving"] += al.Moving
				sizes["rho"] += al.Rho
			}
			for _, k := range []string{"gain", "bias", "offset", "drift", "forward", "up"} {
				rms := math.Sqrt(squares[k] / n)
				t.Logf("%-8s rms of deviation/u %.2f, worst %.1f, mean u %.3g", k, rms, worst[k], sizes[k]/n)
				// Chance: three standard errors of a root mean square. Gain and
				// direction at 1 Hz are known better than said, by up to half.
				if most := 1.05 + 3/math.Sqrt(2*n); rms > most || rms < 0.5 {
					t.Errorf("%s: rms of deviation/u %.2f, want 0.5 to %.2f", k, rms, most)
				}
			}
			t.Logf("noise of a sample at rest %.3f and under way %.3f m/s², rho %.3f", sizes["rest"]/n, sizes["moving"]/n, sizes["rho"]/n)
			for _, k := range []string{"rest", "moving"} {
				// 0.3 m/s² went in; the gain takes some of it away.
				if v := sizes[k] / n; v < 0.27 || v > 0.32 {
					t.Errorf("noise %s %.3f m/s², 0.3 went in", k, v)
				}
			}
		})
	}
}

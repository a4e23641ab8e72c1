package session_test

import (
	"bytes"
	"context"
	"io"
	"math"
	"testing"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// Stopping distances at a steady deceleration (computed: v²/2a): from 100 km/h at
// 8 m/s² 48.225309 m and at 9 m/s² 42.866941 m, from 60 mph at 8 m/s² 44.965071 m
// and at 9 m/s² 39.968952 m. The mean fully developed deceleration of a steady
// stop is the deceleration. Stops from a little more are corrected to the nominal
// speed.
func TestPublishedStoppingDistances(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	for _, c := range []struct {
		units      string
		v, a, want float64
	}{{"kmh", 100 * unit.KMH, 8, 48.225309}, {"kmh", 100 * unit.KMH, 9, 42.866941}, {"mph", 60 * unit.MPH, 8, 44.965071}, {"mph", 60 * unit.MPH, 9, 39.968952}} {
		s, err := synth.Scenario{HeadingDeg: 70, LatDeg: 52, LonDeg: 1, Brake: c.a, Variation: synth.Variation{Speed: 1.012 * c.v},
			Events: []synth.Event{{Kind: synth.Start, Vehicle: synth.Electric()}, {Kind: synth.Start, Vehicle: synth.Electric()}}}.Simulate(3)
		if err != nil {
			t.Fatal(err)
		}
		var log bytes.Buffer
		if err := synth.WriteNMEA(&log, s.Recording(synth.Receiver{Rate: 25, Noise: 0.02}, nil, 5), synth.NMEAOptions{}); err != nil {
			t.Fatal(err)
		}
		in := session.Input{Path: "stops.nmea", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log.Bytes())), nil }}
		res, err := session.Run(context.Background(), []session.Input{in}, session.Options{All: true, Units: c.units})
		if err != nil || len(res.Failed) > 0 {
			t.Fatal(err, res.Failed)
		}
		n := 0
		for _, r := range res.Runs {
			if r.Kind != segment.Braking {
				continue
			}
			n++
			st := r.Stop
			if math.Abs(st.Nominal-c.v) > 1e-6 {
				t.Errorf("from %.3f m/s: nominal %.3f, want %.3f", st.InitialSpeed, st.Nominal, c.v)
			}
			// The simulated brake comes on within 0.3 s, half of it before the instant
			// that counts.
			if math.Abs(st.Corrected-c.want) > st.CorU95+0.01*c.want {
				t.Errorf("%s at %g m/s²: %.2f ± %.2f m, want %.2f", c.units, c.a, st.Corrected, st.CorU95, c.want)
			}
			if math.Abs(st.MFDD-c.a) > st.MFDDU95+0.01*c.a {
				t.Errorf("%s: mean fully developed deceleration %.3f ± %.3f m/s², want %g", c.units, st.MFDD, st.MFDDU95, c.a)
			}
		}
		if n != 2 {
			t.Errorf("%d stops, 2 driven", n)
		}
	}
}

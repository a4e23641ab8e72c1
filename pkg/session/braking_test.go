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

// A simulated stop at a steady 6 m/s² against its truth: distance as driven, the
// distance corrected to the nominal speed by d·(v_nominal/v)² and the mean fully
// developed deceleration of UN R13 Annex 4, which a steady stop has throughout.
func TestBrakingAgainstTruth(t *testing.T) {
	var ev []synth.Event
	for range 6 {
		ev = append(ev, synth.Event{Kind: synth.Start, Vehicle: synth.Electric()})
	}
	s, err := synth.Scenario{HeadingDeg: 70, LatDeg: 52, LonDeg: 1, Events: ev, Brake: 6}.Simulate(11)
	if err != nil {
		t.Fatal(err)
	}
	var log bytes.Buffer
	if err := synth.WriteNMEA(&log, s.Recording(synth.Receiver{Rate: 10, Noise: 0.03}, nil, 5), synth.NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	in := session.Input{Path: "stops.nmea", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log.Bytes())), nil }}
	res, err := session.Run(context.Background(), []session.Input{in}, session.Options{All: true})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	var stops []*session.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.Braking {
			stops = append(stops, r)
		}
	}
	if len(stops) != len(s.Runs) {
		t.Fatalf("%d stops found, %d driven", len(stops), len(s.Runs))
	}
	in95 := 0
	for i, r := range stops {
		truth, st := s.Runs[i].Braking, r.Stop
		// The truth from the instant at which the vehicle had the speed that the
		// stop is measured from.
		at := truth.Start
		for s.Motion.At(at).V > st.InitialSpeed {
			at += 0.001
		}
		want := truth.Distance - (s.Motion.At(at).S - s.Motion.At(truth.Start).S)
		if math.Abs(st.Distance-want) > st.U95 {
			t.Errorf("stop %d: %.2f ±%.2f m from %.2f m/s, truth %.2f m", i, st.Distance, st.U95, st.InitialSpeed, want)
		}
		if math.Abs(st.MFDD-6) > 0.15 {
			t.Errorf("stop %d: mean fully developed deceleration %.3f ±%.3f m/s², truth 6", i, st.MFDD, st.MFDDU95)
		}
		if math.Abs(st.MFDD-6) <= st.MFDDU95 {
			in95++
		}
		n := st.Nominal / (10 * unit.MPH)
		if k := st.Nominal / st.InitialSpeed; math.Abs(n-math.Round(n)) > 1e-9 || math.Abs(st.Corrected-st.Distance*k*k) > 1e-9 {
			t.Errorf("stop %d: corrected %.3f m to %.3f m/s", i, st.Corrected, st.Nominal)
		}
	}
	if in95 < 4 {
		t.Errorf("only %d of 6 intervals of the deceleration hold the truth", in95)
	}
}

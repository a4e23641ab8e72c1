package explain_test

import (
	"bytes"
	"context"
	"flag"
	"io"
	"math"
	"testing"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

var lossSessions = flag.Int("loss.sessions", 0, "sessions for the loss alone, 0 for the usual few")

// The driveline loss of one of two modes is recovered within its interval.
func TestLossIsRecovered(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	sessions := 4
	if *full {
		sessions = 500
	}
	if *lossSessions > 0 {
		sessions = *lossSessions
	}
	var n, in, gearIn, gearN, points, pointsIn float64
	var mean, u float64
	for i := range sessions {
		grade := 0.01
		if i%2 == 1 {
			grade = -0.01
		}
		res, sh := explained(t, uint64(i), grade, 4)
		cs, _ := explain.ConditionsOf(res, sh)
		tr := explain.TraceOf(context.Background(), res, cs, sh)
		if len(tr.Bands) != 1 {
			t.Fatalf("%d bands of two modes", len(tr.Bands))
		}
		b := tr.Bands[0]
		want, ratio := 100*(1-1/0.97), 100*(1/0.97-1)
		if b.A == "four" {
			want, ratio = 3, -3
		}
		n++
		mean += (b.Loss.X - want) / float64(sessions)
		u += b.Loss.U / float64(sessions)
		if math.Abs(b.Loss.X-want) <= b.Loss.U95() {
			in++
		}
		if b.LossBasis != explain.Assumed || b.LossHow == "" {
			t.Errorf("loss %q by %q: the sheet does not say what power the modes have", b.LossBasis, b.LossHow)
		}
		if !math.IsNaN(b.Gearing.X) {
			gearN++
			if math.Abs(b.Gearing.X) <= b.Gearing.U95() {
				gearIn++
			}
		}
		for _, q := range b.Points {
			points++
			if math.Abs(q.Percent.X-ratio) <= q.Percent.U95() {
				pointsIn++
			}
		}
	}
	t.Logf("loss: %.1f %% of %.0f in their interval, mean error %.2f, mean u %.2f points; gearing: %.1f %% of %.0f; band: %.1f %% of %.0f points",
		100*in/n, n, mean, u, 100*gearIn/gearN, gearN, 100*pointsIn/points, points)
	if in < 0.7*n || math.Abs(mean) > 0.8 {
		t.Errorf("loss: %.0f of %.0f in their interval, mean error %.2f points", in, n, mean)
	}
	if sessions == 500 && (in < 0.93*n || in > 0.97*n) {
		t.Errorf("loss: %.1f %% of %.0f in their interval, want 93 to 97 %%", 100*in/n, n)
	}
}

// A mode geared 15 % shorter with 3 % driveline loss: the gain is told from the
// loss.
func TestGearingIsToldFromLoss(t *testing.T) {
	var n, lossIn, gainIn, loss, gain float64
	for seed := range uint64(2) {
		var inputs []session.Input
		for i, mode := range []string{"short", "long"} {
			v := synth.CVT()
			v.Converter = 0
			if mode == "short" {
				v.Force, v.Loss = 1.15*v.Force, 0.03
			}
			var ev []synth.Event
			for k := range 6 {
				ev = append(ev, synth.Event{Kind: synth.Start, Mode: mode, Vehicle: v, Reverse: k%2 == 1})
			}
			s, err := synth.Scenario{HeadingDeg: 40, LatDeg: 47, LonDeg: -20, Road: synth.Road{Grade: 0.005},
				Variation: synth.Variation{Power: 0.006}, Events: ev}.Simulate(100 + 2*seed + uint64(i))
			if err != nil {
				t.Fatal(err)
			}
			var b bytes.Buffer
			rec := s.Recording(synth.Receiver{Noise: 0.05, Step: 0.001 * unit.Knot, PositionNoise: 0.8, Velocity: true}, nil, 2*seed+uint64(i))
			if err := synth.WriteFIT(&b, rec, synth.FITOptions{}); err != nil {
				t.Fatal(err)
			}
			inputs = append(inputs, session.Input{Path: mode + ".fit", Mode: mode,
				Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }})
		}
		v := synth.CVT()
		still, north := 0.0, 0.0
		sh := &sheet.Sheet{Modes: []sheet.Mode{{Name: "short"}, {Name: "long"}},
			Vehicle:    sheet.Vehicle{Mass: v.Mass, MassFactor: v.Inertia, DragArea: v.DragArea, RollingResistance: v.Rolling},
			Conditions: sheet.Conditions{Wind: &still, WindFrom: &north}}
		res, err := session.Run(context.Background(), inputs, session.Options{Sheet: sh})
		if err != nil || len(res.Failed) > 0 {
			t.Fatal(err, res.Failed)
		}
		tr := traced(res, sh)
		b := tr.Bands[0]
		if b.A != "short" || math.IsNaN(b.Loss.X) || math.IsNaN(b.Gearing.X) {
			t.Fatalf("%s: loss %v %q, gearing %v %q", b.A, b.Loss, b.LossHow, b.Gearing, b.GearingHow)
		}
		n++
		loss, gain = loss+b.Loss.X, gain+b.Gearing.X
		if math.Abs(b.Loss.X-3) <= b.Loss.U95() {
			lossIn++
		}
		if math.Abs(b.Gearing.X-15) <= b.Gearing.U95() {
			gainIn++
		}
		t.Logf("loss %.2f ± %.2f, gearing %.2f ± %.2f", b.Loss.X, b.Loss.U95(), b.Gearing.X, b.Gearing.U95())
	}
	if lossIn < n-1 || gainIn < n-1 || math.Abs(loss/n-3) > 1 || math.Abs(gain/n-15) > 1.5 {
		t.Errorf("of %.0f: loss in %.0f, mean %.2f %%, want 3; gearing in %.0f, mean %.2f %%, want 15", n, lossIn, loss/n, gainIn, gain/n)
	}
}

package explain_test

import (
	"bytes"
	"context"
	"flag"
	"io"
	"math"
	"testing"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

var full = flag.Bool("explainfull", false, "run 500 sessions where a few do")

// explained simulates two modes, one with 3 % driveline loss, each driven twice
// both ways on a grade and in a wind, and analyses their logs.
func explained(t *testing.T, seed uint64, grade, wind float64) (*session.Result, *sheet.Sheet) {
	t.Helper()
	var inputs []session.Input
	for i, loss := range []float64{0, 0.03} {
		v := synth.Van("full")
		v.Loss = loss
		mode := []string{"two", "four"}[i]
		var ev []synth.Event
		for k := range 4 {
			ev = append(ev, synth.Event{Kind: synth.Start, Mode: mode, Vehicle: v, Reverse: k%2 == 1})
		}
		s, err := synth.Scenario{HeadingDeg: 40, LatDeg: 47, LonDeg: -20, Altitude: 60,
			Road: synth.Road{Grade: grade, HeadWind: wind}, Variation: synth.Variation{Power: 0.006}, Events: ev}.Simulate(2*seed + uint64(i))
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		rec := s.Recording(synth.Receiver{Noise: 0.05, Step: 0.001 * unit.Knot, PositionNoise: 0.8, Velocity: true}, nil, 2*seed+uint64(i))
		if err := synth.WriteFIT(&b, rec, synth.FITOptions{}); err != nil {
			t.Fatal(err)
		}
		data := b.Bytes()
		inputs = append(inputs, session.Input{Path: mode + ".fit", Mode: mode,
			Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }})
	}
	res, err := session.Run(context.Background(), inputs, session.Options{})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	v := synth.Van("full")
	from := 40.0
	rho := 288.15
	p := 101325.0
	return res, &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: v.Mass, MassFactor: v.Inertia, DragArea: v.DragArea, RollingResistance: v.Rolling},
		Conditions: sheet.Conditions{Wind: &wind, WindFrom: &from, Temperature: &rho, Pressure: &p}}
}

func TestGradeAndLossAreRecovered(t *testing.T) {
	sessions := 3
	if *full {
		sessions = 500
	}
	var gradeIn, gradeN, lossIn, lossN int
	var gradeErr, lossErr, lossU float64
	for i := range sessions {
		grade := 0.01
		if i%2 == 1 {
			grade = -0.01
		}
		res, sh := explained(t, uint64(i), grade, 4)
		cs, _ := explain.ConditionsOf(res, sh)
		for _, c := range cs {
			want := grade * math.Cos((c.Run.HeadingDeg-40)*math.Pi/180)
			if c.GradeFrom == "" {
				t.Fatal("no grade from a log with vertical velocity")
			}
			gradeN++
			gradeErr += math.Abs(c.Grade.X - want)
			if math.Abs(c.Grade.X-want) <= c.Grade.U95() {
				gradeIn++
			}
		}
		for _, b := range explain.TraceOf(t.Context(), nil, cs, sh).Bands {
			for _, p := range b.Parts {
				if p.From < 6 { // the whole range below is used by the torque limit
					continue
				}
				lossN++
				d := p.Percent.X - 100*(1/0.97-1)
				if b.A == "four" {
					d = p.Percent.X + 3
				}
				lossErr += d
				lossU += p.Percent.U
				if math.Abs(d) <= p.Percent.U95() {
					lossIn++
				}
			}
		}
	}
	if gradeN == 0 || lossN == 0 {
		t.Fatalf("%d grades, %d losses", gradeN, lossN)
	}
	t.Logf("grade: %.1f %% of %d in their interval, mean error %.4f %%; loss: %.1f %% of %d, mean error %.2f, mean u %.2f points", 100*float64(gradeIn)/float64(gradeN), gradeN,
		100*gradeErr/float64(gradeN), 100*float64(lossIn)/float64(lossN), lossN, lossErr/float64(lossN), lossU/float64(lossN))
	if float64(gradeIn) < 0.8*float64(gradeN) {
		t.Errorf("grade: only %d of %d in their interval", gradeIn, gradeN)
	}
	if math.Abs(lossErr/float64(lossN)) > 1.5 {
		t.Errorf("loss: mean error %.2f points", lossErr/float64(lossN))
	}
}

// Corrected for grade and wind, a run both ways takes the same time.
func TestCorrectedTimesAgreeBothWays(t *testing.T) {
	res, sh := explained(t, 77, 0.01, 4)
	cs, _ := explain.ConditionsOf(res, sh)
	var raw, fixed [2]float64
	for _, c := range cs {
		for _, e := range c.Effects {
			if c.Run.Mode == "two" && e.Name == "0-60 mph" && e.From == timing.FromRollout {
				k := 0
				if math.Cos((c.Run.HeadingDeg-40)*math.Pi/180) < 0 {
					k = 1
				}
				raw[k] += e.Headline.X / 2
				fixed[k] += e.Corrected.X / 2
			}
		}
	}
	if a, b := math.Abs(raw[0]-raw[1]), math.Abs(fixed[0]-fixed[1]); a < 0.4 || b > 0.3*a {
		t.Errorf("0-60 both ways: measured %.3f and %.3f s, corrected %.3f and %.3f s", raw[0], raw[1], fixed[0], fixed[1])
	}
}

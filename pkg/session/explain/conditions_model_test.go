package explain_test

import (
	"bytes"
	"context"
	"io"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/vehicle/air"
)

// alone is one condition by itself, known exactly.
type alone struct {
	name        string
	grade, wind float64 // rise over run, m/s
	thin        bool    // air of 965 hPa and 30 °C, else the reference air
	breathes    bool    // the engine's power follows it
}

// One condition at a time, seven kinds of vehicle: the effect in seconds is within
// its interval of the true one. This is what the tenth for the model rests on, and
// the doubt about power where the sheet does not tell the grip.
func TestEffectsOfSevenVehicles(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	for _, c := range []alone{{name: "climb", grade: 0.01}, {name: "fall", grade: -0.01}, {name: "head wind", wind: 4},
		{name: "tail wind", wind: -4}, {name: "thin air", thin: true}, {name: "power", thin: true, breathes: true}} {
		in, n, err, size := 0, 0, 0.0, 0.0 // every second vehicle without the flag
		for i, v := range synth.Vehicles() {
			if i%2 == 1 && !*full {
				continue
			}
			run, twin := c.drive(t, v, uint64(i))
			cs, _ := explain.ConditionsOf(run.res, c.sheet(v))
			if len(cs) != 1 {
				t.Fatalf("%s, %s: %d runs", c.name, v.Name, len(cs))
			}
			for _, e := range cs[0].Effects {
				bare, ok := twinTime(twin, e)
				if !ok || e.From != timing.FromRollout {
					continue
				}
				driven, _ := twinTime(run.truth, e)
				d := e.Headline.X - e.Corrected.X - (driven - bare)
				u := math.Sqrt(math.Max(0, e.Corrected.U*e.Corrected.U-e.Headline.U*e.Headline.U))
				n, err, size = n+1, err+d*d, size+(driven-bare)*(driven-bare)
				if math.Abs(d) <= 1.96*u {
					in++
				}
			}
		}
		t.Logf("%-10s %d of %d in their interval, rms error %.4f s = %.0f %% of the effects", c.name, in, n, math.Sqrt(err/float64(n)), 100*math.Sqrt(err/size))
		if float64(in) < 0.85*float64(n) {
			t.Errorf("%s: %d of %d in their interval", c.name, in, n)
		}
	}
}

// witnessed is a run's truth and what its log gave.
type witnessed struct {
	truth *synth.Truth
	res   *session.Result
}

func (c alone) air() (t, p, h float64) {
	if c.thin {
		return trialTemperature, trialPressure, trialHumidity
	}
	return 298.15, 99000, 0
}

// drive simulates one run and its twin without the condition. The log has no height.
func (c alone) drive(t *testing.T, v synth.Vehicle, seed uint64) (witnessed, *synth.Truth) {
	t.Helper()
	tc, p, h := c.air()
	weak := v
	if c.breathes {
		f, err := air.PowerFactor(air.NaturallyAspirated, tc, p-air.VapourPressure(tc, h))
		if err != nil {
			t.Fatal(err)
		}
		weak.Force, weak.Power = v.Force/f, v.Power/f
	}
	draw := func() *rand.Rand { return rand.New(rand.NewPCG(seed, 3)) }
	run, err := synth.SimulateRun(draw(), weak, synth.Road{Grade: c.grade, HeadWind: c.wind, AirDensity: air.Density(tc, p, h)}, synth.Variation{})
	if err != nil {
		t.Fatal(err)
	}
	twin, err := synth.SimulateRun(draw(), v, synth.Road{AirDensity: explain.ReferenceDensity}, synth.Variation{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := synth.Scenario{HeadingDeg: 40, Events: []synth.Event{{Kind: synth.Start, Truth: run}}}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := synth.WriteFIT(&b, s.Recording(synth.Receiver{Rate: 25, Noise: 0.01, NoPosition: true}, nil, seed), synth.FITOptions{}); err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), []session.Input{{Path: "one.fit", Mode: "one",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}}, session.Options{})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	return witnessed{run, res}, twin
}

func (c alone) sheet(v synth.Vehicle) *sheet.Sheet {
	tc, p, h := c.air()
	along, grade, wind := 40.0, c.grade, math.Abs(c.wind)
	from := along
	if c.wind < 0 {
		from += 180
	}
	sh := &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: v.Mass, MassFactor: v.Inertia, DragArea: v.DragArea, RollingResistance: v.Rolling},
		Conditions: sheet.Conditions{Temperature: &tc, Pressure: &p, Humidity: &h, Grade: &grade, GradeHeading: &along, Wind: &wind, WindFrom: &from}}
	if c.breathes {
		sh.Vehicle.Engine = "naturally aspirated"
	}
	return sh
}

// Where the runs cannot tell the wind, it is said why, and no effect is made up.
func TestWindIsNotAlwaysToBeTold(t *testing.T) {
	for _, c := range []struct {
		name string
		w    weathered
		want string
	}{
		{"one way only", weathered{wind: 4, ways: []bool{false, false}, velocity: true}, "no mode was driven both ways"},
		{"no height", weathered{wind: 4, ways: []bool{false, true}}, "the grade is not known"},
	} {
		res, _ := c.w.drive(t, 7)
		cs, notes := explain.ConditionsOf(res, c.w.noted(7))
		text := strings.Join(notes, " ")
		if !strings.Contains(text, "not to be told") || !strings.Contains(text, c.want) {
			t.Errorf("%s: %s", c.name, text)
		}
		for _, r := range cs {
			if !math.IsNaN(r.HeadWind.X) || r.HeadWindFrom != "" {
				t.Errorf("%s: a head wind of %.2f m/s", c.name, r.HeadWind.X)
			}
			for _, e := range r.Effects {
				if !math.IsNaN(e.HeadWind.X) || math.IsNaN(e.Corrected.X) {
					t.Errorf("%s: %s costs %v, corrected %v", c.name, e.Name, e.HeadWind, e.Corrected)
				}
			}
		}
	}
	// Two runs are enough, with the scatter from run to run assumed.
	w := weathered{wind: 4, ways: []bool{false, true}, velocity: true}
	res, _ := w.drive(t, 8)
	cs, notes := explain.ConditionsOf(res, w.noted(8))
	if text := strings.Join(notes, " "); !strings.Contains(text, "scatter of 1 % of the force from run to run assumed") {
		t.Errorf("two runs: %s", text)
	}
	if h := cs[0].HeadWind; math.Abs(h.X-4) > h.U95() || h.U95() < 0.8 {
		t.Errorf("two runs: a head wind of %.2f ±%.2f m/s, want 4", h.X, h.U95())
	}
}

// Too slow for drag to show anything.
func TestWindOfSlowRuns(t *testing.T) {
	var ev []synth.Event
	for k := range 2 {
		run, err := synth.SimulateRun(rand.New(rand.NewPCG(3, uint64(k))), synth.Van("full"), synth.Road{}, synth.Variation{Speed: 13.6})
		if err != nil {
			t.Fatal(err)
		}
		ev = append(ev, synth.Event{Kind: synth.Start, Mode: "one", Truth: run, Reverse: k == 1})
	}
	s, err := synth.Scenario{HeadingDeg: 40, Events: ev}.Simulate(3)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := synth.WriteFIT(&b, s.Recording(synth.Receiver{Noise: 0.05, Velocity: true}, nil, 3), synth.FITOptions{}); err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), []session.Input{{Path: "one.fit", Mode: "one",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	_, notes := explain.ConditionsOf(res, &sheet.Sheet{})
	if text := strings.Join(notes, " "); !strings.Contains(text, "too slow for drag") {
		t.Error(text)
	}
}

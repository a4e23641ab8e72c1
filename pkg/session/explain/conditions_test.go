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
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
)

// Air of the trials: warm and thin, so that its effect shows.
const (
	trialTemperature = 303.15
	trialPressure    = 96500.0
	trialHumidity    = 0.4
)

// weathered is a session of known road and air with what each of its runs would
// have taken on the level, in still air and in the reference air.
type weathered struct {
	grade, wind float64 // rise over run, m/s
	ways        []bool  // of the runs, false for the scenario's direction
	velocity    bool    // the receiver logs vertical velocity
	altitude    bool    // and positions with altitude
}

// drive simulates and analyses the session. The engine is naturally aspirated and
// gives less in this air. The second result is each run twin: the same driver and
// vehicle without the conditions.
func (w weathered) drive(t *testing.T, seed uint64) (*session.Result, []*synth.Truth) {
	t.Helper()
	var twins []*synth.Truth
	var ev []synth.Event
	v := synth.Van("full")
	dry := trialPressure - air.VapourPressure(trialTemperature, trialHumidity)
	f, err := air.PowerFactor(air.NaturallyAspirated, trialTemperature, dry)
	if err != nil {
		t.Fatal(err)
	}
	weak := v
	weak.Force, weak.Power = v.Force/f, v.Power/f
	vary := synth.Variation{Power: 0.006}
	for i, back := range w.ways {
		road := synth.Road{Grade: w.grade, HeadWind: w.wind, AirDensity: air.Density(trialTemperature, trialPressure, trialHumidity)}
		if back {
			road.Grade, road.HeadWind = -road.Grade, -road.HeadWind
		}
		draw := func() *rand.Rand { return rand.New(rand.NewPCG(seed, uint64(i))) }
		run, err := synth.SimulateRun(draw(), weak, road, vary)
		if err != nil {
			t.Fatal(err)
		}
		twin, err := synth.SimulateRun(draw(), v, synth.Road{AirDensity: explain.ReferenceDensity}, vary)
		if err != nil {
			t.Fatal(err)
		}
		twins = append(twins, twin)
		ev = append(ev, synth.Event{Kind: synth.Start, Mode: "one", Truth: run, Reverse: back})
	}
	s, err := synth.Scenario{HeadingDeg: 40, LatDeg: 47, LonDeg: -20, Altitude: 60,
		Road: synth.Road{Grade: w.grade, HeadWind: w.wind}, Events: ev}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	rx := synth.Receiver{Noise: 0.05, Step: 0.001 * unit.Knot, PositionNoise: 0.8, Velocity: w.velocity, NoPosition: !w.altitude}
	if err := synth.WriteFIT(&b, s.Recording(rx, nil, seed), synth.FITOptions{}); err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), []session.Input{{Path: "one.fit", Mode: "one",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}}, session.Options{})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	return res, twins
}

// noted is the sheet a tester would write: every value off by its uncertainty, grip
// to spare.
func (w weathered) noted(seed uint64) *sheet.Sheet {
	rng := rand.New(rand.NewPCG(seed, 99))
	tc, p, h := trialTemperature+rng.NormFloat64(), trialPressure+100*rng.NormFloat64(), trialHumidity+0.05*rng.NormFloat64()
	v := synth.Van("full")
	return &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: v.Mass, MassFactor: v.Inertia, Engine: "naturally aspirated",
		DragArea: v.DragArea * (1 + 0.05*rng.NormFloat64()), RollingResistance: v.Rolling,
		TyreRadius: 0.35, FrontMass: 1140, RearMass: 1140, Friction: 0.9, Driveline: sheet.Driveline{Driven: "all"}},
		Conditions: sheet.Conditions{Temperature: &tc, Pressure: &p, Humidity: &h}}
}

// tally counts how often an interval holds the truth.
type tally struct {
	in, n         int
	err, sq, half float64
}

func (c *tally) add(diff, u95 float64) {
	c.n++
	c.err, c.sq, c.half = c.err+diff, c.sq+diff*diff, c.half+u95
	if math.Abs(diff) <= u95 {
		c.in++
	}
}

func (c *tally) log(t *testing.T, what string, scale float64, unit string) {
	n := float64(c.n)
	t.Logf("%-28s %5.1f %% of %d in their interval; mean error %+.4f, rms %.4f, half-width %.4f %s",
		what, 100*float64(c.in)/n, c.n, scale*c.err/n, scale*math.Sqrt(c.sq/n), scale*c.half/n, unit)
}

// judge holds a coverage to 93 to 97 % where there are enough trials, and else to
// what chance leaves.
func (c *tally) judge(t *testing.T, what string, scale float64, unit string) {
	t.Helper()
	c.log(t, what, scale, unit)
	share := float64(c.in) / float64(c.n)
	lo, hi := 0.93, 0.97
	if what == "grade from altitude" {
		hi = 0.99 // its noise is taken to wander without end, which is on the safe side
	}
	if *full && (share < lo || share > hi) || share < 0.75 {
		t.Errorf("%s: %d of %d in their interval", what, c.in, c.n)
	}
}

var bothWays = []bool{false, true, true, false, false, true, true, false}

// Grade from vertical velocity, and from altitude, wind from the runs both ways,
// and the times corrected for grade, wind, air and power.
func TestConditionsAreRecovered(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	sessions := 4
	if *full {
		sessions = 500
	}
	var up, alt, wind tally
	times := map[string]*tally{"0-30 mph": {}, "0-60 mph": {}, "1/4 mile": {}}
	for i := range sessions {
		w := weathered{grade: 0.01, wind: 4, ways: bothWays, altitude: true, velocity: i%2 == 0}
		if i%4 > 1 {
			w.grade = -0.01
		}
		seed := uint64(1000 + i)
		res, twins := w.drive(t, seed)
		cs, notes := explain.ConditionsOf(res, w.noted(seed))
		if len(cs) != len(twins) {
			t.Fatalf("session %d: %d runs, want %d", i, len(cs), len(twins))
		}
		for k, c := range cs {
			cos := math.Cos((c.Run.HeadingDeg - 40) * math.Pi / 180)
			d := c.Grade.X - w.grade*cos
			if c.GradeFrom == "vertical velocity" {
				up.add(d, c.Grade.U95())
			} else {
				alt.add(d, c.Grade.U95())
			}
			if c.HeadWindFrom != explain.FromRuns {
				t.Fatalf("session %d: no wind: %s", i, strings.Join(notes, " "))
			}
			if k == 0 { // the others have the same
				wind.add((c.HeadWind.X-w.wind*cos)*cos, c.HeadWind.U95())
			}
			for _, e := range c.Effects {
				if x, ok := twinTime(twins[k], e); ok && times[e.Name] != nil && e.From == timing.FromRollout {
					times[e.Name].add(e.Corrected.X-x, e.Corrected.U95())
				}
			}
		}
	}
	up.judge(t, "grade from vertical velocity", 100, "%")
	alt.judge(t, "grade from altitude", 100, "%")
	wind.judge(t, "wind", 1, "m/s")
	for name, c := range times {
		c.log(t, "corrected "+name, 1, "s")
		if share := float64(c.in) / float64(c.n); share < 0.8 {
			t.Errorf("corrected %s: %d of %d in their interval", name, c.in, c.n)
		}
	}
}

// twinTime is the true time without the conditions.
func twinTime(tr *synth.Truth, e explain.Effect) (float64, bool) {
	rollout := e.From == timing.FromRollout
	switch e.Name {
	case "0-30 mph":
		return tr.TimeToSpeed(30*unit.MPH, rollout)
	case "0-60 mph":
		return tr.TimeToSpeed(60*unit.MPH, rollout)
	case "1/4 mile":
		return tr.TimeToDistance(unit.Mile/4, rollout)
	}
	return 0, false
}

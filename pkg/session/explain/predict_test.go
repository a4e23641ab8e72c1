package explain

import (
	"context"
	"math"
	"testing"

	"fromrest/pkg/session"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// rigSheet is an invented van with a manual gearbox.
func rigSheet() *sheet.Sheet {
	level := 0.0
	return &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: 2100, TyreRadius: 0.34, Gears: []float64{3.9, 2.3, 1.5, 1.1, 0.85}, FinalDrive: 4.1,
		RatedPower: 96e3, PowerSpeed: 3600 * math.Pi / 30, RatedTorque: 330, TorqueSpeed: 2000 * math.Pi / 30, LimitSpeed: 4200 * math.Pi / 30,
		ShiftTime: 0.5, DragArea: 1.4, RollingResistance: 0.012, FrontMass: 1100, RearMass: 1000, Wheelbase: 3.2, CGHeight: 0.75, Friction: 0.9,
		Driveline: sheet.Driveline{Driven: "rear", Efficiency: 0.9}}, Conditions: sheet.Conditions{Grade: &level, GradeHeading: &level, Wind: &level, WindFrom: &level},
		Modes: []sheet.Mode{{Name: "m", PowerShare: 1}}}
}

// timedPrediction is a predicted run as if a log had shown it.
func timedPrediction(t *testing.T, sh *sheet.Sheet) (*Prediction, RunConditions) {
	t.Helper()
	p, err := Predict(context.Background(), sh, "m")
	if err != nil || p.Run == nil {
		t.Fatal(err, p)
	}
	r := &session.TimedRun{ID: "a#1", Kind: segment.StandingStart, Mode: "m", Log: &session.Log{Quality: session.Quality{Rate: 50}}, HeadingDeg: 0, Counted: true}
	tr := motion.Trace{}
	for i, k := 0.0, 0; k < len(p.Run.T); k++ {
		if p.Run.T[k] < i {
			continue
		}
		i += 0.02
		tr.T, tr.S, tr.V, tr.A = append(tr.T, p.Run.T[k]), append(tr.S, p.Run.S[k]), append(tr.V, p.Run.V[k]), append(tr.A, p.Run.A[k])
		tr.SS, tr.SV, tr.SA = append(tr.SS, 0.01), append(tr.SV, 0.005), append(tr.SA, 0.05)
		r.MaxSpeed = math.Max(r.MaxSpeed, p.Run.V[k])
	}
	r.Trace = tr
	c := RunConditions{Run: r, HeadWind: nothing, Grade: nothing, CrossWind: math.NaN()}
	c.fromSheet(sh)
	return p, c
}

// From the trace of a predicted run come its shifts, its gears, the force of the
// engine at the wheels in each gear and the work it did.
func TestTraceOfAPredictedRun(t *testing.T) {
	sh := rigSheet()
	p, c := timedPrediction(t, sh)
	out := TraceOf(context.Background(), nil, []RunConditions{c}, sh)
	run := out.Runs[0]
	if len(run.Shifts) != len(p.Run.Shifts) || len(run.Shifts) < 2 {
		t.Fatalf("%d shifts found, %d predicted; %q", len(run.Shifts), len(p.Run.Shifts), run.NoShifts)
	}
	for i, s := range run.Shifts {
		w := p.Run.Shifts[i]
		// The first step in force is that of other pairs as well, to the accuracy of
		// a torque curve: its gears are counted.
		if s.From != w.From || s.To != w.To || i > 0 && s.GearBasis != Modelled {
			t.Errorf("shift %d: %d to %d (%q), want %d to %d; step %.3f ± %.3f", i, s.From, s.To, s.GearBasis, w.From, w.To, s.Step.X, s.Step.U95())
		}
		if math.Abs(s.Time.X-w.Time-0.25) > 0.03 || math.Abs(s.Duration.X-0.5) > s.Duration.U95()+0.01 {
			t.Errorf("shift %d: %.3f s for %.3f s, want %.3f s for 0.5 s", i, s.Time.X, s.Duration.X, w.Time+0.25)
		}
	}
	at := func(col []float64, v float64) float64 {
		for k := range p.Run.V {
			if p.Run.V[k] >= v {
				return col[k]
			}
		}
		return math.NaN()
	}
	var work, want float64
	for _, q := range run.Force {
		drive := at(p.Run.Drive, q.Speed)
		if !q.InShift && q.Speed > 3 && math.Abs(q.Force.X-drive) > 0.015*drive {
			t.Errorf("%.1f m/s in gear %d: %.0f N, the engine gives %.0f N", q.Speed, q.Gear, q.Force.X, drive)
		}
		if ds := at(p.Run.S, q.Speed+0.5) - at(p.Run.S, q.Speed-0.5); !q.InShift && q.Speed > 3 {
			work, want = work+q.Force.X*ds, want+drive*ds
		}
	}
	if math.Abs(work-want) > 0.005*want {
		t.Errorf("work %.0f J, the engine did %.0f J", work, want)
	}
	if g := run.Grip; g.Basis != Modelled || !(g.Peak.X > 0.3 && g.Peak.X <= 1.02) || math.Abs(g.Available-p.Grip.Thrust) > 1 {
		t.Errorf("grip: %.2f of %.0f N (%s), want of %.0f N", g.Peak.X, g.Available, g.Basis, p.Grip.Thrust)
	}
}

// An upshift is not named by its step where the step fits none of the pairs.
func TestGearsNeedTheirStep(t *testing.T) {
	sh := rigSheet()
	_, c := timedPrediction(t, sh)
	sh.Vehicle.Gears = []float64{3.9, 3.7, 3.5, 3.3, 3.1} // a wrong sheet
	for _, s := range TraceOf(context.Background(), nil, []RunConditions{c}, sh).Runs[0].Shifts {
		if s.GearBasis == Modelled {
			t.Errorf("%d to %d at %.1f m/s is modelled by ratios that the run did not have", s.From, s.To, s.Speed.X)
		}
	}
}

// Gravity along a grade that the sheet gives is part of the force.
func TestForceHoldsTheGrade(t *testing.T) {
	sh := rigSheet()
	_, c := timedPrediction(t, sh)
	l := RoadLoadOf(nil, sh)
	flat := c.load(&l, 10).X
	c.Grade.X = 0.05
	if d := c.load(&l, 10).X - flat; math.Abs(d-unit.GravityStandard*0.05) > 0.002 {
		t.Errorf("a grade of 5 %% adds %.4f m/s²", d)
	}
}

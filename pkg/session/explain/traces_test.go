package explain_test

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/session/explain"
	"fromrest/pkg/testlog"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

func traced(res *session.Result, sh *sheet.Sheet) *explain.Traced {
	cs, _ := explain.ConditionsOf(res, sh)
	return explain.TraceOf(context.Background(), res, cs, sh)
}

// vanSheet is what a tester knows of the simulated van.
func vanSheet() *sheet.Sheet {
	v := synth.Van("full")
	level, toward := 0.0, 40.0
	return &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: v.Mass, MassFactor: v.Inertia, DragArea: v.DragArea, RollingResistance: v.Rolling,
		Friction: 0.9, FrontMass: 1300, RearMass: v.Mass - 1300, Wheelbase: 3.3, CGHeight: 0.8, TyreRadius: 0.34,
		Driveline: sheet.Driveline{Driven: "rear", Rear: "open"}},
		Conditions: sheet.Conditions{Grade: &level, GradeHeading: &toward}}
}

// trueForce is the simulated force at the wheels at a speed in N.
func trueForce(tr *synth.Truth, v float64) float64 {
	for i := 1; i < len(tr.V); i++ {
		if tr.V[i] >= v {
			return tr.F[i]
		}
	}
	return math.NaN()
}

// Force and power from a trace are the simulated ones within their intervals, and
// work at the wheels is kinetic energy plus losses.
func TestForceFromTheTrace(t *testing.T) {
	res, s := driven(t, synth.Van("full"), 10, 0.05, 4, 3)
	tr := traced(res, vanSheet())
	var n, in float64
	for i, r := range tr.Runs {
		truth := s.Runs[i].Truth
		for _, p := range r.Force {
			near := p.InShift || p.Speed < 4
			for _, w := range truth.Shifts { // the trace is smoother than a shift
				near = near || math.Abs(p.Speed-w.Speed) < 2.5
			}
			if near || p.Speed > truth.V[len(truth.V)-1]-1 {
				continue
			}
			n++
			if math.Abs(p.Force.X-trueForce(truth, p.Speed)) <= p.Force.U95() {
				in++
			}
			if math.Abs(p.Power.X-p.Force.X*p.Speed) > 1e-6*p.Power.X {
				t.Fatalf("power %.1f W of %.1f N at %.1f m/s", p.Power.X, p.Force.X, p.Speed)
			}
		}
	}
	if n < 60 || in < 0.88*n {
		t.Errorf("force: %.0f of %.0f in their interval", in, n)
	}
	for _, m := range tr.Modes {
		if m.Runs != 4 || len(m.Points) < 20 || m.Basis != explain.Modelled {
			t.Errorf("mode %q: %d runs, %d points, %s", m.Mode, m.Runs, len(m.Points), m.Basis)
		}
	}
}

// Work at the wheels over a trace equals what it gained and lost.
func TestEnergyOfATrace(t *testing.T) {
	res, s := driven(t, synth.CVT(), 25, 0.02, 2, 4)
	v := synth.CVT()
	sh := vanSheet()
	sh.Vehicle.Mass, sh.Vehicle.MassFactor, sh.Vehicle.DragArea, sh.Vehicle.RollingResistance = v.Mass, v.Inertia, v.DragArea, v.Rolling
	for i, r := range traced(res, sh).Runs {
		truth := s.Runs[i].Truth
		first, last := r.Force[0].Speed-0.5, r.Force[len(r.Force)-1].Speed+0.5
		var work, want float64
		at := func(v float64) float64 {
			for k := range r.Run.Trace.V {
				if r.Run.Trace.V[k] >= v {
					return r.Run.Trace.S[k]
				}
			}
			return math.NaN()
		}
		for _, p := range r.Force {
			work += p.Force.X * (at(p.Speed+0.5) - at(p.Speed-0.5))
		}
		for k := 1; k < len(truth.T); k++ {
			if truth.V[k] > first && truth.V[k] <= last {
				want += (truth.F[k] + truth.F[k-1]) / 2 * (truth.S[k] - truth.S[k-1])
			}
		}
		if math.Abs(work-want) > 0.01*want {
			t.Errorf("%s: work %.0f J from the trace, %.0f J done", r.Run.ID, work, want)
		}
	}
}

// Where grip limits, the share of it used is near one; where it does not, less.
func TestShareOfGrip(t *testing.T) {
	v := synth.TractionLimited()
	res, _ := driven(t, v, 25, 0.02, 2, 5)
	sh := vanSheet()
	sh.Vehicle.Mass, sh.Vehicle.MassFactor, sh.Vehicle.DragArea, sh.Vehicle.RollingResistance = v.Mass, v.Inertia, v.DragArea, v.Rolling
	sh.Vehicle.FrontMass, sh.Vehicle.RearMass, sh.Vehicle.Driveline = v.Mass/2, v.Mass/2, sheet.Driveline{Driven: "all", Centre: "locked"}
	// The friction at which all wheels pass what the simulated tyres pass.
	sh.Vehicle.Friction = v.Grip / (v.Mass * 9.80665)
	for _, r := range traced(res, sh).Runs {
		g := r.Grip
		// The simulation limits the force before rotating parts take their share.
		if want := 1 / v.Inertia; math.Abs(g.Peak.X-want) > g.Peak.U95() || g.Basis != explain.Modelled {
			t.Errorf("%s: peak %.2f ± %.2f, want %.2f; %s", r.Run.ID, g.Peak.X, g.Peak.U95(), want, g.Text)
		}
		if !(g.Mean.X > 0.85 && g.Mean.X <= g.Peak.X+g.Peak.U95()) || !(g.Until > 15) {
			t.Errorf("%s: mean %.2f up to %.1f m/s", r.Run.ID, g.Mean.X, g.Until)
		}
	}
}

// A sheet that knows nothing gives what can be had, in words that say so, and
// names what would unlock the rest.
func TestTraceWithHalfASheet(t *testing.T) {
	res, _ := driven(t, synth.Van("full"), 10, 0.05, 2, 6)
	tr := traced(res, &sheet.Sheet{})
	if tr.Load.RollingBasis != explain.Assumed || tr.Load.DragBasis != explain.Assumed || tr.Load.FactorBasis != explain.Assumed {
		t.Error("defaults that are not called assumed")
	}
	for _, r := range tr.Runs {
		if r.Grip.Basis != explain.Assumed || !strings.Contains(r.Grip.Text, "assumed") {
			t.Errorf("grip: %q %q", r.Grip.Basis, r.Grip.Text)
		}
		for _, p := range r.Force {
			if !math.IsNaN(p.Force.X) || !math.IsNaN(p.Power.X) || !(p.Specific.X > 0 && p.Specific.U > 0) || p.Gear != 0 {
				t.Fatalf("%+v without mass and gears", p)
			}
		}
	}
	var keys []string
	for _, m := range tr.Missing {
		keys = append(keys, m.Key)
	}
	for _, k := range []string{"mass_kg", "gears", "friction"} {
		if !slices.Contains(keys, k) {
			t.Errorf("%s is not named among %q", k, keys)
		}
	}
	full := traced(res, vanSheet())
	if len(full.Missing) >= len(tr.Missing) {
		t.Errorf("with the sheet %d are missing, without it %d", len(full.Missing), len(tr.Missing))
	}
}

// Gears are counted from the start gear where the sheet has them, and not at all
// where there are fewer than shifts.
func TestGearsOfShifts(t *testing.T) {
	res, _ := driven(t, synth.Manual(), 25, 0.02, 2, 7)
	sh := vanSheet()
	for _, n := range []int{5, 3, 0} {
		sh.Vehicle.Gears = []float64{3.6, 2.1, 1.4, 1.0, 0.8}[:n]
		for _, r := range traced(res, sh).Runs {
			if len(r.Shifts) < 3 {
				t.Fatalf("%s: %d shifts", r.Run.ID, len(r.Shifts))
			}
			for i, s := range r.Shifts {
				if n == 5 && (s.From != i+1 || s.To != i+2 || s.GearBasis != explain.Assumed) || n < 5 && (s.To != 0 || s.GearBasis != "") {
					t.Errorf("%d gears: shift %d is %d to %d, %q", n, i, s.From, s.To, s.GearBasis)
				}
			}
		}
	}
}

// Nothing absurd is said of real recordings.
func TestTraceOfRealRecordings(t *testing.T) {
	for name, shifts := range map[string]bool{"csv/kit_0-60_20170804.csv": false, "csv/kit_0-60_20180301.csv": false, "csv/munich1_launch_50hz.csv": true,
		"csv/t19_2_launch1_obd_15hz.csv": false, "csv/t19_2_launch2_obd_15hz.csv": false, "csv/t19_2_launch3_obd_15hz.csv": false,
		"csv/t19_2_launch1_reference_5hz.csv": true, "csv/t19_2_launch2_reference_5hz.csv": true, "csv/rpi_gnss_1hz.csv": false} {
		res, err := session.Run(context.Background(), []session.Input{{Path: testlog.Recording(t, name)}}, session.Options{})
		if err != nil || len(res.Failed) > 0 {
			t.Fatalf("%s: %v %v", name, err, res.Failed)
		}
		tr := traced(res, &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: 1600}})
		for _, r := range tr.Runs {
			if !shifts && r.NoShifts == "" || len(r.Shifts) > 4 {
				t.Errorf("%s: %d shifts", r.Run.ID, len(r.Shifts))
			}
			if x := r.Grip.Peak; x.X-x.U95() > 1 || !(x.X > 0.05) {
				t.Errorf("%s: %.2f ± %.2f of the grip used", r.Run.ID, x.X, x.U95())
			}
			for _, p := range r.Force {
				if !(p.Force.U > 0) || math.Abs(p.Power.X)-p.Power.U95() > 250e3 {
					t.Errorf("%s: %.0f ± %.0f W at %.0f m/s", r.Run.ID, p.Power.X, p.Power.U95(), p.Speed)
				}
			}
		}
	}
}

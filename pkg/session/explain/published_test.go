package explain

import (
	"math"
	"testing"

	"fromrest/pkg/session"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// traceOfMotion is a run whose trace is a motion dv/dt = a(v) from speed v0 (m/s).
func traceOfMotion(a func(v float64) float64, v0, end float64) *session.TimedRun {
	const h = 0.002
	r := &session.TimedRun{Kind: segment.Rolling, Mode: "m", Log: &session.Log{Quality: session.Quality{Rate: 50}}, HeadingDeg: 0}
	tr := motion.Trace{}
	s, v := 0.0, v0
	for i := 0; v < end; i++ {
		if i%10 == 0 {
			tr.T, tr.S, tr.V, tr.A = append(tr.T, float64(i)*h), append(tr.S, s), append(tr.V, v), append(tr.A, a(v))
			tr.SS, tr.SV, tr.SA = append(tr.SS, 0.01), append(tr.SV, 0.001), append(tr.SA, 0.01)
		}
		k1 := a(v)
		k2 := a(v + h/2*k1)
		k3 := a(v + h/2*k2)
		k4 := a(v + h*k3)
		dv := h / 6 * (k1 + 2*k2 + 2*k3 + k4)
		s, v = s+h*(v+dv/2), v+dv
	}
	r.Trace, r.MaxSpeed = tr, v
	return r
}

// Constant power against drag (values computed from the closed form and integrated
// to 1e-8): 2000 kg, 150 kW, k = ½·1.225·0.45·2.8 = 0.77175, 50-100 km/h in
// 4.094788 s over 88.943135 m, 80-120 km/h in 4.680966 s over 132.417370 m. From
// the trace of that motion the power at the wheels is 150 kW throughout.
func TestConstantPowerWithDrag(t *testing.T) {
	const m, power, k = 2000.0, 150e3, 0.77175
	a := func(v float64) float64 { return (power/v - k*v*v) / m }
	r := traceOfMotion(a, 5, 121*unit.KMH)
	cross := func(v float64) (t, s float64) {
		tr := &r.Trace
		for i := 1; i < tr.Len(); i++ {
			if tr.V[i] >= v {
				f := (v - tr.V[i-1]) / (tr.V[i] - tr.V[i-1])
				return tr.T[i-1] + f*(tr.T[i]-tr.T[i-1]), tr.S[i-1] + f*(tr.S[i]-tr.S[i-1])
			}
		}
		return math.NaN(), math.NaN()
	}
	for _, c := range []struct{ from, to, seconds, metres float64 }{{50, 100, 4.094788, 88.943135}, {80, 120, 4.680966, 132.417370}} {
		t0, s0 := cross(c.from * unit.KMH)
		t1, s1 := cross(c.to * unit.KMH)
		if math.Abs(t1-t0-c.seconds) > 1e-4 || math.Abs(s1-s0-c.metres) > 5e-3 {
			t.Errorf("%g-%g km/h: %.6f s over %.5f m, want %.6f s over %.5f m", c.from, c.to, t1-t0, s1-s0, c.seconds, c.metres)
		}
	}
	dry, sea, still, level := 288.15, 101325.0, 0.0, 0.0
	sh := &sheet.Sheet{Vehicle: sheet.Vehicle{Mass: m, MassFactor: 1, DragArea: 0.45 * 2.8, RollingResistance: 1e-9},
		Conditions: sheet.Conditions{Temperature: &dry, Pressure: &sea, Humidity: &still, Wind: &still, WindFrom: &level, Grade: &level, GradeHeading: &level}}
	c := RunConditions{Run: r, CrossWind: math.NaN()}
	l := RoadLoadOf(nil, sh)
	for _, p := range c.forces(nil, &l, 0, m) {
		if p.Speed > 8 && math.Abs(p.Power.X-power) > 0.004*power {
			t.Errorf("%.0f W at %.1f m/s, want %.0f", p.Power.X, p.Speed, power)
		}
	}
}

// Coast-down, computed: 1800 kg against 200 N + 0.6 N·s²/m² from 100 to 50 km/h in
// 55.703230 s. Its fit is what the road load takes.
func TestRoadLoadOfAPublishedCoastDown(t *testing.T) {
	var ts, vs []float64
	for i := 0; ; i++ {
		v := 100*unit.KMH - float64(i)*0.05
		if v < 50*unit.KMH {
			break
		}
		s, _ := driveline.CoastTime(1800, 200, 0.6, 100*unit.KMH, v)
		ts, vs = append(ts, s), append(vs, v)
	}
	fit, err := driveline.FitCoast(ts, vs)
	if err != nil {
		t.Fatal(err)
	}
	l := RoadLoadOf(&session.Result{Logs: []*session.Log{{Name: "a", Coasts: []session.Coasting{{Seconds: ts[len(ts)-1], From: vs[0], To: vs[len(vs)-1], Fit: fit}}}}}, &sheet.Sheet{})
	if want := driveline.NeutralFactor * 200 / 1800 / unit.GravityStandard; math.Abs(l.Rolling.X-want) > 1e-4*want || l.RollingBasis != Modelled {
		t.Errorf("rolling resistance %.6f, want %.6f: %q", l.Rolling.X, want, l.Coasts)
	}
	if want := driveline.NeutralFactor * 0.6 / 1800; math.Abs(l.Drag.X-want) > 1e-4*want {
		t.Errorf("drag %.6g 1/m, want %.6g", l.Drag.X, want)
	}
}

// Defaults and limits against published coefficients. Rolling resistance
// (engineeringtoolbox.com d_1303, read): car tyre on concrete or new asphalt 0.010
// to 0.015, tar or asphalt 0.02, worn cobbles 0.03, solid sand or loose worn gravel
// 0.04-0.08, loose sand 0.2-0.4; c = 0.005 + (1/p)(0.01 + 0.0095(v/100)²) with p in
// bar and v in km/h gives 0.0128 at 2.5 bar and 100 km/h, 0.0100 at 2 bar and rest,
// 0.009125 at 3 bar and 50 km/h (read the formula, computed the numbers). Moyer in
// Marks (engineersedge 16286, read): hard road 0.008, wet loose gravel 0.06.
// Friction (Noon 1994, appendix 3, read): dry asphalt 0.65, dry concrete 0.75; peak
// 0.8-0.9 on dry asphalt (Wong, from memory).
func TestPublishedCoefficients(t *testing.T) {
	if driveline.DefaultRolling < 0.010 || driveline.DefaultRolling > 0.015 {
		t.Errorf("rolling resistance %g is not that of a car tyre on asphalt", driveline.DefaultRolling)
	}
	formula := func(bar, kmh float64) float64 { return 0.005 + (0.01+0.0095*kmh*kmh/1e4)/bar }
	for _, c := range []struct{ bar, kmh, want float64 }{{2.5, 100, 0.0128}, {2, 0, 0.0100}, {3, 50, 0.009125}} {
		if got := formula(c.bar, c.kmh); math.Abs(got-c.want) > 5e-6 {
			t.Errorf("%g bar, %g km/h: %.6f, want %.6f", c.bar, c.kmh, got, c.want)
		}
		// All of it lies within the default's 95 % interval.
		if math.Abs(c.want-driveline.DefaultRolling) > 1.96*rollingAssumedU*driveline.DefaultRolling {
			t.Errorf("%g is outside %g ± %g", c.want, driveline.DefaultRolling, 1.96*rollingAssumedU*driveline.DefaultRolling)
		}
	}
	usable := func(roll float64) bool {
		c := session.Coasting{Fit: driveline.Coast{A: 1, C: 1}}
		return unusable(&c, roll, 4e-4) == ""
	}
	for _, c := range []struct {
		roll float64
		want bool
	}{{0.008, true}, {0.010, true}, {0.015, true}, {0.02, true}, {0.03, true}, {0.06, false}, {0.2, false}} {
		if usable(c.roll) != c.want {
			t.Errorf("a coast-down with a rolling resistance of %g is used: %t", c.roll, !c.want)
		}
	}
	for _, mu := range []float64{0.75, 0.8, 0.9} {
		if math.Abs(mu-driveline.DefaultFriction) > 1.96*frictionAssumedU {
			t.Errorf("friction of %g is outside %g ± %g", mu, driveline.DefaultFriction, 1.96*frictionAssumedU)
		}
	}
}

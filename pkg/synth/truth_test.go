package synth

import (
	"math"
	"math/rand/v2"
	"testing"

	"fromrest/pkg/unit"
)

// want is a value printed in the collected check values (section 5, marked C:
// computed there from the closed form), good to half its last digit or so.
type want struct {
	name string
	got  func(tr *Truth) (float64, bool)
	want float64
	tol  float64
}

func toSpeed(v float64, rollout bool) func(*Truth) (float64, bool) {
	return func(tr *Truth) (float64, bool) { return tr.TimeToSpeed(v, rollout) }
}

func toDistance(d float64, rollout bool) func(*Truth) (float64, bool) {
	return func(tr *Truth) (float64, bool) { return tr.TimeToDistance(d, rollout) }
}

func distanceAtSpeed(v float64) func(*Truth) (float64, bool) {
	return func(tr *Truth) (float64, bool) {
		t, ok := tr.ReachSpeed(v)
		s, _, _ := tr.At(t)
		return s, ok
	}
}

func speedAtDistance(d float64) func(*Truth) (float64, bool) {
	return func(tr *Truth) (float64, bool) {
		t, ok := tr.ReachDistance(d)
		_, v, _ := tr.At(t)
		return v, ok
	}
}

const (
	mph30, mph60, kmh100 = 30 * unit.MPH, 60 * unit.MPH, 100 * unit.KMH
	ft60, eighth         = 60 * unit.Foot, unit.Mile / 8
	quarter              = unit.Mile / 4
)

func TestClosedForms(t *testing.T) {
	us := 1.0e-6
	for _, c := range []struct {
		tr    *Truth
		wants []want
	}{
		// 5.1 constant acceleration [C]: t = v/a, t = sqrt(2d/a), v = sqrt(2ad).
		{ConstantAcceleration(4.903325, 20), []want{
			{"1 ft", toDistance(unit.Foot, false), 0.352596, us},
			{"0-30", toSpeed(mph30, false), 2.735124, us}, {"0-60", toSpeed(mph60, false), 5.470247, us},
			{"0-100 km/h", toSpeed(kmh100, false), 5.665090, us}, {"60 ft", toDistance(ft60, false), 2.731195, us},
			{"1/8 mile", toDistance(eighth, false), 9.058350, us}, {"1000 ft", toDistance(1000*unit.Foot, false), 11.150058, us},
			{"1/4 mile", toDistance(quarter, false), 12.810442, us},
			{"trap", func(tr *Truth) (float64, bool) { return tr.TrapSpeed(quarter, false) }, 138.73148 * unit.MPH, 1e-5},
			{"rollout 0-30", toSpeed(mph30, true), 2.382528, us}, {"rollout 0-60", toSpeed(mph60, true), 5.117651, us},
			{"rollout 0-100", toSpeed(kmh100, true), 5.312494, us},
			{"rollout 60 ft", toDistance(ft60, true), 2.401265, us}, {"rollout 1/4", toDistance(quarter, true), 12.462697, us},
			{"0-60 distance", distanceAtSpeed(mph60), 73.362580, 1e-5}}},
		{ConstantAcceleration(2.941995, 20), []want{
			{"1 ft", toDistance(unit.Foot, false), 0.455199, us}, {"0-60", toSpeed(mph60, false), 9.117079, us},
			{"1/4 mile", toDistance(quarter, false), 16.538209, us}}},
		// 5.2 constant power [C].
		{ConstantPower(100, 16), []want{
			{"0-60", toSpeed(mph60, false), 3.597206, us}, {"0-60 distance", distanceAtSpeed(mph60), 64.323794, 1e-5},
			{"0-100 km/h", toSpeed(kmh100, false), 3.858025, us}, {"60 ft", toDistance(ft60, false), 1.555351, us},
			{"1/8 mile", toDistance(eighth, false), 7.692900, us}, {"1/8 mile speed", speedAtDistance(eighth), 39.224738, us},
			{"1000 ft", toDistance(1000*unit.Foot, false), 10.148320, us},
			{"1/4 mile", toDistance(quarter, false), 12.211718, us}, {"1/4 mile speed", speedAtDistance(quarter), 49.420073, us}}},
		{ConstantPower(50, 20), []want{
			{"0-60", toSpeed(mph60, false), 7.194411, us}, {"1/4 mile", toDistance(quarter, false), 15.385801, us}}},
		// 5.4 traction limit, then constant power [C].
		{TractionThenPower(4.903325, 100, 16), []want{
			{"0-60", toSpeed(mph60, false), 5.676848, us}, {"0-60 distance", distanceAtSpeed(mph60), 78.461427, 1e-5},
			{"0-100 km/h", toSpeed(kmh100, false), 5.937667, us}, {"60 ft", toDistance(ft60, false), 2.731195, us},
			{"330 ft", toDistance(330*unit.Foot, false), 6.460394, us}, {"1/8 mile", toDistance(eighth, false), 9.407757, us},
			{"1000 ft", toDistance(1000*unit.Foot, false), 11.911676, us}, {"1/4 mile", toDistance(quarter, false), 14.003588, us},
			{"1/4 mile speed", speedAtDistance(quarter), 109.2392 * unit.MPH, 1e-4}}},
		// 5.5 constant force with drag [C].
		{ForceAndDrag(4, 60, 18), []want{
			{"0-60", toSpeed(mph60, false), 7.214923, us}, {"0-60 distance", distanceAtSpeed(mph60), 100.327285, 1e-5},
			{"0-100 km/h", toSpeed(kmh100, false), 7.516140, us}, {"60 ft", toDistance(ft60, false), 3.034156, us},
			{"1/4 mile", toDistance(quarter, false), 15.259915, us}, {"1/4 mile speed", speedAtDistance(quarter), 46.126551, us}}},
	} {
		for _, w := range c.wants {
			got, ok := w.got(c.tr)
			if !ok || math.Abs(got-w.want) > w.tol {
				t.Errorf("%s, %s: %.7f (reached %v), want %.6f", c.tr.Vehicle.Name, w.name, got, ok, w.want)
			}
		}
	}
}

// TestIntegrationAgainstClosedForms drives the same cases through the vehicle
// model, where they come from the integration.
func TestIntegrationAgainstClosedForms(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, c := range []struct {
		name string
		v    Vehicle
		want map[float64]float64 // speed to time
	}{
		{"5.1", Vehicle{Mass: 1000, Force: 4903.325}, map[float64]float64{mph30: 2.735124, mph60: 5.470247}},
		{"5.4", Vehicle{Mass: 1000, Force: 4903.325, Power: 100e3}, map[float64]float64{mph60: 5.676848, kmh100: 5.937667}},
		// vt² = a0 m / (½ρCdA) fixes the drag area of 5.5.
		{"5.5", Vehicle{Mass: 1000, Force: 4000, DragArea: 2 * 4000 / (1.225 * 3600)}, map[float64]float64{mph60: 7.214923, kmh100: 7.516140}},
	} {
		tr, err := SimulateRun(rng, c.v, Road{}, Variation{})
		if err != nil {
			t.Fatal(err)
		}
		for v, w := range c.want {
			if got, _ := tr.TimeToSpeed(v, false); math.Abs(got-w) > 1e-5 {
				t.Errorf("%s: %.6f s to %.2f m/s, want %.6f", c.name, got, v, w)
			}
		}
	}
}

// TestEnergy holds the work at the wheels against kinetic energy and losses.
func TestEnergy(t *testing.T) {
	for i, v := range Vehicles() {
		rng := rand.New(rand.NewPCG(7, uint64(i)))
		road := Road{Grade: 0.01, HeadWind: 4, AirDensity: 1.2}
		tr, err := SimulateRun(rng, v, road, Variation{})
		if err != nil {
			t.Fatal(err)
		}
		work, loss := 0.0, 0.0
		slope := math.Atan(road.Grade)
		for j := 1; j < len(tr.T); j++ {
			h := tr.T[j] - tr.T[j-1]
			work += h / 2 * (tr.F[j]*tr.V[j] + tr.F[j-1]*tr.V[j-1])
			for _, k := range []int{j - 1, j} {
				air := tr.V[k] + road.HeadWind
				f := 0.5*road.AirDensity*v.DragArea*air*air + v.Mass*unit.GravityStandard*(v.Rolling*math.Cos(slope)+math.Sin(slope))
				loss += h / 2 * f * tr.V[k]
			}
		}
		n := len(tr.T) - 1
		kinetic := v.Mass * v.Inertia * tr.V[n] * tr.V[n] / 2
		if rel := work/(kinetic+loss) - 1; math.Abs(rel) > 1e-3 {
			t.Errorf("%s: work exceeds energy and losses by %.2e of it", v.Name, rel)
		}
		t.Logf("%-16s 0-60 mph %.2f s, end %.1f m/s, %d shifts, %d nodes", v.Name, mustSpeed(tr, mph60), tr.V[n], len(tr.Shifts), n+1)
	}
}

func mustSpeed(tr *Truth, v float64) float64 {
	t, ok := tr.TimeToSpeed(v, false)
	if !ok {
		return math.NaN()
	}
	return t
}

// TestRoadChangesTheRun checks that grade and wind act as forces do: 1 % is
// 0.098062 m/s² (checkvalues section 5.13 [C]), lessened by the rotating parts.
func TestRoadChangesTheRun(t *testing.T) {
	v := Vehicle{Mass: 1000, Inertia: 1.1, Force: 4000}
	flat, _ := SimulateRun(rand.New(rand.NewPCG(1, 1)), v, Road{}, Variation{})
	hill, _ := SimulateRun(rand.New(rand.NewPCG(1, 1)), v, Road{Grade: 0.01}, Variation{})
	if got, want := flat.A[10]-hill.A[10], 0.098062/1.1; math.Abs(got-want) > 1e-6 {
		t.Errorf("1 %% grade takes %.6f m/s², want %.6f", got, want)
	}
	if _, err := SimulateRun(rand.New(rand.NewPCG(1, 1)), v, Road{Grade: 0.6}, Variation{}); err == nil {
		t.Error("a vehicle that cannot climb the grade was driven")
	}
}

func BenchmarkSimulateRun(b *testing.B) {
	v := Automatic()
	rng := rand.New(rand.NewPCG(1, 1))
	for range b.N {
		if _, err := SimulateRun(rng, v, Road{}, Variation{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRecording25Hz(b *testing.B) {
	v := Automatic()
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range b.N {
		tr, _ := SimulateRun(rng, v, Road{}, Variation{})
		Single(tr, 70, 5).Recording(Receiver{Rate: 25, Noise: 0.02}, nil, uint64(i))
	}
}

// TestShifts checks that shifts dip as each kind of gearbox does and that the
// spinning wheels show.
func TestShifts(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	least := func(tr *Truth, s Shift) float64 {
		low := math.Inf(1)
		for x := s.Start; x < s.Start+s.Duration; x += 0.005 {
			_, _, a := tr.At(x)
			low = math.Min(low, a)
		}
		return low
	}
	before := func(tr *Truth, s Shift) float64 { _, _, a := tr.At(s.Start - 0.05); return a }
	man, _ := SimulateRun(rng, Manual(), Road{}, Variation{})
	if len(man.Shifts) < 2 {
		t.Fatalf("%d shifts of the manual", len(man.Shifts))
	}
	for _, s := range man.Shifts {
		if a := least(man, s); a >= 0 || a < -1.5 {
			t.Errorf("a manual shift at %.1f m/s dips to %.2f m/s², want slightly below 0", s.Speed, a)
		}
		if s.Duration < 0.3 || s.Duration > 0.6 {
			t.Errorf("a manual shift takes %.2f s", s.Duration)
		}
	}
	aut, _ := SimulateRun(rng, Automatic(), Road{}, Variation{})
	for _, s := range aut.Shifts {
		if a, b := least(aut, s), before(aut, s); a < 0.2*b || a > 0.7*b {
			t.Errorf("an automatic shift dips from %.2f to %.2f m/s²", b, a)
		}
	}
	turns := func(tr *Truth) int {
		n, up := 0, true
		for i := 1; i < len(tr.T) && tr.V[i] < 12; i++ {
			if now := tr.A[i] > tr.A[i-1]; now != up && tr.A[i] != tr.A[i-1] {
				n, up = n+1, now
			}
		}
		return n
	}
	spin, _ := SimulateRun(rng, Spinning(), Road{}, Variation{})
	if n := turns(spin); n < 6 {
		t.Errorf("acceleration of spinning wheels turns %d times below 12 m/s", n)
	}
	if n := turns(aut); n > 3 {
		t.Errorf("acceleration of the automatic turns %d times below 12 m/s", n)
	}
	lift, _ := SimulateRun(rng, Electric(), Road{}, Variation{LiftAt: 3, LiftFor: 1})
	if _, _, a := lift.At(3.4); a > -0.1 {
		t.Errorf("%.2f m/s² while the driver lifts", a)
	}
	pull, _ := SimulateRun(rng, Automatic(), Road{}, Variation{From: 20})
	if a, ok := pull.ReachSpeed(30); pull.V[0] != 20 || !ok || a < 1 || a > 9 {
		t.Errorf("a pull from %.1f m/s reaches 30 m/s after %.2f s (%v)", pull.V[0], a, ok)
	}
}

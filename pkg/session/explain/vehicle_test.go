package explain_test

import (
	"os"
	"path/filepath"
	"testing"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// What a sheet says of a solid axle reaches the solver: the wheels of that axle
// are loaded apart and the open differential pushes less. Without the keys the
// axle is independent and its wheels carry alike.
func TestSolidAxleOfASheet(t *testing.T) {
	const plain = "[vehicle]\nmass_kg = 2000\ndriven = \"rear\"\ntyre_radius_m = 0.35\nfinal_drive = 4.0\nfront_axle_kg = 1000\nrear_axle_kg = 1000\nwheelbase_m = 3.0\ncg_height_m = 0.8\nfriction = 0.8\nrear_differential = \"open\"\n"
	solve := func(text string) *driveline.State {
		t.Helper()
		name := filepath.Join(t.TempDir(), "session.toml")
		if err := os.WriteFile(name, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		sh, err := sheet.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		c, _ := explain.Chassis(sh, "as described")
		s, err := driveline.Solve(c, driveline.Even(sh.Vehicle.Friction), driveline.Most)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	apart := func(s *driveline.State) float64 {
		return s.Wheel[driveline.RearLeft].Load - s.Wheel[driveline.RearRight].Load
	}
	even := solve(plain)
	if apart(even) != 0 {
		t.Errorf("an independent axle is loaded apart by %.1f N", apart(even))
	}
	beam := solve(plain + "rear_axle = \"solid\"\nfront_track_m = 1.6\nrear_track_m = 1.6\nfront_roll_stiffness_share = 0.6\n")
	// Twice the front axle's share of the shaft's torque over the track: what the
	// front axle's springs take, the rear wheels carry (Gillespie, chapter 2, from
	// memory).
	if want := 2 * 0.6 * beam.RearShaft / 1.6; want < 100 || apart(beam) < want*(1-1e-6) || apart(beam) > want*(1+1e-6) {
		t.Errorf("loaded apart by %.2f N, want %.2f N", apart(beam), want)
	}
	if beam.Thrust >= even.Thrust-0.001*2000*unit.GravityStandard {
		t.Errorf("the open differential pushes %.0f N with a solid axle, %.0f N without", beam.Thrust, even.Thrust)
	}
}

package synth_test

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// TestDemoSheet holds the sheet to the session it describes.
func TestDemoSheet(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	sh, err := sheet.Load(filepath.Join(dir, synth.DemoSheet))
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(sh.ModeNames(), synth.VanModes) {
		t.Errorf("the sheet has modes %v, want %v", sh.ModeNames(), synth.VanModes)
	}
	// Describe the true starts as the pipeline would and let the sheet assign.
	var runs []sheet.Run
	var described []sheet.Log
	var modes []string
	lifted := ""
	for _, l := range logs {
		if _, err := os.Stat(filepath.Join(dir, l.Name)); err != nil {
			t.Error(err)
		}
		short := strings.TrimSuffix(l.Name, filepath.Ext(l.Name))
		described = append(described, sheet.Log{Name: short, Path: filepath.Join(dir, l.Name)})
		for i, r := range l.Session.Starts() {
			id := short + "#" + string(rune('1'+i))
			runs = append(runs, sheet.Run{ID: id, Log: len(described) - 1, Launch: l.Session.LaunchTime(r)})
			modes = append(modes, l.Mode)
			if r.Lift {
				lifted = id
			}
		}
	}
	found, err := sh.Resolve(described, runs)
	if err != nil {
		t.Fatal(err)
	}
	as, err := found.Assign(nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range as {
		if a.Mode != modes[i] {
			t.Errorf("run %s is given mode %q, was driven in %q", a.RunID, a.Mode, modes[i])
		}
		if (a.Excluded != "") != (a.RunID == lifted) {
			t.Errorf("run %s is excluded as %q; the lift is in %s", a.RunID, a.Excluded, lifted)
		}
	}
	sc := logs[0].Session.Scenario
	if !sh.Date.Equal(sc.Begin.Truncate(24 * 3600e9)) {
		t.Errorf("the sheet is of %s, the session of %s", sh.Date, sc.Begin)
	}
	if got := *sh.Conditions.Grade; math.Abs(got-sc.Road.Grade) > 1e-9 {
		t.Errorf("the sheet has a grade of %g, the runway %g", got, sc.Road.Grade)
	}
	// Dry air's density and the share water vapour takes of it, to 0.5 %.
	if rho := *sh.Conditions.Pressure / (287.05 * *sh.Conditions.Temperature); math.Abs(rho/sc.Road.AirDensity-1) > 0.005 {
		t.Errorf("the sheet's air has about %.4f kg/m³, the session %.4f", rho, sc.Road.AirDensity)
	}
	v := logs[2].Session.Starts()[0].Vehicle // full
	s := sh.Vehicle
	if s.Mass != v.Mass || s.DragArea != v.DragArea || s.RollingResistance != v.Rolling || math.Abs(s.Driveline.Efficiency-(1-v.Loss)) > 1e-9 {
		t.Errorf("the sheet's van %+v is not the one driven %+v", s, v)
	}
	lowest := s.Gears[0] * s.FinalDrive
	if f := s.Torque[1].Torque * lowest / s.TyreRadius; math.Abs(f/v.Force-1) > 1e-9 {
		t.Errorf("the sheet gives %.0f N in first gear, the van has %.0f", f, v.Force)
	}
	for i, g := range v.Gears {
		if r := s.Gears[i+1] / s.Gears[0]; math.Abs(r-g.Ratio) > 1e-9 {
			t.Errorf("gear %d has ratio %.4f of the lowest in the sheet, %.4f in the van", i+2, r, g.Ratio)
		}
		if up := s.ShiftSpeed * s.TyreRadius / (s.Gears[i] * s.FinalDrive); math.Abs(up/g.UpSpeed-1) > 0.005 {
			t.Errorf("gear %d is left at %.2f m/s by the sheet, %.2f in the van", i+1, up, g.UpSpeed)
		}
	}
}

package driveline

import (
	"context"
	"math"
	"testing"
)

// Thrust kept during a shift lies between a shift without any and no shift.
func TestShiftThrust(t *testing.T) {
	e, err := Rated{Torque: 330, TorqueSpeed: 200, Power: 96e3, PowerSpeed: 380, Idle: 80, Limit: 440}.Engine()
	if err != nil {
		t.Fatal(err)
	}
	last := math.Inf(1)
	for _, share := range []float64{0, 0.25, 0.5, 1} {
		p := &Powertrain{Engine: e, Gears: []float64{3.9, 2.3, 1.5, 1.1}, Final: 4.1, TyreRadius: 0.34, Efficiency: 0.9,
			ShiftTime: 0.4, ShiftThrust: share, BuildUp: 0.15, Mass: 2100, DragArea: 1.4, Rolling: 0.012, Grip: 9000}
		r, err := p.Accelerate(context.Background(), 400, 25)
		if err != nil {
			t.Fatal(err)
		}
		at, ok := r.ReachSpeed(25)
		if !ok || len(r.Shifts) == 0 || at >= last {
			t.Errorf("share %g: 25 m/s after %g s, no sooner than %g s", share, at, last)
		}
		last = at
	}
}

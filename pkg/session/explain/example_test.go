package explain_test

import (
	"context"
	"fmt"
	"math"

	"fromrest/pkg/session/explain"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// What the sheet of an invented van predicts between two modes, taken apart.
func ExampleCauses() {
	const rpm = math.Pi / 30 // rad/s
	sh := &sheet.Sheet{
		Vehicle: sheet.Vehicle{Mass: 2100, FrontMass: 1100, RearMass: 1000, Wheelbase: 3.2, CGHeight: 0.75, TyreRadius: 0.34, Friction: 0.9,
			Gears: []float64{3.9, 2.3, 1.5, 1.1, 0.85}, FinalDrive: 4.1, RatedPower: 96e3, PowerSpeed: 3600 * rpm, RatedTorque: 330, TorqueSpeed: 2000 * rpm,
			LimitSpeed: 4200 * rpm, DragArea: 1.4, RollingResistance: 0.012, Driveline: sheet.Driveline{Driven: "rear", Efficiency: 0.9}},
		Modes: []sheet.Mode{{Name: "calm", PowerShare: 0.7, Driveline: sheet.Driveline{StartGear: 2}}, {Name: "full"}},
	}
	reach60 := func(r *driveline.Run) (float64, bool) { return r.ReachSpeed(60 * unit.MPH) }
	for _, c := range explain.Causes(context.Background(), sh, "calm", "full", reach60) {
		fmt.Printf("%s: %+.1f s\n", c.What, c.Seconds)
	}
	// Output:
	// power share: +7.1 s
	// gearing: +0.9 s
}

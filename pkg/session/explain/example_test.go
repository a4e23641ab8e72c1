package explain_test

import (
	"context"
	"fmt"
	"math"

	"fromrest/pkg/session/explain"
	"fromrest/pkg/sheet"
)

// What the sheet of an invented van predicts of a mode, and how little that says where the
// sheet leaves most of it out.
func ExamplePredict() {
	const rpm = math.Pi / 30 // rad/s
	sh := &sheet.Sheet{
		Vehicle: sheet.Vehicle{Mass: 2100, FrontMass: 1100, RearMass: 1000, Wheelbase: 3.2, CGHeight: 0.75, TyreRadius: 0.34, Friction: 0.9,
			Gears: []float64{3.9, 2.3, 1.5, 1.1, 0.85}, FinalDrive: 4.1, RatedPower: 96e3, PowerSpeed: 3600 * rpm, RatedTorque: 330, TorqueSpeed: 2000 * rpm,
			LimitSpeed: 4200 * rpm, DragArea: 1.4, RollingResistance: 0.012, Engine: "diesel", EngineInertia: 0.4, WheelInertia: 8, LaunchSpeed: 1500 * rpm,
			Gearbox: "clutch", ShiftTime: 0.5, Driveline: sheet.Driveline{Driven: "rear", Efficiency: 0.9, BuildUp: 0.3}},
		Modes: []sheet.Mode{{Name: "full", PowerShare: 1}},
	}
	show := func() {
		p, err := explain.Predict(context.Background(), sh, "full")
		if err != nil {
			fmt.Println(err)
			return
		}
		t, _ := p.Time(explain.Targets[1])
		fmt.Printf("0-60 mph in %.1f ±%.1f s\n", t.X, t.U95())
	}
	show()
	v := &sh.Vehicle
	v.EngineInertia, v.WheelInertia, v.LaunchSpeed, v.Gearbox, v.ShiftTime, v.Engine, v.DragArea = 0, 0, 0, "", 0, "", 0
	v.Driveline.Efficiency, v.Driveline.BuildUp = 0, 0
	show()
	// Output:
	// 0-60 mph in 14.1 ±1.9 s
	// 0-60 mph in 13.1 ±3.0 s
}

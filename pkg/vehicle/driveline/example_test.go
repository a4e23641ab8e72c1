package driveline_test

import (
	"context"
	"fmt"
	"log"

	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// A van of which a data sheet gives the rated values of the engine, accelerated
// from rest to 60 mph.
func ExamplePowertrain_Accelerate() {
	engine, err := driveline.Rated{
		Torque: 340, TorqueSpeed: 1800 * unit.RPM,
		Power: 110e3, PowerSpeed: 4000 * unit.RPM,
	}.Engine()
	if err != nil {
		log.Fatal(err)
	}
	van := driveline.Powertrain{
		Engine: engine, Gears: []float64{4.1, 2.3, 1.5, 1.1, 0.85}, Final: 4.2, TyreRadius: 0.34,
		Efficiency: driveline.DefaultEfficiency, ShiftTime: driveline.DefaultShiftTime, BuildUp: driveline.DefaultBuildUp,
		Mass: 2200, DragArea: 1.4, Rolling: driveline.DefaultRolling, Grip: 9000, ShiftSpeed: 3900 * unit.RPM,
	}
	run, err := van.Accelerate(context.Background(), 0, 60*unit.MPH)
	if err != nil {
		log.Fatal(err)
	}
	seconds, _ := run.ReachSpeed(60 * unit.MPH)
	fmt.Printf("0-60 mph in %.1f s\n", seconds)
	for _, s := range run.Shifts {
		fmt.Printf("shift %d to %d at %.0f mph\n", s.From, s.To, s.Speed/unit.MPH)
	}
	// Output:
	// 0-60 mph in 12.8 s
	// shift 1 to 2 at 18 mph
	// shift 2 to 3 at 32 mph
	// shift 3 to 4 at 49 mph
}

// What a car with an open rear differential does with one wheel on ice.
func ExampleSolve() {
	car := driveline.Chassis{Mass: 1400, FrontShare: 0.55, TyreRadius: 0.3, FinalDrive: 3.9,
		Rear: driveline.Axle{Driven: true}}
	ground := driveline.Even(driveline.DefaultFriction)
	ground.Friction[driveline.RearLeft] = 0.1
	state, err := driveline.Solve(car, ground, driveline.Most)
	if err != nil {
		log.Fatal(err)
	}
	for _, i := range []int{driveline.RearLeft, driveline.RearRight} {
		fmt.Printf("%s: %.0f N, %s\n", driveline.WheelName(i), state.Wheel[i].Thrust, state.Does(i))
	}
	// Output:
	// rear left: 309 N, pushes at its limit and spins
	// rear right: 309 N, pushes
}

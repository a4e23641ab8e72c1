package synth

import (
	"slices"

	"fromrest/pkg/unit"
)

// ups are upshifts at speeds in mph, each lasting lo to hi seconds, with the share
// of thrust that is missing in the middle of each.
func ups(lo, hi float64, at ...[2]float64) []Gear {
	var gears []Gear
	for _, g := range at {
		gears = append(gears, Gear{UpSpeed: g[0] * unit.MPH, ShiftMin: lo, ShiftMax: hi, Depth: g[1]})
	}
	return gears
}

// vehicles are invented ones of each kind.
var vehicles = []Vehicle{
	{Name: "electric", Mass: 1950, Inertia: 1.06, DragArea: 0.62, Rolling: 0.010,
		Force: 12500, Power: 230e3, FadeSpeed: 38, BuildMin: 0.04, BuildMax: 0.12},
	{Name: "automatic", Mass: 1650, Inertia: 1.07, DragArea: 0.68, Rolling: 0.011,
		Force: 6600, Power: 135e3, Converter: 0.35, ConverterSpeed: 9, Sag: 0.22, BuildMin: 0.08, BuildMax: 0.25,
		Gears: ups(0.15, 0.4, [2]float64{33, 0.45}, [2]float64{57, 0.45}, [2]float64{84, 0.4}, [2]float64{112, 0.4})},
	{Name: "manual", Mass: 1280, Inertia: 1.08, DragArea: 0.64, Rolling: 0.011,
		Force: 6100, Power: 96e3, Sag: 0.25, BuildMin: 0.08, BuildMax: 0.25,
		Gears: ups(0.3, 0.6, [2]float64{31, 1.04}, [2]float64{55, 1.05}, [2]float64{82, 1.06})},
	{Name: "cvt", Mass: 1340, Inertia: 1.10, DragArea: 0.66, Rolling: 0.010,
		Force: 4700, Power: 78e3, Converter: 0.15, ConverterSpeed: 6, BuildMin: 0.12, BuildMax: 0.25},
	{Name: "traction-limited", Mass: 1720, Inertia: 1.06, DragArea: 0.66, Rolling: 0.011,
		Force: 19000, Power: 330e3, Grip: 11800, Sag: 0.12, BuildMin: 0.05, BuildMax: 0.18,
		Gears: ups(0.15, 0.2, [2]float64{48, 0.3}, [2]float64{78, 0.3}, [2]float64{108, 0.3})},
	{Name: "spinning", Mass: 1480, Inertia: 1.08, DragArea: 0.63, Rolling: 0.011,
		Force: 9500, Power: 190e3, Grip: 6600, Sag: 0.18, Spin: 0.22, SpinSpeed: 15, BuildMin: 0.06, BuildMax: 0.2,
		Gears: ups(0.18, 0.3, [2]float64{40, 0.7}, [2]float64{68, 0.7}, [2]float64{98, 0.7})},
	{Name: "van full", Mass: 2280, Inertia: 1.07, DragArea: 1.45, Rolling: 0.012,
		Force: 7600, Power: 118e3, Converter: 0.2, ConverterSpeed: 8, Sag: 0.15, BuildMin: 0.10, BuildMax: 0.20,
		Gears: ups(0.2, 0.35, [2]float64{36, 0.5}, [2]float64{63, 0.5})},
}

// Vehicles returns one of each kind, for trials over all of them.
func Vehicles() []Vehicle { return slices.Clone(vehicles) }

// Electric is a car with instant torque, a power limit and a single gear.
func Electric() Vehicle { return vehicles[0] }

// Automatic is a car with a torque converter and five gears.
func Automatic() Vehicle { return vehicles[1] }

// Manual is a car with a clutch, whose driver leaves gaps in the thrust.
func Manual() Vehicle { return vehicles[2] }

// CVT is a small car with a continuously variable ratio: no shifts.
func CVT() Vehicle { return vehicles[3] }

// TractionLimited is a powerful car whose tyres limit it up to about 50 mph.
func TractionLimited() Vehicle { return vehicles[4] }

// Spinning is a rear-driven car on a damp surface whose wheels spin early, so
// that its acceleration fluctuates.
func Spinning() Vehicle { return vehicles[5] }

// VanModes are the names of the power maps of Van, the gentlest first.
var VanModes = []string{"calm", "plain", "full"}

// Van is an invented electric-hybrid panel van with the power map of the given
// mode, one of VanModes; any other name gives the strongest map.
func Van(mode string) Vehicle {
	v := vehicles[6]
	v.Name = "van " + mode
	switch mode {
	case "calm":
		v.Force, v.Power = 5300, 88e3
	case "plain":
		v.Force, v.Power = 6900, 106e3
	}
	return v
}

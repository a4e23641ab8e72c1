// Package explain says why one mode is quicker than another: what the sheet's data
// predict of each mode, what grade, wind and air cost each run, and what the traces
// show of gear changes, force at the wheels, grip and driveline loss.
//
// # Model
//
// A vehicle is a mass with rotating parts on a road with a grade. What pushes it is
// m·f·a + m·g·(c·cos β + sin β) + ½ρCdA·(v+w)², with a and v of the trace, f the
// effective mass over the mass, c the rolling resistance, β the slope and w the
// head wind. All forces are taken over the mass, so that the mass is needed only
// where newtons are asked for (forces.go, roadload.go). Thrust is taken to be a
// function of speed: what a condition costs is found by driving the trace again
// without it (effect.go). Modes are compared at the same speeds outside shifts; the
// slope of force against speed tells power, torque and grip apart, and with them
// the driveline's loss from what gearing gains (bands.go). Predictions solve the
// driveline of package driveline for the sheet's data (predict.go, vehicle.go).
//
// # Where things are
//
// Conditions: conditions.go, air.go, wind.go, effect.go. Traces: traces.go, with
// shifts.go, gears.go, forces.go, grip.go, bands.go and roadload.go. The sheet:
// vehicle.go, predict.go. Every allowance and tuning number is in priors.go, what
// stands in for missing data of a vehicle or of the air in packages driveline and
// air.
//
// # States and units
//
// A number is measured, modelled or assumed, and its Basis says which; an empty
// Basis, or NaN, is a number that is not known. SI throughout: speeds in m/s,
// forces in N or over the mass in m/s², grades as rise over run, headings in
// degrees from true north. An uncert.Value carries a standard uncertainty; where
// few runs stand behind it, it is widened so that its normal 95 % interval is
// Student's.
//
// # Limits
//
// Wind and grade are one value for a run. Coast-downs are taken to be in neutral. A
// shift is told only where the log is quick and fine enough, and what limits a mode
// below 4 m/s is left to the launch. A sheet that says little gets few answers, each
// with the keys that would unlock more.
package explain

import (
	"math"

	"fromrest/pkg/uncert"
)

// Basis says what a number rests on.
type Basis string

// The bases; an empty one is not known.
const (
	Measured Basis = "measured" // by the log, or noted in the sheet
	Modelled Basis = "modelled" // computed from what was measured
	Assumed  Basis = "assumed"  // stands in for what is not known
)

// weakest is the basis of a number made of several.
func weakest(all ...Basis) Basis {
	rank := map[Basis]int{Measured: 0, Modelled: 1, Assumed: 2, "": 3}
	out := Measured
	for _, b := range all {
		if rank[b] > rank[out] {
			out = b
		}
	}
	return out
}

// nothing is a value that is not known.
var nothing = uncert.Value{X: math.NaN(), U: math.NaN()}

// orZero is x, and 0 where it is not known.
func orZero(x float64) float64 {
	if math.IsNaN(x) {
		return 0
	}
	return x
}

// Missing is a value that a sheet does not give and what it would unlock.
type Missing struct {
	Key     string // of the sheet
	Unlocks string
}

// need lists a value where the sheet does not give it.
func need(list *[]Missing, given bool, key, unlocks string) {
	if !given {
		*list = append(*list, Missing{key, unlocks})
	}
}

// along is the cosine of the angle between two headings in degrees: 1 the same
// way, -1 the way back.
func along(a, b float64) float64 { return math.Cos((a - b) * math.Pi / 180) }

// way is 0 for a heading that goes the same way as the first, 1 for the way back.
func way(heading, first float64) int {
	if along(heading, first) < 0 {
		return 1
	}
	return 0
}

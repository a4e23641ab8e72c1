package explain

import (
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
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

// Traced is what the traces say of the vehicle: shifts, force and power at the
// wheels, use of grip, and how modes differ. A value that is not known is NaN.
type Traced struct {
	Load    RoadLoad
	Runs    []TracedRun // the counted standing starts in order
	Modes   []ModeForce
	Bands   []ForceBand // every two modes with two runs or more
	Missing []Missing   // what the sheet lacks and what it would unlock here
	Assumed []string    // whole sentences
}

// TracedRun is what one run's trace says.
type TracedRun struct {
	Run    *session.TimedRun
	Shifts []Shift
	// NoShifts says why none can be told from this trace, whole sentence, "" where
	// one could; then no shift found means that none was seen.
	NoShifts string
	Force    []ForcePoint // at rising speeds, forceStep apart
	Grip     GripUse
}

// Shift is an interruption of thrust after which the run went on: an upshift, by
// all that a trace shows. Times are of the trace.
type Shift struct {
	Time  uncert.Value // s since the launch, the middle of the interruption; measured
	Speed uncert.Value // m/s there; measured
	// Duration is the width of the interruption at half its depth in s; measured.
	Duration uncert.Value
	// Cost is how much later every higher speed came than if thrust had passed in
	// the same time from its value before to its value after, without a gap, in s;
	// modelled.
	Cost uncert.Value
	// Step is wheel force after over wheel force before, road load included;
	// modelled. A step down by the ratio of two gears tells which they are.
	Step uncert.Value
	// From and To are gears from 1, 0 where not known. GearBasis says how they are
	// known: modelled from Step and the sheet's ratios, or assumed by counting from the
	// start gear.
	From, To  int
	GearBasis Basis

	begin, end float64 // s since the launch, all of it
}

// Bases of the fields of a shift.
const (
	ShiftBasis = Measured // of Time, Speed and Duration
	CostBasis  = Modelled // of Cost and Step
)

// ForcePoint is force at the wheels at one speed.
type ForcePoint struct {
	Speed float64 // m/s
	// Specific is force at the wheels over mass in m/s², rotating parts, drag,
	// rolling resistance and grade included.
	Specific uncert.Value
	Force    uncert.Value // N at the wheels; NaN without the mass
	Power    uncert.Value // W at the wheels; NaN without the mass
	Gear     int          // from 1, 0 where not known
	InShift  bool         // thrust was interrupted here
}

// RoadLoad is what resists, per mass, and how heavy rotating parts make the vehicle.
type RoadLoad struct {
	Rolling      uncert.Value // coefficient
	RollingBasis Basis        // measured: noted in the sheet; modelled: by a coast-down
	Drag         uncert.Value // ½ρCdA over mass, 1/m
	DragBasis    Basis
	// DragArea is Drag as an area in m² in the air of the session; NaN without the mass.
	DragArea    uncert.Value
	Factor      uncert.Value // effective mass over mass where the gear is not known
	FactorBasis Basis
	ByGear      []float64 // effective mass over mass in each gear, nil where not known; modelled
	Text        string    // where it all comes from, whole sentences
	Coasts      []string  // each coast-down found: used, or why not; whole sentences
}

// ModeForce is the mean of a mode's runs at the same speeds.
type ModeForce struct {
	Mode   string
	Runs   int
	Basis  Basis
	Points []ForcePoint // Force.U95() is the band: Student's where there are two runs or more
}

// GripUse is the share of the grip there is that a run used. Shares are NaN where
// not known.
type GripUse struct {
	Available float64      // N, with load transfer; NaN without the mass
	Peak      uncert.Value // share, where its lower limit is highest
	Mean      uncert.Value // share, from 1 m/s to Until
	Until     float64      // m/s at which power begins to limit, by the trace
	Friction  float64      // tyre to surface
	Basis     Basis        // modelled with the sheet's friction, assumed with a default
	Text      string       // what it rests on, whole sentence
}

// What limits both modes over a stretch of speed, as the slope of force against
// speed shows it.
const (
	BandPower  = "power"  // force falls as 1/speed
	BandTorque = "torque" // force stays level
	BandGrip   = "grip"   // most of the grip there is was used
	BandMixed  = "mixed"  // neither, or not told apart
)

// ForceBand is how wheel force differs between two modes.
type ForceBand struct {
	A, B   string
	NA, NB int
	Points []BandPoint // at rising speeds; none where a run was in a shift
	Parts  []BandPart  // by gear and by what limits
	// Loss is what A loses in the driveline more than B (negative: less) in per
	// cent of wheel force, LossHow from what. NaN where not told.
	Loss      uncert.Value
	LossBasis Basis
	LossHow   string
	// Gearing is what A gains by its gearing over B (negative: less) in per cent
	// of wheel force with Loss taken out. NaN where not told.
	Gearing      uncert.Value
	GearingBasis Basis
	GearingHow   string
}

// BandPoint is the difference at one speed.
type BandPoint struct {
	Speed   float64      // m/s
	Percent uncert.Value // 100·(force of A over force of B - 1); U95 is Student's
}

// BandPart is the difference over one stretch of speed.
type BandPart struct {
	From, To float64      // m/s
	Gear     int          // of both, from 1, 0 where not known or not the same
	Limit    string       // one of the Band constants
	Percent  uncert.Value // as in BandPoint
	Basis    Basis
}

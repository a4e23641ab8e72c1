package driveline

// What is taken of a vehicle where its data say nothing. Each is a starting
// value for a road car or a light truck, not a measurement; whoever uses one says
// so.
const (
	DefaultFriction    = 0.85    // 1; tyre to surface, the peak. Origin: 0.8 to 0.9 on dry asphalt and concrete, Wong, Theory of Ground Vehicles, table of average values; from memory.
	DefaultRolling     = 0.012   // 1; rolling resistance over load, on asphalt. Origin: common practice.
	DefaultDragPerMass = 0.45e-3 // m²/kg; drag area over mass. Origin: common practice, from cars to vans.
	DefaultEfficiency  = 0.88    // 1; share of engine power that reaches the wheels. Origin: common practice.
	ElectricEfficiency = 0.93    // 1; the same of an electric motor with one ratio. Origin: common practice.
	DefaultStall       = 1.95    // 1; a converter's torque ratio at stall. Origin: common practice, 1.7 to 2.3.
	ConverterThrust    = 0.6     // 1; share of thrust kept in a converter gearbox's shift. Origin: common practice, 0.5 to 0.8.
	DefaultShiftTime   = 0.3     // s; without thrust in a shift. Origin: common practice.
	DefaultBuildUp     = 0.15    // s; thrust builds up at the launch. Origin: common practice, 0.05 to over 1.
	DefaultBias        = 2.5     // 1; torque ratio at which a limited-slip differential lets go. Origin: common practice, 1.5 to 5.

	centreShare = 0.5 // 1; part of an open centre's torque that goes to the front. Origin: common practice.
	axleShare   = 0.5 // 1; part of an axle's torque that goes to the left. Origin: axle differentials are symmetric.
)

// Rotating parts where a vehicle's data do not tell them.
const (
	NeutralFactor  = 1.04    // 1; effective mass over mass with the engine out: wheels and shafts alone. Origin: common practice, 3 to 6 %.
	sparkInertia   = 0.9e-3  // kg·m² over N·m; engine, flywheel and clutch or impeller over the greatest torque, spark ignition. Origin: common practice, 0.12 to 0.2 at 150 N·m.
	dieselInertia  = 1.2e-3  // kg·m² over N·m; the same of a diesel. Origin: common practice, 0.3 to 0.5 at 330 N·m.
	motorInertia   = 0.15e-3 // kg·m² over N·m; the rotor of an electric motor. Origin: common practice, 0.03 to 0.07 at 300 N·m.
	inertiaSpread  = 0.35    // 1; standard deviation of its logarithm. Origin: common practice.
	inertiaUnknown = 0.7     // 1; the same where the kind of engine is not known. Origin: common practice, covers a motor's rotor at two and a half times it.
	couplingRatio  = 0.88    // 1; speed ratio of a converter at which it multiplies no more. Origin: common practice, 0.85 to 0.9.
)

// The torque curve of an engine of which only rated values are known, good to
// some 5 % between them (common practice).
const (
	idleSpeed   = 80.0 // rad/s; the curve's first point. Origin: common practice, some 760 rpm.
	idleMost    = 0.6  // 1; share of the speed of peak torque, where the first point is at most. Origin: assumed.
	idleMissing = 0.25 // 1; share of peak torque missing at the first point. Origin: common practice.
	overPower   = 1.06 // 1; highest speed over the speed of peak power. Origin: common practice.
	motorReach  = 4.0  // 1; highest speed of an electric motor over that at which level torque ends. Origin: common practice, 3 to 5.
	curvePoints = 24   // 1; points on either side of peak torque. Origin: arithmetic, chords then leave a parabola by a ten-thousandth.
)

// How a run is predicted.
const (
	simStep       = 0.002 // s; one step. Origin: assumed; TestRunAgainstClosedForms measures what it leaves.
	roughStep     = 0.01  // s; the same for what changes between two runs. Origin: assumed; TestRoughly measures what it leaves.
	simLongest    = 120.0 // s; the longest run. Origin: assumed, longer than any that is timed.
	shiftPoints   = 400   // 1; speeds up to the limit at which the next gear is compared. Origin: assumed.
	shiftRounds   = 4     // 1; corrections of the step that ends at a shift. Origin: assumed; each squares the error.
	powerPoints   = 2000  // 1; engine speeds at which the greatest power is looked for. Origin: assumed.
	powerReached  = 0.9   // 1; share of the greatest power, from which power limits. Origin: assumed.
	settled       = 0.5   // s; after the build-up, from here a run may be found stuck. Origin: assumed.
	noGain        = 1e-6  // m/s²; a run that gains less is stuck. Origin: assumed.
	crawl         = 0.1   // m/s; slower, it has not moved off. Origin: assumed.
	nearTop       = 0.995 // 1; share of the top speed, from which gearing ends the run. Origin: assumed.
	atLimit       = 1e-3  // 1; relative, this near its highest speed an engine is at it. Origin: assumed.
	shortestPart  = 0.02  // s; shorter stretches with one limit are joined to others. Origin: assumed.
	checkInterval = 1024  // 1; steps between looks at the context. Origin: assumed.
)

// What no ground has.
const (
	frictionMost = 5 // 1; tyre to surface. Origin: assumed.
	gradeMost    = 5 // 1; rise over run. Origin: assumed.
)

// How loads and torques are balanced.
const (
	mostRounds  = 4000  // 1; rounds of loads and thrusts at most. Origin: assumed.
	freeRounds  = 100   // 1; rounds before steps are shortened. Origin: assumed.
	shortStep   = 0.3   // 1; share of a step then taken. Origin: assumed, answers that chase each other meet between them.
	balanced    = 1e-12 // 1; share of the weight; rounds that differ less agree. Origin: some thousand times rounding.
	same        = 1e-9  // 1; relative, values that differ less are the same. Origin: assumed, between rounding and the digits of any datum.
	sameTorque  = 1e-12 // 1; relative, the same for torques of one sum. Origin: some thousand times rounding.
	sameDivided = 1e-11 // 1; relative, the same for ways to divide a torque. Origin: ten times sameTorque.
	noForce     = 1e-6  // N or N·m; less is nothing. Origin: assumed.
	endless     = 4     // 1; times all that the wheels pass, what brakes without a limit hold. Origin: assumed.
)

// How a coast-down is fitted.
const (
	coastSamples   = 10    // 1; samples at least. Origin: assumed, for three parameters.
	coastRolling   = 0.6   // 1; share of the deceleration that rolling makes at the start. Origin: assumed.
	coastLeastA    = 1e-3  // m/s²; A at the start at least. Origin: assumed.
	coastLeastC    = 1e-6  // 1/m; C at the start at least. Origin: assumed.
	coastSlope     = 1e-6  // 1; relative, step of a numerical derivative. Origin: common practice.
	coastDamping   = 1e-3  // 1; damping at the start. Origin: common practice (Marquardt).
	coastDampBy    = 5     // 1; factor of a change of damping. Origin: common practice.
	coastDampMost  = 1e8   // 1; damping that ends the search. Origin: assumed.
	coastRounds    = 60    // 1; rounds at most. Origin: assumed.
	coastFall      = 0.2   // 1; share of a parameter left at least after one round. Origin: assumed, keeps it positive.
	coastConverged = 1e-12 // 1; relative, the gain that ends the search. Origin: some thousand times rounding.
	coastLag       = 0.9   // 1; correlation of neighbouring residuals at most. Origin: assumed.
	singular       = 1e-14 // 1; determinant of a scaled matrix taken for 0. Origin: some hundred times rounding.
)

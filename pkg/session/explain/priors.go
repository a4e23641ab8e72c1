package explain

// Road and wind as a sheet notes them, from one reading beside the course.
const (
	windU         = 0.2   // of the wind; standard uncertainty of its speed. Origin: common practice.
	windLeast     = 0.5   // m/s; the least of it. Origin: common practice.
	windDirU      = 15.0  // degrees; standard uncertainty of its direction. Origin: common practice.
	gradeU        = 0.001 // rise over run; standard uncertainty of a grade that is given. Origin: common practice.
	gradeUnknownU = 0.003 // rise over run; the same of a road taken to be level. Origin: common practice.
)

// The air as a sheet notes it, with a good pocket instrument.
const (
	temperatureU = 1.0    // K; standard uncertainty of a reading. Origin: common practice.
	pressureU    = 100.0  // Pa; the same. Origin: common practice.
	humidityU    = 0.05   // relative; the same. Origin: common practice.
	humidityAny  = 0.29   // relative; the same where it may be anything from 0 to 1. Origin: rectangular, 1/√12.
	weatherU     = 10.0   // K; scatter of the weather about the standard atmosphere. Origin: common practice.
	weatherPU    = 1000.0 // Pa; the same. Origin: common practice.
	boostShare   = 0.25   // of a naturally aspirated engine's loss; what a turbocharged or diesel one may lose, as a standard uncertainty. Origin: assumed.
)

// What resists the vehicle.
const (
	dragGivenU      = 0.05 // relative; standard uncertainty of the sheet's drag area. Origin: common practice.
	dragAssumedU    = 0.25 // relative; the same of the default. Origin: common practice.
	rollingGivenU   = 0.1  // relative; the same of the sheet's rolling resistance. Origin: common practice.
	rollingAssumedU = 0.25 // relative; the same of the default. Origin: common practice, see the published coefficients in the tests.
	factorGivenU    = 0.01 // relative; the same of the sheet's effective mass. Origin: common practice.
	factorAssumed   = 1.09 // 1; effective mass over mass where neither gear nor ratios are known. Origin: common practice, 1.04 in a high gear to 1.3 in a low one.
	factorAssumedU  = 0.05 // 1; standard uncertainty of it. Origin: common practice.
)

// What a sheet's values may be off by, and what stands in for missing ones. The values
// that stand in are with the vehicle's defaults.
const (
	massU              = 0.02  // relative; standard uncertainty of the sheet's mass. Origin: common practice, a weighbridge and what is aboard.
	radiusU            = 0.015 // relative; the same of the tyre's rolling radius. Origin: common practice.
	powerU             = 0.03  // relative; the same of a torque curve. Origin: common practice.
	ratedU             = 0.05  // relative; the same of rated values and the curve drawn through them. Origin: common practice.
	shareU             = 0.02  // relative; the same of a mode's power share. Origin: common practice.
	shareAssumedU      = 0.1   // relative; how much less than all a mode may give that the sheet does not tell. Origin: assumed.
	efficiencyGivenU   = 0.02  // relative; standard uncertainty of the sheet's driveline efficiency. Origin: common practice.
	efficiencyAssumedU = 0.04  // 1; the same of the default. Origin: common practice, 0.8 to 0.95.
	inertiaGivenU      = 0.1   // relative; the same of an inertia. Origin: common practice.
	neutralU           = 0.01  // of the mass; the same of wheels and shafts by default. Origin: common practice, 3 to 6 %.
	buildUpGivenU      = 0.25  // relative; the same of a build-up. Origin: assumed.
	buildUpAssumedU    = 0.1   // s; the same of the default. Origin: common practice.
	launchGivenU       = 0.05  // relative; the same of the engine speed at the launch. Origin: common practice.
	stallGivenU        = 0.05  // relative; the same of a converter's torque ratio. Origin: common practice.
	stallAssumedU      = 0.15  // 1; the same of the default. Origin: common practice, 1.7 to 2.3.
	shiftGivenU        = 0.15  // relative; the same of the time of a shift. Origin: common practice.
	shiftAssumedU      = 0.15  // s; the same of the default. Origin: common practice, 0.1 to 0.8.
	thrustGivenU       = 0.1   // 1; the same of the share of thrust kept. Origin: common practice.
	axleGivenU         = 0.01  // of the mass; the same of the part on an axle. Origin: common practice.
	axleAssumedU       = 0.05  // of the mass; the same by default. Origin: common practice.
	frontDriven        = 0.61  // 1; share of the mass on the front axle of a front-driven vehicle. Origin: common practice.
	rearDriven         = 0.5   // 1; the same of a rear-driven one. Origin: common practice.
	allDriven          = 0.54  // 1; the same of others. Origin: common practice.
	transferDefault    = 0.22  // 1; height of the centre of gravity over the wheelbase. Origin: common practice, 0.18 to 0.28.
	transferDefaultU   = 0.04  // 1; standard uncertainty of it. Origin: common practice.
	heightGivenU       = 0.05  // relative; the same of the sheet's height. Origin: common practice.
	frictionSeenOver   = 0.06  // relative; how much more than the least that a pull shows the tyres are taken to pass, and the standard uncertainty of that. Origin: assumed.
	ratioSlack         = 0.04  // relative; a road speed over the last gear's at the limit. Origin: common practice, a tyre that grows and the sheet's rounding.
	frictionSought     = 4.0   // 1; the most that a friction is looked for up to. Origin: assumed.
	frictionRounds     = 40    // 1; halvings of that. Origin: arithmetic.
	outOfReach         = 0.1   // relative; what an input moves that takes a target out of reach. Origin: assumed.
)

// What a coast-down must show to be used: tyres on a road and bodies that people
// drive.
const (
	coastNeutralU  = 0.01   // relative; standard uncertainty of the effective mass with the engine out. Origin: common practice.
	coastWindU     = 0.15   // of drag; standard uncertainty for wind that is not known. Origin: common practice.
	coastBothGrade = 5      // 1; parts of the grade's uncertainty, one of which is left by coast-downs both ways. Origin: assumed.
	coastBothWind  = 3      // 1; the same of the wind's. Origin: assumed.
	coastRollLeast = 0.004  // coefficient; the least that tyres have. Origin: common practice.
	coastRollMost  = 0.04   // coefficient; the most that tyres on a level road have. Origin: common practice.
	coastDragLeast = 1e-4   // 1/m; ½ρCdA over mass of a road vehicle at least. Origin: common practice.
	coastDragMost  = 1.5e-3 // 1/m; the same at most. Origin: common practice.
	coastUncertain = 0.4    // relative; the largest standard uncertainty of either. Origin: assumed.
	coastScatter   = 0.25   // m/s; scatter about the fit at most. Origin: assumed.
)

// What conditions cost a run.
const (
	modelShare   = 0.1   // of an effect; allowed for thrust taken as a function of speed. Origin: assumed.
	gripShare    = 0.95  // of the modelled grip; from here the tyres are taken to be the limit. Origin: assumed.
	plateauShare = 0.6   // of the hardest push; from here the tyres may be the limit where the sheet does not tell: it could as well be torque. Origin: assumed; spinning wheels make thrust fluctuate by a fifth.
	pullLeast    = 0.3   // m/s²; below it the vehicle does not pull. Origin: assumed.
	pullShare    = 0.12  // of the highest acceleration; the same. Origin: assumed.
	pullLeft     = 0.1   // m/s²; what must be left of it with the condition gone. Origin: assumed.
	pullFrom     = 0.25  // s since the launch; from here thrust is taken as a function of speed. Origin: assumed.
	causeLeast   = 0.005 // s; smaller parts of a predicted difference are not listed. Origin: assumed, below what a table prints.
)

// The wind as the runs both ways show it.
const (
	windFloor   = 9.0  // m/s; below it drag says nothing of wind. Origin: common practice.
	windSpan    = 5.0  // m/s; speeds needed above that. Origin: common practice.
	windSides   = 0.94 // 1; cosine of the angle up to which headings are along the course. Origin: common practice, 20°.
	runScatter  = 0.01 // of the force; from run to run, where it cannot be seen. Origin: common practice.
	shiftShare  = 0.85 // of the power around it; below that a speed is in a shift. Origin: common practice.
	shiftAround = 4    // 1; steps of speed on each side that make up "around". Origin: assumed.
)

// Force at the wheels.
const (
	forceStep = 1.0  // m/s; spacing of the speeds it is taken at. Origin: assumed.
	forceFrom = 1.0  // m/s; the lowest of them. Origin: assumed, below it thrust builds up.
	nearTop   = 0.97 // of the highest speed; above it thrust is being taken away. Origin: assumed.
)

// What a trace must be for shifts to be told in it.
const (
	traceLeast   = 10   // 1; points. Origin: assumed.
	shiftRate    = 4.0  // Hz; the slowest log. Origin: a shift then takes less than two samples.
	shiftHeld    = 0.3  // s; the longest that a value may be held. Origin: about as long as a shift.
	shiftStep    = 0.1  // m/s; the coarsest resolution of speed. Origin: about as much as a shift loses.
	plateauHeld  = 0.12 // s; a speed that stands still longer is a plateau. Origin: assumed, over one sample at 10 Hz.
	plateauGain  = 0.05 // m/s; what the speed around it would have gained at least. Origin: assumed.
	plateauMost  = 4    // plateaus; a speed may stand still in a few shifts. Origin: assumed.
	slowInterval = 0.1  // s; between samples where the log does not say. Origin: 10 Hz.
)

// What a shift in a trace must show.
const (
	shiftHarder   = 1.25 // 1; force after over before at most. Origin: an upshift does not push harder; the rest is assumed for noise.
	shiftDepth    = 0.25 // of the lesser acceleration around it; what is missing at least. Origin: assumed.
	shiftSure     = 3.3  // times its standard uncertainty; speed lost at least. Origin: one false shift in a thousand dips of noise.
	shiftNear     = 0.9  // s; on either side in which the level around it is read. Origin: assumed.
	shiftEdge     = 0.35 // s; on either side that may belong to the shift itself. Origin: common practice.
	shiftLonely   = 1.5  // s; in which no other dip of nearly its size may lie. Origin: assumed, no gear is shorter.
	shiftRival    = 0.4  // of its loss of speed; what another dip is nearly its size from. Origin: assumed.
	shiftLongest  = 2.0  // s; longer is a driver who lifted. Origin: common practice.
	shiftEarliest = 0.5  // s; after the launch. Origin: assumed.
	shiftSlowest  = 3.0  // m/s; wheels that spin and clutches end below it. Origin: common practice.
)

// How a shift is measured.
const (
	shoulderLevel = 0.92 // of the depth; where acceleration is that around it again. Origin: assumed.
	flankLevel    = 0.6  // of the depth; from here the flank may end below the level around. Origin: assumed.
	flankAhead    = 0.1  // s on; where acceleration is looked at for that. Origin: assumed.
	flankHalf     = 0.02 // s; half of the stretch looked at. Origin: assumed.
	flankRise     = 0.08 // of the depth; a flank that rises less has ended. Origin: assumed.
	levelLong     = 0.3  // s; over which the acceleration before and after is read. Origin: assumed.
	levelInside   = 0.05 // s; of that inside the shift. Origin: assumed.
	edgeU         = 0.02 // s; standard uncertainty of a width for where its edges are read. Origin: assumed.
	curveU        = 0.03 // relative; what a torque curve may be off by between two of its points. Origin: common practice.
)

// Grip. Its default is driveline.DefaultFriction.
const (
	frictionAssumedU = 0.1  // 1; standard uncertainty of the default. Origin: common practice, 0.65 on worn or damp to 1.05 on warm and sticky.
	frictionGivenU   = 0.05 // relative; the same of the sheet's. Origin: common practice.
	transferU        = 0.08 // relative; standard uncertainty for load transfer that is not known. Origin: common practice.
	powerBegins      = 0.9  // of the greatest power of a run; from there power limits. Origin: assumed.
)

// What tells power from torque: the slope of the logarithm of force against that
// of speed, -1 at constant power and 0 at constant torque.
const (
	bandLeast   = 4.0  // m/s; the lowest speed compared. Origin: assumed, below it the launch counts.
	bandWindow  = 4.0  // m/s; on either side over which the slope is taken. Origin: assumed.
	powerSlope  = -0.6 // 1; at most, in both modes. Origin: assumed.
	torqueSlope = -0.3 // 1; at least, in both modes. Origin: assumed.
	gripFull    = 0.9  // 1; share of the grip from which it may limit. Origin: assumed.
	nearSpeed   = 0.75 // m/s; how far a point of a curve may lie from a round speed to stand for it. Origin: assumed.
	bandSpan    = 2    // 1; points of a part at least. Origin: assumed.
	lossSpan    = 3    // 1; points that a loss is told from at least. Origin: assumed.
)

// What keeps arithmetic in bounds.
const (
	leastGrip = 1e-9 // N; stands for no grip at all where 0 would mean no limit. Origin: assumed.
	stepSlack = 1e-9 // m/s; allowed for rounding where steps of speed are counted. Origin: assumed.
)

package inertial

// Of the speed.
const (
	gridStep    = 0.025 // s; grid of the result. Origin: assumed
	usualGain   = 0.97  // 1; what the vehicle does for 1 m/s² of the sensor: pitch and the sensor's scale make a few per cent each. Origin: common practice, from memory
	usualGainU  = 0.04  // 1; standard uncertainty of usualGain; nothing in such a log tells it. Origin: common practice, from memory
	slopeBias   = 0.05  // m/s²; how far the bias may leave the straight line between two standstills: the slope of the road. Origin: assumed
	strays      = 1.5   // 1; how far it may, in times of the mean bias that was missing. Origin: assumed
	lostRate    = 1.5   // m/s²; how little the acceleration is known where samples are missing or clipped. Origin: assumed
	openTime    = 10.0  // s; after which the bias, tied down at one end only, strays twice as fast. Origin: assumed
	steadyShare = 0.75  // 1; share of the shaking under way from which shaking at rest is suspicious. Origin: assumed

	// Of stillness.
	blockStill = 0.25                // s; pieces that are looked at. Origin: assumed
	wide       = int(1 / blockStill) // 1; pieces that make a second. Origin: blockStill
	leastStop  = 1.2                 // s; shortest stretch that counts. Origin: assumed
	steady     = 0.1                 // m/s²; how far the mean of a piece may be from that of its stretch beyond its noise. Origin: assumed
	wideSteady = 0.7                 // 1; share of steady that a second's mean may be off. Origin: assumed
	noisy      = 3.0                 // 1; standard deviations that it may be off by noise, which is seldom white. Origin: assumed
	threeAxes  = 1.5                 // 1; factor on the square of what is allowed, over three axes. Origin: assumed
	calm       = 3.0                 // 1; times the vibration of the calmest pieces that a still one may have. Origin: assumed
	calmest    = 20                  // 1; one piece in so many is calmer than the calmest. Origin: assumed
	floorSD    = 0.01                // m/s²; least vibration. Origin: assumed
	blockHole  = 1.0                 // s; time without a piece that ends a stretch. Origin: assumed

	// Of the choice of standstills.
	mostBack     = 100  // 1; stretches that a chain may pass over. Origin: assumed
	longStop     = 20.0 // s; longer ones are no surer. Origin: assumed
	joinBlocks   = 3    // 1; pieces that may part two standstills that are one. Origin: assumed
	joinSpeed    = 0.1  // m/s; speed that may be left over from one to the other. Origin: assumed
	leftOverRest = 0.01 // m²/s²; variance of the speed left over for no time between. Origin: assumed
	leastSlope   = 0.05 // m/s²; standard deviation of the change of the ground's slope from one standstill to the next, at least. Origin: assumed
	slopeGrows   = 0.04 // m/s³; by how much it grows with the time between. Origin: assumed
	mostSlopes   = 0.5  // m/s²; by how much it grows at most. Origin: assumed

	// Of the axes.
	axisRounds   = 3    // 1; rounds in which standstills and forward are found with each other's help. Origin: assumed
	gravityBand  = 1.2  // m/s²; how far from standard gravity a reading at rest may be in m/s². Origin: assumed
	gravityShare = 0.9  // 1; share of accel.LeastGravity from which a reading may be gravity in g. Origin: assumed
	alikeGravity = 0.01 // 1; relative difference of readings at rest that are alike. Origin: assumed
	powers       = 60   // 1; rounds of that search (power iteration). Origin: assumed
	directions   = 360  // 1; directions of a half turn that are tried for forward. Origin: assumed
	leftOver     = 0.25 // m²/s²; variance of the speed left over between standstills by a bias unknown. Origin: assumed
	wanders      = 0.02 // m/s²; by how much speed left over grows in a second of the time between. Origin: assumed
	calmEnergy   = 0.1  // m²/s⁴; mean square of the acceleration below which a log hardly moves. Origin: assumed
	leastEnergy  = 20.0 // m²/s³; its sum over the time below which a log hardly moves. Origin: assumed
	orientStep   = 0.1  // s; step in which the first motion is looked for. Origin: assumed
	orientSpeed  = 1.5  // m/s; speed that is motion. Origin: assumed
	orientSpan   = 60.0 // s; time in which it must be reached: bias and slope must not pass for motion after long. Origin: assumed
)

// oblique is a direction along no axis, from which the search for the one that
// varies most begins.
var oblique = [3]float64{0.61, 0.53, 0.59} // 1; direction along no axis, from which the search for the one that varies most begins. Origin: assumed

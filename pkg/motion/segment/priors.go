package segment

import "fromrest/pkg/unit"

// Of rest.
const (
	standstill = 0.3  // s; least standstill before a launch. Origin: assumed
	restBefore = 4.0  // s; standstill taken into a run's window. Origin: assumed
	leastStill = 0.3  // m/s; speed at or below which a sample looks at rest, at least. Origin: assumed
	stillSDs   = 4.5  // 1; the same in standard deviations of a sample. Origin: assumed
	mostLowest = 1.5  // m/s; lowest speed shown above 0 that is a threshold. Origin: assumed
	overLowest = 1.05 // 1; share of it that looks at rest. Origin: assumed
	mostStill  = 0.9  // m/s; but no more than this. Origin: assumed

	// Of a start.
	ListedSpeed  = 30 * unit.MPH // m/s; speed that a run must get to, or it is short. Origin: assumed
	jumpStart    = 80.0          // m/s²; mean over the first interval that no start has: thrust without limit included. Origin: assumed
	jumpSlack    = 1.0           // m/s; on top of it. Origin: assumed
	leastTop     = 2.0           // m/s; a start that never gets there is none. Origin: assumed
	leastSamples = 3             // 1; samples of a start, at least. Origin: assumed
	longGap      = 10.0          // s; a hole this long ends a run. Origin: assumed
	afterTop     = 0.6           // s; after the highest speed, taken in to steady the estimate there. Origin: assumed
	afterSteps   = 1.1           // 1; the same in intervals of samples. Origin: assumed
	leastDrop    = 1.5           // m/s; loss of speed that is more than noise and a gear shift. Origin: assumed
	dropShare    = 0.06          // 1; the same as a share of the speed. Origin: assumed
	dropSDs      = 8.0           // 1; the same in standard deviations of a sample. Origin: assumed
	resumeIn     = 10.0          // s; within which a run that lost speed may go on. Origin: assumed
	resumeAbove  = 0.3           // 1; share of its speed that it must not fall below. Origin: assumed
	resumeGain   = 1.0           // m/s; by which it must get beyond it. Origin: assumed

	// Of what flags a run.
	creepEnds   = 4.0  // m/s; speed at which creeping is over. Origin: assumed
	creepSpeed  = 2.2  // m/s; speed of a vehicle that creeps. Origin: assumed
	creepTime   = 3.0  // s; that it must creep for. Origin: assumed
	creepGain   = 1.2  // m/s; that it may gain in that time. Origin: assumed
	creepSpan   = 3.5  // s; over which the gain is taken. Origin: assumed
	gapSlack    = 0.15 // s; beyond one interval that a gap has at least. Origin: assumed
	turnDegrees = 25.0 // °; heading change that flags a run. Origin: assumed
	turnSpeed   = 3.0  // m/s; above which course means something. Origin: assumed
	turnSDs     = 20.0 // 1; the same in standard deviations of a sample. Origin: assumed
	turnStart   = 3    // 1; samples that the heading at the start is taken from. Origin: assumed

	// Of pulls and brakings.
	walking     = 2.5           // m/s; a start below this without a standstill is a rolling start. Origin: assumed
	gentleMean  = 0.5           // m/s²; least mean acceleration of a pull. Origin: assumed
	pullGain    = 20 * unit.MPH // m/s; least gain of a pull. Origin: assumed
	leastRise   = 1.0           // m/s; rise of speed that ends a valley. Origin: assumed
	riseSDs     = 6.0           // 1; the same in standard deviations of a sample. Origin: assumed
	brakingMean = 3.0           // m/s²; least mean deceleration of a braking. Origin: assumed
	brakingTop  = 3.0           // m/s; speed above which a braking may begin. Origin: assumed
	coastMean   = 1.5           // m/s²; deceleration below which a vehicle coasts. Origin: assumed
	aheadSpan   = 0.5           // s; over which it is taken. Origin: assumed
	aheadSteps  = 0.9           // 1; the same in intervals of samples. Origin: assumed
)

package estimate

import "fromrest/pkg/motion/ramp"

import "fromrest/pkg/unit"

// Of reading a speed.
const (
	mostSpeed     = 200.0                 // m/s; no road vehicle is faster. Origin: assumed
	longestHop    = 30.0                  // s; longest interval of positions that a speed is made of. Origin: assumed
	underWay      = 2.0                   // m/s; speed above which values are those of a vehicle under way. Origin: assumed
	leastSamples  = 3                     // 1; fewest samples of a window. Origin: assumed
	enough        = 20_000                // 1; values that settle a median: more would only cost time with the length of the log. Origin: assumed
	tiny          = 1e-12                 // 1; keeps a quotient or a logarithm finite. Origin: assumed
	quantumTol    = 0.02                  // 1; share of a step by which a value may miss its multiple. Origin: assumed
	printedTol    = 0.2                   // 1; the same for values printed more coarsely. Origin: assumed
	printedHalf   = 0.51                  // 1; share of the printed step by which rounding moves a value. Origin: a half and some rounding
	leastFits     = 10                    // 1; fewest values that tell a step. Origin: assumed
	fitShare      = 0.995                 // 1; share of the values that must be its multiples. Origin: assumed
	missesAtLeast = 20                    // 1; values beside the multiples after which a step is given up. Origin: assumed
	missesShare   = 200                   // 1; and one more for each so many values. Origin: assumed
	missesEvery   = 64                    // 1; values between two looks at that. Origin: assumed
	coarseQuantum = 0.1 * unit.KMH * 0.99 // m/s; step above which the step may be what is seen, not noise. Origin: assumed
	singleStep    = 1.5                   // 1; steps that most changes are below where the step is what is seen. Origin: assumed
	leastMoves    = 8                     // 1; fewest changes that tell it. Origin: assumed
	coarseRepeats = 0.3                   // 1; share of repeated values that tells it. Origin: assumed
	coarseNoise   = 0.25                  // 1; noise in steps, at least, in the search for runs then. Origin: assumed
	heldSteps     = 2.5                   // 1; steps of a change that shows that values are held: a slow change repeats by itself. Origin: assumed
	heldChange    = 0.05                  // m/s; least such change. Origin: assumed
	longestHeld   = 5.0                   // s; longest time that a value is held. Origin: assumed
	leastHelds    = 4                     // 1; fewest such changes. Origin: assumed
	heldIntervals = 1.6                   // 1; intervals that a value must be held for. Origin: assumed
	keepHelds     = 3.0                   // 1; times of being held after which a repeated value is kept. Origin: assumed
	keepFor       = 3.0                   // s; least time after which it is. Origin: assumed
	blindWheel    = 1.5                   // m/s; speed below which a wheel sensor with a threshold tells nothing. Origin: common practice
	mostHold      = 1.0                   // m/s; highest threshold below which receivers show 0. Origin: common practice
	leastHold     = 0.03                  // m/s; lowest threshold that counts. Origin: assumed
	holdSteps     = 1.5                   // 1; steps that a threshold must be above. Origin: assumed
	holdMargin    = 1.5                   // 1; times its threshold at which a wheel sensor tells something: it is late about it. Origin: assumed
	leastZeros    = 5                     // 1; fewest zeros of a log with a threshold. Origin: assumed
	strayShare    = 20                    // 1; one small value in so many may be a stray. Origin: assumed
	holdJump      = 1.1                   // 1; least jump from or to 0 over the change beside it that is a threshold, and not a pull that began between two samples. Origin: assumed
	sharpHold     = 0.7                   // 1; share of the threshold above which the lowest value is the threshold. Origin: assumed
)

// quanta are the steps that logs print speed in, from fine to coarse.
var quanta = []float64{0.001 * unit.Knot, 0.001, 0.01 * unit.KMH, 0.01 * unit.Knot, 0.01, 0.01 * unit.MPH,
	0.1 * unit.KMH, 0.1 * unit.MPH, 0.1 * unit.Knot, 0.1, unit.KMH, unit.MPH, unit.Knot, 1} // m/s; steps that logs print speed in. Origin: formats in docs/formats.md

// Of the samples' instants.
const (
	leastJitter   = 0.0015 // s; scatter of the instants below which it does not matter. Origin: assumed
	mostJitter    = 0.3    // 1; share of the interval above which there is no cadence. Origin: assumed
	clearlyLess   = 0.9    // 1; ratio of residuals that tells bad stamps from uneven samples. Origin: assumed
	clockWindow   = 7      // 1; samples in a local fit. Origin: assumed
	clockSide     = 10     // 1; samples on either side that an even cadence is taken from. Origin: assumed
	clockHole     = 1.5    // 1; times its usual length at which a window has a hole. Origin: assumed
	clockSlope    = 1.0    // m/s²; least acceleration of a fit that counts. Origin: assumed
	clockOutlier  = 25.0   // 1; ratio of residuals that an outlier makes. Origin: assumed
	clockMinimum  = 12     // 1; fewest fits that tell. Origin: assumed
	longInterval  = 1.6    // 1; usual intervals above which an interval is not one. Origin: assumed
	shortInterval = 0.4    // 1; usual intervals below which an interval is not one. Origin: assumed

	// Of the noise of the speed.
	assumedSD           = 0.06                                                                               // m/s; standard deviation of a sample where a log tells none. Origin: common practice for receivers with an open sky
	assumedRho          = 0.35                                                                               // 1; correlation of neighbouring samples where a log tells none. Origin: common practice for receivers with an open sky
	assumedDF           = 4.0                                                                                // 1; degrees of freedom of assumedSD. Origin: assumed
	receiverDF          = 8.0                                                                                // 1; degrees of freedom of the receiver's own figure. Origin: assumed
	minSD               = 2e-4                                                                               // m/s; below which nothing a log prints is resolved. Origin: assumed
	stillSpeed          = 0.5                                                                                // m/s; reported speed below which a vehicle may be at rest, before the noise is known. Origin: assumed
	restHole            = 0.5                                                                                // s; least time without a sample that ends a standstill. Origin: assumed
	leastRest           = 0.6                                                                                // s; shortest standstill that tells noise. Origin: assumed
	leastRestSamples    = 3                                                                                  // 1; fewest samples of it. Origin: assumed
	rollsAt             = 0.15                                                                               // m/s; mean speed above which a vehicle may creep. Origin: assumed
	rollsSD             = 4.0                                                                                // 1; mean over spread of a speed that creeps; noise alone makes 1.9. Origin: assumed
	leastMoments        = 8                                                                                  // 1; fewest values at rest that tell noise. Origin: assumed
	leastLags           = 20                                                                                 // 1; fewest pairs at rest that tell its correlation. Origin: assumed
	usualLags           = 40                                                                                 // 1; pairs that assumedRho weighs as much as. Origin: assumed
	mostAutocorrelation = 0.9                                                                                // 1; greatest correlation of neighbouring samples. Origin: assumed
	leastCourses        = 3                                                                                  // 1; fewest courses at rest that tell whether they wander. Origin: assumed
	freshShare          = 0.8                                                                                // 1; share of the courses at rest that must change. Origin: assumed
	smoothStep          = 0.26                                                                               // s; interval above which the vehicle itself is rough. Origin: assumed
	roughAbove          = 3.0                                                                                // m/s; speed above which roughness is looked at. Origin: assumed
	thirdSpan           = 3.6                                                                                // 1; intervals that a third difference may span. Origin: assumed
	leastThirds         = 10                                                                                 // 1; fewest third differences that tell noise. Origin: assumed
	thirdVariance       = 20 - 30*assumedRho + 12*assumedRho*assumedRho - 2*assumedRho*assumedRho*assumedRho // 1; variance of a third difference of samples so correlated, in theirs. Origin: sums of 1, -3, 3, -1
	rougher             = 1.3                                                                                // 1; times the noise at rest from which motion is noisier: tyres, vibration. Origin: assumed
	speedClass          = 5.0                                                                                // m/s; width of a class of speed in which noise is looked at. Origin: assumed
	accelClass          = 1.5                                                                                // m/s²; the same of acceleration. Origin: assumed
	leastClass          = 15.0                                                                               // 1; fewest third differences in one. Origin: assumed
	classVariance       = 6.0                                                                                // 1; variance of the squared noise in a class, in its fourth power over the number of third differences. Origin: arithmetic, 2.7 of a median in the place of a mean, and neighbours that share samples
	growthClear         = 4.0                                                                                // 1; standard deviations by which a growth of the noise must be told. Origin: assumed
	manyRough           = 100                                                                                // 1; fewest differences under way that tell so. Origin: assumed
	leastRough          = 30                                                                                 // 1; fewest that tell noise where rest tells none. Origin: assumed
	roughDF             = 30.0                                                                               // 1; degrees of freedom of that, at most. Origin: assumed
	floorGNSS           = 0.02                                                                               // m/s; least noise of a receiver told by motion. Origin: assumed
	floorOther          = 0.005                                                                              // m/s; least noise of another source told by motion. Origin: assumed
	ownPrior            = 8.0                                                                                // 1; degrees of freedom of the log's noise as a prior to that of one standstill. Origin: assumed
	ownSpan             = 8.0                                                                                // s; of a standstill before the launch that tells its noise. Origin: assumed
	leastOwn            = 4                                                                                  // 1; fewest samples that do. Origin: assumed
	motionShare         = 0.5                                                                                // 1; how much less motion tells of noise than rest does: half is the model's. Origin: assumed
	longestJump         = 3                                                                                  // 1; most samples of a jump that no vehicle makes. Origin: assumed
	jumpLeast           = 0.8                                                                                // m/s; by how much it leaves the line of its neighbours at least, for noise. Origin: assumed
	oneStep             = 1.5                                                                                // 1; steps that a change is less than where it is a single one. Origin: arithmetic
	jumpAccel           = 6.0                                                                                // m/s²; and with the time: no vehicle reverses that within three samples. Origin: assumed
	jumpSteps           = 8.0                                                                                // 1; intervals between its neighbours, at most. Origin: assumed
	jumpSlack           = 0.01                                                                               // s; and some time on top. Origin: assumed
	jumpSpan            = 4.0                                                                                // s; time between its neighbours, at most. Origin: assumed
	jumpHolds           = 0.4                                                                                // 1; share of its first step that every sample of a jump is off by. Origin: assumed
	outlierT            = 5.0                                                                                // 1; standard deviations of a deleted residual beyond which a reading is set aside. Origin: assumed
	launchPhase         = 0.3                                                                                // s; after the launch, in which the model is the doubtful part and none is. Origin: assumed
	clearly             = 1.0                                                                                // 1; standard deviations by which the variance of the instants must be told. Origin: assumed

	// Of what all samples share, as standard uncertainties.
	scaleGNSS     = 5e-5 // 1; scale of satellite speed: cosine of the road's slope, for 1 % of grade. Origin: arithmetic
	scalePosition = 1e-4 // 1; scale of a speed from positions. Origin: assumed
	scaleInertial = 1e-3 // 1; scale of a reckoned speed, at least. Origin: assumed
	scaleWheel    = 0.01 // 1; scale of a wheel speed: the rolling radius changes with load, pressure and speed. Origin: common practice
	blindLaunch   = 0.5  // s; of the launch where a wheel sensor shows 0 up to a walking pace. Origin: late by 0.5 to 1.1 s on three recorded starts beside an inertial reference

	// Of a speed that an accelerometer alone tells.
	restSD     = 0.01 // m/s; standard deviation of the speed at a standstill: a vehicle at rest rocks on its springs. Origin: assumed
	restDF     = 60.0 // 1; its degrees of freedom. Origin: assumed
	settleRest = 0.5  // s; of zeros after a run that settle its end. Origin: assumed

	// Of the samples in the filter.
	projectBelow = 3.0   // m/s; below which the velocity is projected on the heading: above, the bias of a length is negligible and a bend must not cost speed. Origin: assumed
	lengthSDs    = 3.0   // 1; standard deviations below which a length tells no sign. Origin: assumed
	leastLength  = 0.05  // 1; least length in standard deviations: keeps its logarithm finite. Origin: assumed
	headingSpan  = 6.0   // s; after the launch, from which the heading is taken. Origin: assumed
	headingAbove = 1.0   // m/s; from which course means something. Origin: assumed
	headingFull  = 10.0  // m/s; from which it is as good as it gets. Origin: assumed
	maxNode      = 0.05  // s; longest step between nodes, so that interpolation between them adds nothing to the error. Origin: assumed
	closeFor     = 3.0   // s; after the first motion, in which it is: later the acceleration changes slowly. Origin: assumed
	lateNode     = 0.1   // s; longest step after that. Origin: assumed
	nodeSlack    = 1e-6  // 1; share of such a step that rounding makes. Origin: rounding
	mostNodes    = 4000  // 1; nodes in a gap. Origin: assumed
	leastSlide   = 1e-6  // s; launch's deviation below which nothing slides. Origin: rounding
	leastEigen   = 1e-9  // 1; least share of a covariance that is more than rounding. Origin: rounding
	instantTol   = 1e-10 // s; to which an instant on a path is found. Origin: rounding

	// Of the search for the launch.
	searchBack  = 1.5                // s; before the first sample that clearly moves, in which the launch is looked for. Origin: assumed
	searchSteps = 1.5                // 1; and intervals on top. Origin: assumed
	searchHold  = 1.0                // s; and so much where speed is held at 0. Origin: assumed
	searchAhead = 0.05               // s; and after it. Origin: assumed
	searchSpan  = 2.5                // s; of the run after the launch that decides on it: by then the thrust has built up. Origin: assumed
	spanFused   = 1.0                // s; the same with an accelerometer, which sees the build-up. Origin: assumed
	probeTau    = 0.12               // s; build-up of the first guess. Origin: assumed
	scanShare   = 6.0                // 1; steps of the first scan in an interval of samples. Origin: assumed
	leastScan   = 0.008              // s; least step of it. Origin: assumed
	mostScan    = 0.1                // s; greatest step of it. Origin: assumed
	golden      = 0.6180339887498949 // 1; golden section. Origin: (√5-1)/2
	refined     = 2e-4               // s; to which the peak is found. Origin: assumed
	leastWidth  = 1e-4               // s; least width of the peak. Origin: assumed
	leastFall   = 3e-4               // s; at which its fall by half a unit is looked for first. Origin: assumed
	mostFall    = 0.5                // s; at which it is given up. Origin: assumed
	fallGrows   = 1.5                // 1; factor in between. Origin: assumed
	firstRamps  = 3                  // 1; every so manieth build-up time is tried before the jerk is adapted. Origin: assumed
	ridgeStep   = 0.8                // 1; step in widths in which a ramp's launch is scanned. Origin: assumed
	ridgeMoves  = 40                 // 1; steps to its top, at most. Origin: assumed
	ridgeReach  = 9                  // 1; steps from its top, at most. Origin: assumed
	negligible  = 6.0                // 1; fall of the log-likelihood beyond which nothing counts. Origin: assumed
	leastRamp   = 1e-3               // 1; probability over that of the best below which a ramp is left out. Origin: assumed

	// Of motion before the launch.
	settles     = 0.3    // s; after the stop before, in which the body rocks and a receiver's speed dies away. Origin: assumed
	foreSpan    = 6.0    // s; before the launch that is looked at. Origin: assumed
	backSpan    = 1.5    // s; after it, in which a vehicle may still roll back. Origin: assumed
	foreWindow  = 2.0    // s; longest window. Origin: assumed
	leastFore   = 2.0    // 1; fewest readings in one. Origin: assumed
	foreAt      = 5.0    // 1; standard deviations of a window's mean that no standstill shows: of a thousand windows one in a thousand logs. Origin: normal tail
	foreClear   = 0.15   // s; before the launch, in which the launch itself may be seen. Origin: assumed
	leastCreep  = 0.04   // m/s; least speed that is a creep: receivers are off by less. Origin: assumed
	mostForeRho = 0.5    // 1; correlation of neighbouring readings' noise at most. Origin: assumed, more is motion or multipath
	madToSD     = 1.4826 // 1; standard deviations in a median of absolute values. Origin: normal distribution
	standsFor   = 0.25   // s; least standstill between two steps of a start. Origin: assumed
	standsAt    = 2.0    // 1; standard deviations within which its mean is none. Origin: assumed

	// Of the build-up of thrust.
	usualThrust  = 3.5 // m/s²; prior of the full thrust. Origin: assumed
	usualThrustU = 3.0 // m/s²; its standard deviation. Origin: assumed
)

// Of the jerk.
const (
	searchQ       = 1.0    // m²/s⁵; intensity for the first search of the launch, low so that noise ahead of it does not pass for a start. Origin: assumed
	startQ        = 6.0    // m²/s⁵; where its adaptation begins. Origin: assumed
	block         = 0.2    // s; length of a block of one intensity. Origin: assumed
	blockDF       = 2.5    // 1; degrees of freedom of the blocks' scatter. Origin: assumed
	rounds        = 6      // 1; rounds of scoring. Origin: assumed
	roundsFused   = 10     // 1; the same with an accelerometer, whose score tells less in one step. Origin: assumed
	settledRounds = 3      // 1; rounds after which the accelerometer's noise is fitted as well. Origin: assumed
	memoryTimes   = 2.5    // 1; time constants over which its score stays the same. Origin: assumed
	minQ          = 0.01   // m²/s⁵; least intensity. Origin: assumed
	maxQ          = 4000.0 // m²/s⁵; greatest intensity of a block. Origin: assumed
	mostCommonQ   = 200.0  // m²/s⁵; greatest common intensity. Origin: assumed
	maxStep       = 1.5    // 1; greatest change of an intensity's logarithm in a round. Origin: assumed
	leastPull     = 0.5    // 1; least curvature of the scatter's prior, in degrees of freedom. Origin: assumed
	usualQ        = 0.3    // m²/s⁵; prior of the common intensity. Origin: simulated vehicles with their shifts left out lie between 0.03 and 0.5
	usualSpread   = 1.5    // 1; standard deviation of its logarithm. Origin: simulated vehicles, as usualQ
	slowQ         = 1.5    // m²/s⁵; least common intensity where a shift hides between two samples. Origin: assumed
	quickStep     = 0.25   // s; interval of samples between which none hides. Origin: assumed
	slowStep      = 1.0    // s; interval between which one does. Origin: assumed
	mostSlow      = 2.0    // 1; times slowQ for slower samples still, at most. Origin: assumed
	launchQ       = 0.5    // m²/s⁵; least intensity just after the launch with an accelerometer: no thrust builds up in exactly one of the shapes. Origin: assumed
	settle        = 0.5    // s; after which thrust is taken to have built up then. Origin: assumed
	thrustShare   = 0.3    // 1; standard deviation of the full thrust about what is seen then, as a share. Origin: assumed
	leastThrust   = 0.3    // m/s²; and at least. Origin: assumed
	rollingSpeedU = 2.0    // m/s; standard deviation of the speed at the begin of a rolling run. Origin: assumed
	rollingSDs    = 4.0    // 1; and in those of a sample. Origin: assumed
	rollingAccelU = 5.0    // m/s²; standard deviation of the acceleration there. Origin: assumed

	// Of the accelerometer in the filter.
	biasWalk           = 0.05   // m/s² per root second; how fast the bias wanders at least: one per cent of slope reads as 0.1 m/s². Origin: assumed
	mostWalk           = 1.0    // m/s² per root second; how fast at most. Origin: assumed
	walkBlock          = 1.0    // s; how long the bias's score stays the same. Origin: assumed
	walkSpread         = 1.5    // 1; prior standard deviation of the logarithm of the walk's intensity. Origin: assumed
	leastBias          = 0.15   // m/s²; least standard deviation of the bias in one standstill: the ground there has its own slope. Origin: assumed
	learnRest          = 3.0    // s; standstill before the launch that tells the bias. Origin: assumed
	rocks              = 0.5    // s; after the stop before, in which the body rocks. Origin: assumed
	rocksShare         = 0.3    // 1; share of the standstill that this may take. Origin: assumed
	fineStep           = 0.01   // s; readings about the launch: faster samples are averaged. Origin: assumed
	coarseStep         = 0.04   // s; readings elsewhere. Origin: assumed
	fineBefore         = 0.1    // s; before the search for the launch, from which they are fine. Origin: assumed
	fineAfter          = 0.2    // s; after the build-up, until which they are. Origin: assumed
	leastOffset        = 0.5e-3 // s; clock uncertainty below which it is not integrated over. Origin: assumed
	assumedShake       = 0.3    // m/s²; vibration of one sample where nothing tells it. Origin: common practice for a sensor fixed to the body of a road vehicle
	leastShakeVariance = 1e-4   // m²/s⁴; least variance of a sample to start from. Origin: assumed
	maxShake           = 0.7    // 1; greatest change of the variance's logarithm in a round. Origin: assumed
	leastShake         = 0.7    // 1; least variance in that of the whole log: were it free, noise would pass for jerk. Origin: assumed
	shakeRange         = 25.0   // 1; greatest variance in that of the whole log. Origin: assumed
	leastRoughness     = 0.1    // 1; least roughness of a reading in the mean of the run. Origin: assumed
	leastStills        = 20     // 1; fewest readings at rest that tell their own variance. Origin: assumed
	roughSpan          = 1.0    // s; over which a sample's roughness is taken. Origin: assumed
	movingAt           = 1.0    // m/s; over which vibration is that under way. Origin: assumed
	everyTenth         = 10     // 1; one sample in so many tells the usual roughness. Origin: assumed
	knockAt            = 7.0    // 1; typical distances from the median of its neighbours that make a sample a blow to the sensor. Origin: assumed
	knockNear          = 2      // 1; samples on either side of a blow that are bad as well. Origin: assumed
	leastKnocks        = 50     // 1; fewest samples in which blows are looked for. Origin: assumed
	leastSecond        = 20     // 1; fewest samples that what is typical is taken from. Origin: assumed

	// Of misfit between both sensors.
	misfitAt   = 5.0  // 1; standard deviations by which the mean squared residual of the speed may exceed its expectation. Origin: assumed
	mostMisfit = 30.0 // 1; the most that one sample adds to it. Origin: assumed
	missAt     = 4.5  // 1; standard deviations by which the mean residual over missSpan may differ from 0. Origin: assumed
	missSpan   = 0.8  // s; over which it is taken. Origin: assumed
)

// Of how receivers smooth.
const (
	priorNone       = 0.5    // 1; probability that a receiver does not smooth, before the log speaks. Origin: assumed
	noisyHold       = 2.0    // 1; noise under way over the step, at which rest shown as exactly 0 is static hold. Origin: assumed, rounding would show one reading in three
	lagStepSD       = 0.0075 // s; standard deviation of a delay between two that are tried. Origin: a step of 0.025 s, rectangular
	usualDelay      = 0.2    // s; delay above which a filter is the rarer the longer it is. Origin: common practice; one of ten recorded receivers has 0.7 s
	mergeSpan       = 0.05   // s; time constants that one stands for. Origin: stops tell them to 0.02 s
	beyondShare     = 0.03   // 1; probability of the filters of a kind that are slower than is allowed for where nothing tells. Origin: simulated filters in logs without stops, at which nine intervals of ten hold
	mostCatching    = 0.41   // s; longest time that a tracker takes to catch up. Origin: assumed, a gain of a quarter at 10 Hz
	mostDelay       = 0.85   // s; longest delay of a mean. Origin: that of the slowest filter of the first order
	slowestFiltered = 0.3    // s; greatest interval of samples at which a filter is looked for. Origin: assumed
	leastProfileSD  = 0.015  // s; standard deviation of a profile's delay, at least. Origin: the step of the time constants tried
	gainSD          = 0.05   // 1; of a profile's gain. Origin: the step of the gains tried
	usualShare      = 0.05   // 1; probability that a receiver is not as its profile says: settings change. Origin: assumed
	leastProfile    = 0.1    // 1; likelihood of the log with the profile over that without it, below which it is contradicted. Origin: convention, one in ten
	sameStep        = 0.1    // 1; by how much the interval of the fixes may differ from the profile's. Origin: assumed
	farFilter       = 0.06   // s and 1; difference in delay or gain from which one filter does not stand for another. Origin: the step of those tried, and mergeSpan
	leastOnto       = 0.5    // 1; probability of the filters that a log kept, by all logs of the receiver, below which it goes by itself. Origin: assumed
	leastFilter     = 1e-3   // 1; probability over that of the best below which a filter is tried no longer. Origin: assumed
	boundSpan       = 1.2    // s; of a start that bounds a filter. Origin: assumed
	boundBeyond     = 0.5    // s; read after it. Origin: assumed
	mostTableStep   = 0.008  // s; step of a tabulated response, at most: off by 4e-5 m/s at 4.5 m/s². Origin: arithmetic
	tableBeyond     = 1.5    // s; by which a table is longer than the span of the run that decides on a launch. Origin: assumed
	tableLong       = 3.0    // s; that a table covers. Origin: arithmetic
	mostStarts      = 6      // 1; starts that are looked at. Origin: assumed
	mostStops       = 8      // 1; stops that are looked at. Origin: assumed, more tell little more
	tempered        = 0.5    // 1; share of the stops' log-likelihood that counts. Origin: simulated sessions with other releases, at which the intervals hold
	mostFilters     = 8      // 1; filters kept. Origin: assumed
	keptFilters     = 0.98   // 1; probability of those kept. Origin: assumed
	stopBefore      = 1.2    // s; of a stop before the vehicle stands that is looked at. Origin: assumed
	stopAfter       = 1.5    // s; and after it. Origin: assumed, two time constants of the slowest filter
	stopEarly       = 0.2    // s; before the last moving sample, from which it may stand. Origin: assumed
	stopLate        = 0.9    // s; and after. Origin: assumed
	stoppedAt       = 0.2    // m/s; speed below which the vehicle stands, but for noise. Origin: assumed
	stoppedSDs      = 4.0    // 1; and in standard deviations of the noise. Origin: assumed
	stoppedFor      = 1.0    // s; standstill after a stop, at least. Origin: assumed
	leastFirm       = 1.5    // m/s; speed lost in the last stopBefore of a stop, at least. Origin: assumed
	straightStop    = 10.0   // degrees; by which the heading may change in the last stopBefore of a stop. Origin: assumed, a cosine of 0.985
	leastStop       = 4      // 1; fewest samples on either side. Origin: assumed
	stopQ           = 1.0    // m²/s⁵; intensity of the jerk in a stop. Origin: assumed
	stopSteps       = 5.0    // 1; steps of the scan in an interval of samples. Origin: assumed
	mostStopStep    = 0.02   // s; greatest step of it. Origin: assumed
	usualStop       = 4.5    // m/s²; prior of the deceleration before the brake is let go. Origin: assumed
	usualStopU      = 3.0    // m/s²; its standard deviation. Origin: assumed
)

// lagsTried are the time constants of the filters of the first order that are tried.
var lagsTried = []float64{0.03, 0.05, 0.075, 0.1, 0.125, 0.15, 0.175, 0.2, 0.235, 0.27, 0.32, 0.4, 0.5, 0.65, 0.85} // s; time constants tried. Origin: assumed

// stopFeet are the shares of a deceleration that are left when the vehicle stands.
var stopFeet = [3]float64{0, 0.15, 0.4} // 1; shares tried. Origin: assumed

// meansTried are the numbers of fixes of means that are tried.
var meansTried = []int{3, 4, 5, 6, 8} // 1; fixes of a mean; two are not told from a time constant of half a step. Origin: assumed

// startRamps are the build-ups of a start that bounds a filter.
var startRamps = []ramp.Ramp{{}, {Shape: ramp.Linear, Tau: 0.1}, {Shape: ramp.Linear, Tau: 0.2}, {Shape: ramp.Linear, Tau: 0.4}, {Shape: ramp.Lag, Tau: 0.4}, {Shape: ramp.Linear, Tau: 0.8}, {Shape: ramp.Lag, Tau: 1}, {Shape: ramp.Linear, Tau: 1.7}, {Shape: ramp.Lag, Tau: 3.2}} // s; build-ups tried. Origin: assumed

// gainsTried are those of the filters that track speed and acceleration.
var gainsTried = []float64{0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.6} // 1; gains tried. Origin: assumed

// priorKinds weighs the kinds of filter: first order, mean, tracker.
var priorKinds = [3]float64{0.4, 0.25, 0.35} // 1; probabilities among receivers that smooth. Origin: assumed; that a receiver's navigation filter carries acceleration is common practice

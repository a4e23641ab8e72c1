package session

const (
	gentleTau  = 0.7  // s; build-up of thrust above which a launch is a gentle departure. Origin: of 70 recorded departures in traffic 4 took under 0.5 s
	gentleSure = 0.95 // 1; probability of it from which that is said. Origin: assumed
)

// MostLogs is up to how many logs stand for modes where no mode was named. The
// pairs grow with the square of their number.
const MostLogs = 24 // logs; that stand for modes at most. Origin: assumed, nobody names modes by the dozen.

// longestPause is how long a session may rest and still be one stretch of driving:
// longer, and wind, temperature and load begin anew.
const longestPause = 4 * 3600.0 // s; between two launches. Origin: assumed, longer than a meal and shorter than a night.

// briskly is the acceleration that sets the order of speeds and distances in which
// claims are gated.
const briskly = 3.0 // m/s²; over its first seconds. Origin: assumed, a road vehicle at full throttle.

// atOnce is how much of logs is read at one time.
const atOnce = 2 << 30 // bytes; of logs read at one time. Origin: assumed, a gigabyte of columns.

// Of a log that is too long to be held whole.
var (
	stretchFixes = 1 << 18 // fixes; after which a stretch of it is analysed. Origin: assumed, 7 h at 10 Hz and some 50 MB of columns.
	thriftGC     = 20      // %; that the heap may grow between two collections. Origin: assumed, some tenths more processor time on long logs.
	keptRest     = 60.0    // s; of the standstill in which one ends, for the start that follows. Origin: assumed, more than a run's window and its noise ask for.
)

// mostRemembered is up to how many runs of a log have their traces remembered for calls that
// draw them, where this one does not.
var mostRemembered = 500 // runs; of one log. Origin: assumed, more than a long day's session.

// What tells a lift from a gear shift, which takes up to about 0.8 s and costs
// hardly any speed.
const (
	shiftSlack     = 1.5  // of the sheet's shift_s; a stretch without thrust that long is a shift. Origin: assumed, the trace smears both ends.
	regularLongest = 2.0  // s; a regular one that long is a shift. Origin: common practice.
	regularSpeed   = 0.06 // relative; difference in speed of stretches that are alike. Origin: assumed.
	regularTime    = 0.5  // 1; the same of the logarithms of their times. Origin: assumed.
	regularRuns    = 3    // 1; runs that must show it. Origin: assumed.
	regularShare   = 0.75 // 1; share of the runs that pass the speed. Origin: assumed.
	liftSeconds    = 1.0  // s; without thrust. Origin: common practice.
	liftLoss       = 0.6  // m/s; lost. Origin: common practice.
	liftSome       = 0.1  // m/s; lost at least where it was long. Origin: assumed.
	idleSeconds    = 2.0  // s; held at a speed. Origin: common practice.
	goesOn         = 1.5  // m/s; gained afterwards, so that it was not the end. Origin: assumed.
	liftEarliest   = 0.6  // s; after the launch. Origin: assumed.
	liftSlowest    = 1.0  // m/s; the lowest speed at which one is told. Origin: assumed.
	liftThrust     = 0.25 // m/s²; less is no thrust. Origin: common practice.
	liftSure       = 2.5  // times the standard deviations of both speeds; speed lost at least. Origin: assumed.
)

// A coast-down that is worth fitting: no brake and no thrust slow a vehicle by 0.1
// to 0.5 m/s².
const (
	coastSeconds   = 12.0 // s; at least. Origin: common practice.
	coastSpan      = 5.0  // m/s; lost at least. Origin: common practice.
	coastFrom      = 8.0  // m/s; the lowest speed used. Origin: common practice.
	coastHardest   = 0.9  // m/s²; the hardest deceleration of one. Origin: common practice.
	coastGentlest  = 0.03 // m/s²; the gentlest. Origin: common practice.
	coastLook      = 2.0  // s; over which deceleration is looked at. Origin: assumed.
	coastLookLeast = 1.5  // s; the same at least. Origin: assumed.
	coastLookMost  = 4.0  // s; the same where fixes are missing. Origin: assumed.
)

// What grades are read from.
const (
	minGradeSpeed   = 2.0  // m/s; below it vertical velocity says nothing of grade. Origin: assumed.
	gradeFixes      = 10   // 1; vertical velocities at least. Origin: assumed.
	gradeLag        = 0.95 // 1; correlation of neighbouring residuals at most. Origin: assumed.
	steepest        = 0.9  // 1; sine of a grade at most. Origin: assumed, no road is steeper.
	altitudeSpacing = 1.0  // s; between the altitudes that are compared: their noise wanders slowly, and closer ones only add the steps of the print. Origin: assumed.
	altitudeSlack   = 1e-6 // s; allowed for rounding in that. Origin: assumed.
	altitudesLeast  = 6    // 1; altitudes at least. Origin: assumed.
	altitudeWay     = 50.0 // m; between the first and the last at least. Origin: assumed.
)

// How a log is judged.
const (
	slowRate     = 4.5   // Hz; below it the build-up of thrust is not seen. Origin: the accuracy page.
	rateSlack    = 0.03  // relative; this near a whole rate a cadence is that rate. Origin: milliseconds printed at 10 Hz.
	rateLeast    = 0.2   // Hz; of a simulated receiver. Origin: assumed.
	worthwhile   = 0.85  // of the half-width; what is better is advised. Origin: assumed.
	fastRate     = 19.5  // Hz; below it a quicker receiver is tried. Origin: 20 Hz, less the jitter of a cadence.
	middlingRate = 9.5   // Hz; below it one of 10 Hz is tried. Origin: as above.
	tenHertz     = 10    // Hz; tried where the log is slower. Origin: receivers that are sold.
	twentyFive   = 25    // Hz; tried else. Origin: receivers that are sold.
	noisy        = 0.04  // m/s; above it an open sky is tried. Origin: common practice.
	coarse       = 0.02  // m/s; above it finer steps are tried. Origin: common practice.
	fineStep     = 0.005 // m/s; those steps. Origin: two decimals of a knot.
)

// The starts that are simulated to judge a log.
const (
	simStarts   = 3    // 1; starts. Origin: assumed.
	simStream   = 5    // 1; stream of the random numbers. Origin: arbitrary.
	simHeading  = 40   // degrees; heading of the starts. Origin: arbitrary.
	simRest     = 6.03 // s; at rest before the first start. Origin: assumed, so that the parts of a second fall between the fixes.
	simRestStep = 0.37 // s; more before each further start. Origin: assumed, for the same reason.
)

// The accelerometer that is simulated.
const (
	idealRate      = 100   // Hz; its rate. Origin: loggers that are sold.
	idealVibration = 0.3   // m/s²; standard deviation of a sample. Origin: common practice.
	idealOffset    = 0.003 // s; standard uncertainty of its clock. Origin: what alignment reaches on simulated logs.
)

// What a second source of the motion may differ by.
const (
	positionDoubt = 2.5   // m; standard uncertainty of the distance between two positions of one log half a minute apart. Origin: common practice for consumer and automotive receivers under an open sky.
	wayStep       = 10.0  // m; how far apart positions are taken for the way along the road, so that their scatter does not lengthen it. Origin: assumed.
	speedScale    = 0.002 // relative; scale of the way by the receiver's speed. Origin: assumed.
	wheelScale    = 0.01  // relative; the same by the wheels' speed. Origin: common practice, the rolling radius.
	wayFrom       = 3.0   // m/s; the speed from which the way is compared. Origin: assumed, twice a walking pace.
	wayLeast      = 10    // 1; points of a trace that it is compared over at least. Origin: assumed.
	leastFixes    = 10    // 1; fixes of another track that is to be timed by at least. Origin: assumed.
	sameStart     = 3.0   // s; between two sources' first motions of one start at most. Origin: assumed.
	positionLag   = 0.3   // s; by which positions may lag or lead the speed. Origin: assumed.
)

// What tells that runs of two logs are one drive. Two recorders beside each other, at
// 1 and 10 Hz, agreed within 0.05 s at all marks.
const (
	vagueTime   = 1.0 / 3 // 1; share of a time beyond which its half-width leaves nothing to read. Origin: assumed
	clocksApart = 1.5     // s; between the clocks of two logs of one drive. Origin: assumed, loggers stamp a fix when it arrives.
	launchApart = 0.5     // s; between the launches that two logs of one drive show. Origin: assumed, half a sample at 1 Hz.
	clockJitter = 0.02    // s; by which a mark may be off beside its interval. Origin: assumed, the jitter of stamps.
	meetWithin  = 1.6     // 1; half-widths of the difference, by which one mark of thirty may be off. Origin: of a normal one in 600 is.
	sameTop     = 0.02    // 1; by which the highest speeds of one drive may differ. Origin: assumed.

	// Of how a receiver smooths.
	smoothedSure      = 0.95 // 1; probability of a filter from which it is said to be there. Origin: convention
	smoothedPerhaps   = 0.3  // 1; and from which it may be. Origin: assumed
	leastProfileStops = 2    // 1; stops that make a profile. Origin: assumed
	besideU95         = 0.06 // s; half-width of a time constant that an accelerometer told. Origin: the step of those tried, and simulated sessions
	muchUnseen        = 0.05 // s; delay that nothing tells from which it is worth settling. Origin: assumed, the half-width from rest of a 25 Hz receiver
	slowestSmoothed   = 0.3  // s; greatest interval of samples at which an accelerometer tells of a filter. Origin: as estimate.slowestFiltered
)

// How a log is looked at closely.
const (
	portraitFrom   = 0.5    // s; after the launch, from where samples are held against the estimate. Origin: assumed, past the foot
	portraitBefore = 1.5    // s; about the launch in which the first speed shown after a 0 is looked for. Origin: as motion before the launch
	portraitLeast  = 30     // 1; samples that tell a scatter. Origin: assumed
	portraitMost   = 2000   // 1; samples kept for a figure. Origin: assumed, more merge into grey
	medianOfNormal = 0.6745 // 1; median absolute value of a normal distribution of deviation 1. Origin: exact
	tailStill      = 0.1    // m/s; a vehicle that shows less stands. Origin: assumed
	tailBefore     = 1.5    // s; of a stop that are shown before the last sample that moves. Origin: as estimate.stopBefore
	tailAfter      = 1.5    // s; and after it. Origin: as estimate.stopAfter
	tailFrom       = 1.5    // m/s; the least speed that long before. Origin: assumed, an eased stop tells little
	tailsMost      = 8      // 1; stops shown. Origin: as the stops that tell a filter
)

// How a run comes to rest.
const (
	haltStill  = 0.5   // m/s; at or below which the vehicle has come to rest. Origin: assumed, over a receiver's noise and under a walk.
	haltGap    = 2.5   // s; a hole in the speed this long hides the stop. Origin: assumed.
	haltWait   = 90.0  // s; after the run within which it must come to rest. Origin: assumed, a coast-down without brakes takes longer and is none.
	haltGain   = 1.0   // m/s; by which speed may rise again on the way to rest. Origin: assumed.
	haltSlack  = 3.0   // m/s; below which it may rise so: the vehicle rolls on. Origin: assumed.
	longestWay = 300.0 // s; of positions kept of a run at most. Origin: assumed, longer than any run with its stop.
)

// The straight that runs need.
const (
	roomMargin = 100.0 // m; beyond what the runs took, where nobody states another. Origin: assumed, three seconds at 75 mph.
	roomRuns   = 2     // 1; runs with their stops that show how far the next may differ. Origin: arithmetic, one shows no scatter.
)

// Where runs begin.
const (
	restLongest   = 60.0   // s; of the standstill before a launch that its wander is told from. Origin: assumed.
	restLeast     = 2.0    // s; of it where the log has no speed. Origin: assumed.
	restFixes     = 20     // 1; the last fixes of it that give the start. Origin: assumed, 2 s at 10 Hz.
	halvesApart   = 2. / 3 // 1; variance of the difference of two means of a random walk over neighbouring spans, over that of its steps in one span. Origin: arithmetic.
	leastRest     = 8      // 1; fixes at rest from which wander is told. Origin: assumed.
	wayEvery      = 0.19   // s; between two positions kept. Origin: assumed, 5 m at 60 mph.
	rangeError    = 4.0    // m; error of a position for each unit of dilution. Origin: common practice, one frequency under an open sky.
	usualHDOP     = 1.5    // 1; dilution where none is told. Origin: assumed.
	worstHDOP     = 50.0   // 1; a dilution from which on it says that none is known. Origin: common practice, receivers write 99.
	leastU        = 0.3    // m; the least a position is believed to. Origin: assumed, an antenna is not the axle.
	wanderLongest = 900.0  // s; after which a wandering position wanders no further. Origin: assumed, a satellite's error turns round in a quarter of an hour.
	sameWay       = 30.0   // °; within which two headings are one way. Origin: assumed.
	lineUp        = 75.0   // m; along the way within which starts are on one stretch. Origin: assumed, vehicles turn round within so much of the line.
	lane          = 20.0   // m; the same across it. Origin: assumed, half of a runway's width.
	startsAgreed  = 3      // 1; starts that make a stretch the session's. Origin: assumed.
	wayAgreed     = 4      // 1; runs one way that make a single one back another way. Origin: assumed, a session that alternates never has them.
)

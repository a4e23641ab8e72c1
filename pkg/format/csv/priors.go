package csv

import "time"

// What a log's table looks like. Where no origin is named, a number here is
// assumed, and holds on the real and invented logs of this package's tests.
const (
	sampleRows    = 4000 // rows of the head that are looked at
	foreword      = 400  // lines that may stand before a table
	headerReach   = 60   // lines above the first row in which the header is looked for
	unitsReach    = 3    // lines below the header in which the units are
	rowsInARow    = 3    // that begin the data
	nextDelimiter = 1.3  // times as well as the one before a delimiter reads: decimal commas cut evenly too
	nextDecimal   = 1.02 // the same of the decimal comma
	strictShare   = 95   // % of rows with the usual number of fields, from which others are damaged
	nearlyNumber  = 0.9  // worth of a time or a number with a unit beside a number
	anyCell       = 0.2  // worth of any cell
	unitBytes     = 7    // most of a unit behind a number
	stampBytes    = 40   // fewer hold a date and time
	meantName     = 10   // worth of a name that means something in a header
	rightNumber   = 3    // worth of as many names as fields
	missingNames  = 3    // most names that may be missing

	nearlyAll    = 0.9 // share of cells or rows that stands for all
	fineDecimals = 5   // of degrees, 1 m: least of a position without a header
	mostTravel   = 2.0 // degrees, 200 km: below which it moves
	leastAngle   = 0.5 // degrees that it lies off zero
	joinedWeight = 7   // of a speed made from components: above a bare word, below one with a unit
)

// How rows are put in order.
const (
	spareRows     = 1.05    // room made for rows, of those that the sample promises
	progressLines = 1 << 14 // between reports
	mostMarks     = 10000   // of a log: more are a column that is none
	trail         = 4096    // rows outside the part that are kept to judge the order of those that follow
	leapSteps     = 10      // usual steps ahead, from which the rows before may be wrong
	lateSteps     = 3       // usual steps that a row may be late
	leapWitnesses = 5       // rows more that have to go on where none before the leap does
	restartRows   = 20      // in a row from a low value: the count began again
)

// What tells the unit of a column.
const (
	hugeAngle  = 1e6  // beyond degrees and minutes: units of 1e-7 degree
	allMinutes = 0.98 // share of angles ending in less than 60 that are degrees and minutes

	leastRatios     = 5     // of two speeds, or of way and speed, that tell a unit
	movingPart      = 3     // part of the top speed from which ratios are taken
	speedMatch      = 0.06  // difference of logarithms that is none: kn and mph lie 0.14 apart
	positionMatch   = 0.065 // the same against the position
	rareMatch       = 0.02  // the same of rarer units
	mostSpread      = 0.5   // of the middle half of spreadStretches ratios, over their median
	spreadStretches = 10
	leastStretch    = int64(time.Second) // of way, with leastWay so long that noise is small
	longestStretch  = int64(5 * time.Minute)
	mostGap         = int64(time.Minute)
	leastWay        = 10 // m

	gridMatch    = 2e-6 // rounding of values with six decimals
	leastSteps   = 5    // different values that show a grid
	leastOnGrid  = 0.05 // share of values
	mostSteps    = 4096 // different values that are looked at
	rounding     = 0.51 // of a step, by which a printed value is off at most
	finestGap    = 1e-6 // in the column's unit or m/s: less is the error of a conversion
	finestBus    = 1e-4 // step of a vehicle's bus in the column's unit
	busCoarser   = 1.5  // times what is printed
	busFractions = 8    // steps in the smallest gap seen
	busRounding  = 0.6  // of the last decimal
	gridSlack    = 0.01 // of a step, by which a value may miss it
	decimalSlack = 1e-4 // the same of a power of ten
	firstMatch   = 0.2  // of a step, by which the first guess of it may miss

	clearlyFiner = 0.99 // ratio of steps from which one column is finer
	sameShare    = 0.98 // of rows that agree, from which two columns are the same
	leastAlike   = 10   // rows, above which that is told
	leastCounts  = 100  // weight at rest of an accelerometer in bare counts
)

// When rows repeat what a sensor delivered before, and what a receiver can do.
const (
	leastRepeats  = 30    // rows that say how a sensor is written
	leastChanges  = 10    // and changes in them
	enoughChanges = 20000 // changes that say it for all of the log
	oftenRepeated = 0.4   // share of changes after more than one row
	rowsAChange   = 1.6   // on the mean, where rows are repeated
	wholeDelivery = 0.7   // of the longer times between changes: less is the rest of a delivery
	sameDelivery  = 0.5   // of a period, within which a change belongs to the delivery before
	nextDelivery  = 0.98  // of a period, after which another is due
	standingPart  = 10    // part of the fast half's speed below which alike values are genuine
	worthJoining  = 0.8   // share of rows kept, above which joining is not worth it
	sameRate      = 0.8   // of a stamp's rate: a receiver this close makes the stamp

	quickestReceiver = 34e6   // ns, just above 30 Hz: common receivers end at 25 Hz
	slowReceiver     = 4      // times slower than the wheels a receiver misses the launch
	slowPeriod       = 0.25e9 // ns, if it is also slower than 4 Hz
)

package csv

import "time"

// What a log's table looks like. Every number that is assumed holds on the real
// and invented logs of this package's tests.
const (
	wholeHead     = 4096    // byte; a head below is taken for the whole log. Origin: assumed
	mostMapping   = 1 << 20 // byte; longest mapping that is read. Origin: assumed
	sampleRows    = 4000    // 1; rows of the head that are looked at. Origin: assumed
	foreword      = 400     // 1; lines that may stand before a table. Origin: assumed
	headerReach   = 60      // 1; lines above the first row in which the header is looked for. Origin: assumed
	unitsReach    = 3       // 1; lines below the header in which the units are. Origin: assumed
	rowsInARow    = 3       // 1; rows in a row that begin the data. Origin: assumed
	nextDelimiter = 1.3     // 1; times as well as the one before a delimiter reads: decimal commas cut evenly too. Origin: assumed
	nextDecimal   = 1.02    // 1; the same of the decimal comma. Origin: assumed
	strictShare   = 95      // %; share of rows with the usual number of fields, from which others are damaged. Origin: assumed
	nearlyNumber  = 0.9     // 1; worth of a time or a number with a unit beside a number. Origin: assumed
	anyCell       = 0.2     // 1; worth of any cell. Origin: assumed
	unitBytes     = 7       // byte; most of a unit behind a number. Origin: assumed
	stampBytes    = 40      // byte; fewer hold a date and time. Origin: assumed
	meantName     = 10      // 1; worth of a name that means something in a header. Origin: assumed
	rightNumber   = 3       // 1; worth of as many names as fields. Origin: assumed
	missingNames  = 3       // 1; most names that may be missing. Origin: assumed

	nearlyAll    = 0.9 // 1; share of cells or rows that stands for all. Origin: assumed
	fineDecimals = 5   // 1; decimals of degrees, 1 m: least of a position without a header. Origin: assumed
	mostTravel   = 2.0 // °; most that it moves by, 200 km. Origin: assumed
	leastAngle   = 0.5 // °; least that it lies off zero. Origin: assumed
	joinedWeight = 7   // 1; weight of a speed made from components: above a bare word, below one with a unit. Origin: assumed
)

// How rows are put in order.
const (
	spareRows     = 1.05    // 1; room made for rows, over what the sample promises. Origin: assumed
	progressLines = 1 << 14 // 1; lines between reports. Origin: assumed
	mostUnstamped = 10000   // 1; rows without a time that wait for the next that has one. Origin: assumed
	mostMarks     = 10000   // 1; marks of a log: more are a column that is none. Origin: assumed
)

// What tells the unit of a column.
const (
	hugeAngle  = 1e6  // 1; value beyond degrees and minutes: units of 1e-7 degree. Origin: assumed
	allMinutes = 0.98 // 1; share of angles ending in less than 60 that are degrees and minutes. Origin: assumed

	leastRatios     = 5                      // 1; ratios of two speeds, or of way and speed, that tell a unit. Origin: assumed
	movingPart      = 3                      // 1; part of the top speed from which ratios are taken. Origin: assumed
	speedMatch      = 0.06                   // 1; difference of logarithms that is none: kn and mph lie 0.14 apart. Origin: assumed
	positionMatch   = 0.065                  // 1; the same against the position. Origin: assumed
	rareMatch       = 0.02                   // 1; the same of rarer units. Origin: assumed
	mostSpread      = 0.5                    // 1; spread of the middle half of spreadStretches ratios, over their median. Origin: assumed
	spreadStretches = 10                     // 1; ratios that mostSpread is for. Origin: assumed
	leastStretch    = int64(time.Second)     // ns; shortest stretch of way, with leastWay so long that noise is small. Origin: assumed
	longestStretch  = int64(5 * time.Minute) // ns; longest stretch of way. Origin: assumed
	mostGap         = int64(time.Minute)     // ns; longest gap in it. Origin: assumed
	leastWay        = 10                     // m; shortest way of a stretch. Origin: assumed

	gridMatch     = 2e-6   // 1; rounding of values with six decimals, relative or in the column's unit. Origin: assumed
	leastSteps    = 5      // 1; different values that show a grid. Origin: assumed
	leastOnGrid   = 0.05   // 1; share of values that lie on it. Origin: assumed
	mostSteps     = 4096   // 1; different values that are looked at. Origin: assumed
	rounding      = 0.51   // 1; share of a step, by which a printed value is off at most. Origin: assumed
	finestGap     = 1e-6   // 1; gap in the column's unit or m/s, less is the error of a conversion. Origin: assumed
	finestBus     = 1e-4   // 1; step of a vehicle's bus in the column's unit. Origin: assumed
	busCoarser    = 1.5    // 1; times what is printed, which such a step exceeds. Origin: assumed
	busFractions  = 8      // 1; steps in the smallest gap seen. Origin: assumed
	busRounding   = 0.6    // 1; share of the last decimal, by which a value of it is off at most. Origin: assumed
	gridSlack     = 0.01   // 1; share of a step, by which a value may miss it. Origin: assumed
	finestDecimal = 0.5e-6 // 1; half of the last decimal that is looked for, the sixth. Origin: assumed
	decimalSlack  = 1e-4   // 1; the same of a power of ten. Origin: assumed
	firstMatch    = 0.2    // 1; share of a step, by which the first guess of it may miss. Origin: assumed

	clearlyFiner = 0.99 // 1; ratio of steps from which one column is finer. Origin: assumed
	sameShare    = 0.98 // 1; share of rows that agree, from which two columns are the same. Origin: assumed
	leastAlike   = 10   // 1; rows, above which that is told. Origin: assumed
	leastCounts  = 100  // 1; weight at rest of an accelerometer in bare counts. Origin: assumed
)

// When rows repeat what a sensor delivered before, and what a receiver can do.
const (
	leastRepeats  = 30    // 1; rows that say how a sensor is written. Origin: assumed
	leastChanges  = 10    // 1; changes in them that do. Origin: assumed
	enoughChanges = 20000 // 1; changes that say it for all of the log. Origin: assumed
	oftenRepeated = 0.4   // 1; share of changes after more than one row. Origin: assumed
	rowsAChange   = 1.6   // 1; rows to a change on the mean, where rows are repeated. Origin: assumed
	wholeDelivery = 0.7   // 1; share of the longer times between changes: less is the rest of a delivery. Origin: assumed
	sameDelivery  = 0.5   // 1; share of a period, within which a change belongs to the delivery before. Origin: assumed
	nextDelivery  = 0.98  // 1; share of a period, after which another is due. Origin: assumed
	standingPart  = 10    // 1; part of the fast half's speed below which alike values are genuine. Origin: assumed
	worthJoining  = 0.8   // 1; share of rows kept, above which joining is not worth it. Origin: assumed
	sameRate      = 0.8   // 1; share of a stamp's rate: a receiver this close makes the stamp. Origin: assumed

	quickestReceiver = 34e6   // ns; period just above 30 Hz: common receivers end at 25 Hz. Origin: assumed
	slowReceiver     = 4      // 1; times slower than the wheels a receiver misses the launch. Origin: assumed
	slowPeriod       = 0.25e9 // ns; its period, if it is also slower than 4 Hz. Origin: assumed
)

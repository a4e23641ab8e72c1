package clock

import "time"

// What a clock of a log looks like. Every number is assumed, and holds on the
// real and invented logs of the csv package's tests.
const (
	leastRead      = 0.3 // share of rows with a time, above which a column is a clock
	mostBack       = 0.2 // share of steps back, below which it is one
	surelyRead     = 0.9 // leastRead of a column without a header
	surelyForward  = 0.02
	surelyDistinct = 0.5 // share of its rows that have a time of their own
	surelyEven     = 1.0 // jitter, below which it is a clock
	leastAnchor    = 0.5 // share of rows with a time that lets a clock date another
	anchorSlack    = int64(time.Second) / 2

	jitterShare   = 0.8  // of the steps: one wild step in ten hides nothing, nor do a few even ones
	even          = 0.01 // jitter below which a clock is as good as any
	clearlyMore   = 1.2  // times as many stamps of its own decide between clocks
	clearlyEvener = 2.0  // and so does so much less jitter
	farEvener     = 8.0  // or this, against rows spread inside a coarse stamp, a makeshift

	leastTicks = 4   // stamps that tell whether rows share them evenly
	evenTicks  = 0.8 // share of stamps that carry the usual number of rows
	tickSlack  = 0.2 // of the number, or half a row

	longest    = 300 * day // ns of elapsed time: a log is shorter than a year
	farCount   = 200 * day // ns, from which a count begins with the log
	outermost  = 0.02      // share of values left out at either end, where damage shows
	epochFrom  = 9.4e17    // ns since 1970 that are taken as a date, longer than any elapsed time: 1999
	epochTo    = 4e18      // 2096
	mostDays   = 1e5       // from 1970, 270 years
	mostWeeks  = 8000      // of GPS, 150 years
	mostBadDay = 0.01      // share of values that may be no hhmmss in a column of it

	slowestDays     = 0.01 // day, 14 minutes: longest step of a count of days
	slowestFraction = 2e-4 // day, 17 s: longest step of a fraction of a day
	leastFraction   = 0.01 // day, 14 minutes after midnight: least one without a unit

	// Loggers write between one row in 30 s and 1,000 a second.
	slowestSecond = 3.0 // longest step of a count of seconds with decimals
	leastMilli    = 5.0 // shortest step of a count of ms
	leastMicro    = 3e3 // of us
	leastNano     = 3e6 // of ns
	mostSeconds   = 1e5 // a day: largest whole number that is seconds if it rises by one
	longestUnit   = 4   // bytes that may follow a count
)

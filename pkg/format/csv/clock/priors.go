package clock

import "time"

// What a clock of a log looks like. Every number is assumed, and holds on the
// real and invented logs of the csv package's tests.
const (
	leastRead      = 0.3                    // 1; share of rows with a time, above which a column is a clock. Origin: assumed
	mostBack       = 0.2                    // 1; share of steps back, below which it is one. Origin: assumed
	leastStamped   = 10                     // 1; stamps that tell a clock whose other rows have none. Origin: assumed
	mostLate       = 0.6                    // 1; share of rows that may be up to recording.Late behind. Origin: assumed
	surelyRead     = 0.9                    // 1; leastRead of a column without a header. Origin: assumed
	surelyForward  = 0.02                   // 1; mostBack of a column without a header. Origin: assumed
	surelyDistinct = 0.5                    // 1; share of its rows that have a time of their own. Origin: assumed
	surelyEven     = 1.0                    // 1; jitter, below which it is a clock. Origin: assumed
	leastAnchor    = 0.5                    // 1; share of rows with a time that lets a clock date another. Origin: assumed
	anchorSlack    = int64(time.Second) / 2 // ns; by how much more than their steps the difference of two clocks may vary. Origin: assumed

	jitterShare   = 0.8  // 1; share of the steps whose jitter is taken: one wild step in ten hides nothing, nor do a few even ones. Origin: assumed
	even          = 0.01 // 1; jitter below which a clock is as good as any. Origin: assumed
	clearlyMore   = 1.2  // 1; times as many stamps of its own decide between clocks. Origin: assumed
	clearlyEvener = 2.0  // 1; times less jitter, which decides between them too. Origin: assumed
	farEvener     = 8.0  // 1; the same against rows spread inside a coarse stamp, a makeshift. Origin: assumed

	leastTicks = 4   // 1; stamps that tell whether rows share them evenly. Origin: assumed
	evenTicks  = 0.8 // 1; share of stamps that carry the usual number of rows. Origin: assumed
	tickSlack  = 0.2 // 1; share of that number that it may be off, or half a row. Origin: assumed

	longest    = 300 * day // ns; elapsed time of a log, which is shorter than a year. Origin: assumed
	farCount   = 200 * day // ns; count from which it begins with the log. Origin: assumed
	outermost  = 0.02      // 1; share of values left out at either end, where damage shows. Origin: assumed
	epochFrom  = 9.4e17    // ns; since 1970, from which a count is taken as a date, longer than any elapsed time: 1999. Origin: assumed
	epochTo    = 4e18      // ns; since 1970, up to which it is: 2096. Origin: assumed
	mostDays   = 1e5       // day; from 1970, 270 years. Origin: assumed
	mostWeeks  = 8000      // week; of GPS, 150 years. Origin: assumed
	mostBadDay = 0.01      // 1; share of values that may be no hhmmss in a column of it. Origin: assumed

	slowestDays     = 0.01 // day; longest step of a count of days, 14 minutes. Origin: assumed
	slowestFraction = 2e-4 // day; longest step of a fraction of a day, 17 s. Origin: assumed
	leastFraction   = 0.01 // day; least fraction of a day without a unit, 14 minutes after midnight. Origin: assumed

	// Loggers write between one row in 30 s and 1,000 a second.
	slowestSecond = 3.0 // s; longest step of a count of seconds with decimals. Origin: assumed
	leastMilli    = 5.0 // ms; shortest step of a count of ms. Origin: assumed
	leastMicro    = 3e3 // us; shortest step of a count of us. Origin: assumed
	leastNano     = 3e6 // ns; shortest step of a count of ns. Origin: assumed
	mostSeconds   = 1e5 // s; largest whole number that is seconds if it rises by one, about a day. Origin: assumed
	longestUnit   = 4   // byte; most that may follow a count. Origin: assumed
)

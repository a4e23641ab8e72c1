// Package clock finds out how a table of text tells the time, and reads it.
//
// Its model: every column of time is a candidate. How it is written, as text, as
// a count from some zero, as digits hhmmss or in columns of its own, is found on
// a sample of rows; how well it runs is measured there; and of those that run the
// most even one with a time of its own for every row is the log's clock. A clock
// of elapsed time is set by another that is dated.
//
// Times are ns: since 1970 in UTC, since midnight of a time of day, since the
// logger's zero of elapsed time.
//
// Limits: GPS time is put 18 leap seconds before UTC, as since 2017; a count that
// rises by one from row to row is taken as seconds.
package clock

import (
	"math"
	"time"

	"fromrest/pkg/format/csv/text"
)

// The kinds of clocks, as recording.Recording names them.
const (
	UTC       = "utc"
	TimeOfDay = "time-of-day"
	Elapsed   = "elapsed"
)

const (
	day    = int64(24 * time.Hour)
	week   = 7 * day
	second = int64(time.Second)

	// noTime marks a row without a readable time.
	noTime = math.MinInt64
	// gpsEpoch is 1980-01-06 in ns since 1970.
	gpsEpoch = 315964800 * second
	// leapSeconds is GPS time minus UTC since 2017-01-01.
	leapSeconds = 18 * second
)

// Clock is one way to read the instant of a row.
type Clock struct {
	Name    string // of the column
	Kind    string // UTC, TimeOfDay or Elapsed
	Col     int    // column of the time, -1 where it is in several
	Date    int    // column of the date, -1 where there is none
	Step    time.Duration
	GPSWeek bool    // seconds of a GPS week of which the number is not known
	Median  float64 // ns, median step
	PerTick int     // rows that share each time stamp evenly, 0 where each has its own
	Shift   int64   // ns, to be added to what Read gives
	Anchor  string  // the column that dated an elapsed clock
	Guess   string  // what was assumed, for a note
	Form    string  // how the time is written: one of Forms or a unit of duration, "" where no name tells

	week    int // column of the GPS week, -1 where there is none
	decimal byte
	order   text.DateOrder
	parts   *[parts]int                        // columns of year to millisecond, -1 for none
	cell    func(b []byte) (ns int64, ok bool) // reads the time's cell

	// found on the sample
	times    []int64 // of its rows, noTime for none
	valid    float64 // share of rows with a time
	distinct float64 // share of rows with a time of their own
	back     float64 // share of steps back
	late     float64 // share of rows a little behind the latest
	jitter   float64 // spread of the steps over their median
}

// Week is the column of the GPS week, -1 where there is none.
func (c *Clock) Week() int { return c.week }

// Read gives the instant of a row in ns.
func (c *Clock) Read(row [][]byte) (ns int64, ok bool) {
	if c.parts != nil {
		return c.readParts(row)
	}
	cell := text.Field(row, c.Col)
	if len(cell) == 0 {
		return 0, false
	}
	ns, ok = c.cell(cell)
	switch {
	case ok && c.week >= 0:
		w, _, ok := text.Scaled(text.Field(row, c.week), c.decimal, 1)
		return gpsEpoch + w*week + ns - leapSeconds, ok && w >= 0 && w <= mostWeeks
	case ok && c.Date >= 0:
		st, ok := text.ParseStamp(text.Field(row, c.Date))
		d, dated := st.Days(c.order)
		return d*day + ns, ok && dated
	}
	return ns, ok
}

// Holds reports whether an instant can be one of a log: from 1970 to 2262 with a
// date, within a day as a time of day, within the year that an elapsed clock has
// in a recording.
func (c *Clock) Holds(ns int64) bool {
	switch c.Kind {
	case UTC:
		return ns >= 0
	case TimeOfDay:
		return ns >= 0 && ns < day+second
	}
	return ns > -day && ns < longest
}

// The parts of a time that can have columns of their own, and their number.
const (
	year = iota
	month
	dayOfMonth
	hours
	minutes
	seconds
	milliseconds
	parts
)

// partScale is one of each part, in ns from the hours on.
var partScale = [parts]int64{1, 1, 1, int64(time.Hour), int64(time.Minute), second, int64(time.Millisecond)}

func (c *Clock) readParts(row [][]byte) (ns int64, ok bool) {
	var v [parts]int64
	for i, col := range c.parts {
		if col < 0 {
			continue
		}
		if v[i], _, ok = text.Scaled(text.Field(row, col), c.decimal, partScale[i]); !ok || i >= hours && v[i] < 0 {
			return 0, false
		}
		if i >= hours {
			ns += v[i]
		}
	}
	if v[hours] > day || v[minutes] >= int64(time.Hour) || v[seconds] >= 61*second {
		return 0, false
	}
	if c.Kind != UTC {
		return ns, true
	}
	if v[year] < 100 {
		v[year] += 2000
	}
	d, ok := text.CivilDays(int(v[year]), int(v[month]), int(v[dayOfMonth]))
	return d*day + ns, ok
}

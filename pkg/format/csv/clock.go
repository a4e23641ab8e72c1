package csv

import (
	"bytes"
	"math"
	"slices"
	"time"
)

// form is how a time is written.
type form int

const (
	formNone   form = iota
	formStamp       // text with a date, a time of day or both
	formScaled      // a number of scale ns, counted from base
	formDays        // a number of days since zero, with a fraction
	formDigits      // hhmmss, hhmmsscc or hhmmssmmm as a number
	formParts       // year, month, day, hour, minute, second in columns of their own
)

// noTime marks a row without a readable time.
const noTime = math.MinInt64

const day = int64(24 * time.Hour)

// The clocks a recording can have.
const (
	clockUTC     = "utc"
	clockTOD     = "time-of-day"
	clockElapsed = "elapsed"
)

// gpsEpoch is 1980-01-06 in ns since 1970.
const gpsEpoch = 315964800 * int64(time.Second)

// leapSeconds is GPS time minus UTC since 2017-01-01.
const leapSeconds = 18 * int64(time.Second)

// clock is one way to read the instant of a row.
type clock struct {
	name string
	kind string // clockUTC, clockTOD or clockElapsed
	col  int
	date int // column of the date, -1 where there is none
	week int // column of the GPS week, -1 where there is none
	form form

	scale   int64   // ns, for formScaled
	zero    float64 // day of the count that is 1970-01-01, for formDays
	sub     int     // digits below the second for formDigits
	decimal byte
	order   dateOrder
	parts   [7]int // columns of year, month, day, hour, minute, second, ms; -1
	gps     bool   // seconds of a GPS week
	step    time.Duration

	// found on the sample
	valid    float64 // share of rows with a time
	distinct float64 // share of rows with a time of their own
	back     float64 // share of steps back
	median   float64 // ns, median step
	jitter   float64 // spread of the steps over their median
	guess    string  // what was assumed, for a note
	spread   bool    // several rows share each time stamp, evenly
	perTick  int     // how many
	anchor   string  // the column that gave an elapsed clock its date
	shift    int64   // ns, added for it
}

// field gives a cell or nothing.
func field(f [][]byte, i int) []byte {
	if i < 0 || i >= len(f) {
		return nil
	}
	return f[i]
}

// read gives the instant of a row in ns: since 1970 for UTC, since midnight for
// a time of day, since the logger's zero for elapsed time.
func (c *clock) read(f [][]byte) (int64, bool) {
	cell := field(f, c.col)
	if len(cell) == 0 && c.form != formParts {
		return 0, false
	}
	var ns int64
	switch c.form {
	case formStamp:
		n, dated, ok := c.readStamp(cell)
		if !ok || dated {
			return n, ok
		}
		ns = n
	case formScaled:
		n, rest, ok := parseScaled(cell, c.decimal, c.scale)
		if !ok || len(rest) > 4 {
			return 0, false
		}
		ns = n
	case formDays:
		v, rest, ok := parseNumber(cell, c.decimal)
		if !ok || len(rest) > 0 || math.Abs(v-c.zero) > 1e5 {
			return 0, false
		}
		// Serial days carry about a microsecond; rounding to it keeps even
		// steps even.
		ns = int64(math.Round((v-c.zero)*86400e6)) * 1000
	case formDigits:
		n, ok := digitClock(cell, c.decimal, c.sub)
		if !ok {
			return 0, false
		}
		ns = n
	case formParts:
		return c.readParts(f)
	}
	return c.addDate(f, ns)
}

// readStamp reads a written time; dated is set where it holds its own date.
func (c *clock) readStamp(cell []byte) (ns int64, dated, ok bool) {
	st, ok := parseStamp(cell)
	if !ok {
		return 0, false, false
	}
	ns = st.nano
	if st.zoned {
		ns -= st.zone
	}
	if c.kind == clockUTC && c.date < 0 {
		d, ok := st.days(c.order)
		if !st.date || !ok {
			return 0, false, false
		}
		return ns + d*day, true, true
	}
	return ns, false, st.clock
}

// addDate adds the date or the GPS week of the row.
func (c *clock) addDate(f [][]byte, ns int64) (int64, bool) {
	if c.week >= 0 {
		w, _, ok := parseScaled(field(f, c.week), c.decimal, 1)
		if !ok || w < 0 || w > 8000 {
			return 0, false
		}
		return gpsEpoch + w*7*day + ns - leapSeconds, true
	}
	if c.date < 0 || c.kind != clockUTC {
		return ns, true
	}
	st, ok := parseStamp(field(f, c.date))
	if !ok || !st.date {
		return 0, false
	}
	d, ok := st.days(c.order)
	return d*day + ns, ok
}

// holds reports whether an instant can be one of a log: from 1970 to 2262 with a
// date, within a day as a time of day, within the year that an elapsed clock has
// in a recording.
func (c *clock) holds(ns int64) bool {
	switch c.kind {
	case clockUTC:
		return ns >= 0
	case clockTOD:
		return ns >= 0 && ns < day+int64(time.Second)
	}
	return ns > -day && ns < 300*day
}

func (c *clock) readParts(f [][]byte) (int64, bool) {
	var v [7]int64
	for i, col := range c.parts {
		if col < 0 {
			continue
		}
		scale := int64(1)
		if i == 5 {
			scale = 1e9
		} else if i == 6 {
			scale = 1e6
		}
		n, _, ok := parseScaled(field(f, col), c.decimal, scale)
		if !ok {
			return 0, false
		}
		v[i] = n
	}
	ns := (v[3]*3600+v[4]*60)*1e9 + v[5] + v[6]
	if v[3] < 0 || v[3] > 24 || v[4] < 0 || v[4] > 59 || v[5] < 0 || v[5] >= 61e9 {
		return 0, false
	}
	if c.kind != clockUTC {
		return ns, true
	}
	if v[0] < 100 {
		v[0] += 2000
	}
	if v[1] < 1 || v[1] > 12 || v[2] < 1 || v[2] > 31 || v[0] < 1970 || v[0] > 2200 {
		return 0, false
	}
	return civilDays(int(v[0]), int(v[1]), int(v[2]))*day + ns, true
}

// digitClock reads hhmmss with sub digits below the second and, where sub is 0,
// a decimal fraction.
func digitClock(b []byte, dec byte, sub int) (int64, bool) {
	n, rest, ok := parseScaled(b, dec, 1e9)
	if !ok || len(rest) > 0 || n < 0 {
		return 0, false
	}
	if sub > 0 {
		n /= int64(math.Pow10(sub))
	}
	whole := n / 1e9
	h, m, s := whole/10000, whole/100%100, whole%100
	if h > 23 || m > 59 || s > 60 {
		return 0, false
	}
	return (h*3600+m*60+s)*1e9 + n%1e9, true
}

// measure looks at the clock on the sample.
func (c *clock) measure(rows [][][]byte) {
	ok, back, same := 0, 0, 0
	var steps []float64
	last := int64(noTime)
	for _, f := range rows {
		t, good := c.read(f)
		if !good {
			continue
		}
		ok++
		if last != noTime {
			switch d := t - last; {
			case d > 0:
				steps = append(steps, float64(d))
			case d == 0:
				same++
			case c.kind == clockTOD && d < -day/2:
			default:
				back++
			}
		}
		last = t
	}
	n := float64(max(len(rows), 1))
	c.valid = float64(ok) / n
	c.distinct = float64(len(steps)+1) / n
	c.back = float64(back) / n
	c.findTicks(rows)
	if len(steps) > 0 {
		c.median = median(steps)
		dev := make([]float64, len(steps))
		for i, s := range steps {
			dev[i] = math.Abs(s - c.median)
		}
		// The 80th percentile, so that one wild step in ten does not hide
		// the quality of the rest, nor a few even ones that of a bad clock.
		slices.Sort(dev)
		c.jitter = dev[len(dev)*8/10] / c.median
	}
}

// findTicks finds out whether the rows share time stamps evenly, such as ten to
// the second.
func (c *clock) findTicks(rows [][][]byte) {
	var counts []float64
	n := 0
	last := int64(noTime)
	for _, f := range rows {
		t, ok := c.read(f)
		if !ok {
			continue
		}
		if t != last && last != noTime {
			counts = append(counts, float64(n))
			n = 0
		}
		n++
		last = t
	}
	if len(counts) < 4 {
		return
	}
	counts = counts[1:] // the first may be cut
	k := median(counts)
	even := 0
	for _, x := range counts {
		if math.Abs(x-k) <= max(0.2*k, 0.5) {
			even++
		}
	}
	if k >= 2 && even*10 >= len(counts)*8 {
		c.spread, c.perTick = true, int(k)
	}
}

// usable reports whether the sample reads as a clock.
func (c *clock) usable() bool {
	return c.valid > 0.3 && c.back < 0.2 && (c.median > 0 || c.valid == 1)
}

// better reports whether c is to be used rather than b.
func (c *clock) better(b *clock) bool {
	const even = 0.01 // a clock this even is as good as any
	cj, bj := max(c.jitter, even), max(b.jitter, even)
	// Rows spread inside a coarse stamp are a makeshift: only a much more even
	// clock is worth it.
	switch {
	case c.spread && !b.spread:
		return cj*8 < bj
	case b.spread && !c.spread:
		return !(bj*8 < cj)
	case c.spread && b.spread && c.perTick != b.perTick:
		return c.perTick < b.perTick
	}
	if c.distinct > 1.2*b.distinct {
		return true
	}
	if b.distinct > 1.2*c.distinct {
		return false
	}
	if cj*2 < bj {
		return true
	}
	if bj*2 < cj {
		return false
	}
	if rank(c) != rank(b) {
		return rank(c) > rank(b)
	}
	return c.step < b.step
}

// rank prefers a clock with a date, then one of the sensor's own.
func rank(c *clock) int {
	r := 0
	switch c.kind {
	case clockUTC:
		r = 4
	case clockTOD:
		r = 2
	}
	if hasPrefixWord(wordsOf(c.name), "sensor", "gnss", "gps", "utc", "meas") {
		r++
	}
	return r
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	if len(s) == 0 {
		return math.NaN()
	}
	return s[len(s)/2]
}

// cellsOf gives the sample's cells of a column that hold something.
func cellsOf(rows [][][]byte, col int) [][]byte {
	var out [][]byte
	for _, f := range rows {
		if c := field(f, col); !missing(c) {
			out = append(out, c)
		}
	}
	return out
}

// printedStep is the number of decimals that the cells are written with; a few
// damaged cells do not count.
func printedStep(cells [][]byte, dec byte) (decimals int) {
	var count [20]int
	for _, c := range cells {
		n := 0
		if i := bytes.LastIndexByte(c, dec); i >= 0 {
			for _, d := range c[i+1:] {
				if d-'0' > 9 {
					break
				}
				n++
			}
		}
		count[min(n, len(count)-1)]++
	}
	seen := 0
	for n := len(count) - 1; n > 0; n-- {
		if seen += count[n]; seen*50 > len(cells) {
			return n
		}
	}
	return 0
}

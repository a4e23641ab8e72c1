package clock

import (
	"math"
	"slices"

	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
)

// scales are the units of a count, in ns.
var scales = map[string]int64{"s": 1e9, "ms": 1e6, "us": 1e3, "ns": 1, "min": 60e9, "h": 3600e9, "day": day}

// serials are counts of days that carry a date: where all values lie between lo
// and hi, the day zero of the count is 1970-01-01.
var serials = []struct{ lo, hi, zero float64 }{
	{30000, 80000, 25569},         // since 1899-12-30, as spreadsheets count
	{700000, 780000, 719529},      // since year 0
	{2440000, 2500000, 2440587.5}, // Julian date, which begins at noon
}

// inNumbers reads the column as numbers: v are the sample's values.
func (s *Sample) inNumbers(c *Clock, v []float64, decimals, date int) bool {
	h, unit := &s.Columns[c.Col], s.Forms[c.Col]
	if unit == "" && h.Unit.Of == header.Duration {
		unit = h.Unit.Name
	}
	lo, hi := Bounds(v)
	if unit == "hhmmss" || unit == "tod" || unit == "" {
		if sub, ok := digitsBelow(v, lo, hi, unit != "" || digitWords.In(h.Words)); ok {
			c.Kind, c.Step, c.Form = TimeOfDay, printedStep(second, sub+decimals), "hhmmss"
			c.cell = func(b []byte) (int64, bool) { return digitClock(b, c.decimal, sub) }
			s.addDate(c, date)
			return true
		}
		if unit != "" {
			return false
		}
	}
	step := Median(rises(v))
	if c.epoch(unit, hi, decimals) || c.days(unit, lo, hi, step, decimals) {
		return true
	}
	gps := unit == "gps" || gpsWords.In(h.Words)
	switch unit {
	case "gps":
		unit = "s"
	case "":
		unit = elapsedUnit(step, hi, gps, decimals)
	}
	scale, ok := scales[unit]
	if !ok {
		return false
	}
	c.counts(Elapsed, scale, decimals)
	if c.Form = unit; gps && unit == "s" {
		c.Form = "gps"
	}
	c.GPSWeek = gps && hi*float64(scale) < float64(week+second)
	return true
}

// counts makes the clock a count in units of scale ns.
func (c *Clock) counts(kind string, scale int64, decimals int) {
	c.Kind, c.Step = kind, printedStep(scale, decimals)
	c.cell = func(b []byte) (int64, bool) {
		ns, rest, ok := text.Scaled(b, c.decimal, scale)
		return ns, ok && len(rest) <= longestUnit
	}
}

// epoch recognises a count from 1970 in any unit, or in the one that is named.
func (c *Clock) epoch(unit string, hi float64, decimals int) bool {
	for _, u := range []string{"s", "ms", "us", "ns"} {
		if ns := hi * float64(scales[u]); ns >= epochFrom && ns < epochTo && (unit == "" || unit == u) {
			c.counts(UTC, scales[u], decimals)
			c.Form = u
			return true
		}
	}
	return false
}

// days recognises counts of days: serial days of spreadsheets, Julian dates,
// fractions of a day.
func (c *Clock) days(unit string, lo, hi, step float64, decimals int) bool {
	if unit != "day" && (unit != "" || !(step < slowestDays)) {
		return false
	}
	zero, found := 0.0, false
	for _, s := range serials {
		if lo > s.lo && hi < s.hi {
			c.Kind, zero, found = UTC, s.zero, true
		}
	}
	if !found {
		if !(lo >= 0 && hi < 1 && step > 0 && step < slowestFraction && (unit == "day" || lo > leastFraction)) {
			return false
		}
		c.Kind = TimeOfDay
	}
	c.Step, c.Form = printedStep(day, decimals), "day"
	c.cell = func(b []byte) (int64, bool) {
		v, rest, ok := text.Number(b, c.decimal)
		// Serial days carry about a microsecond; rounding to it keeps even
		// steps even.
		return int64(math.Round((v-zero)*86400e6)) * 1000, ok && len(rest) == 0 && math.Abs(v-zero) <= mostDays
	}
	return true
}

// clockDigits cuts hhmmss into its parts.
func clockDigits(n int64) (h, m, s int64) { return n / 10000, n / 100 % 100, n % 100 }

// digitClock reads hhmmss with sub digits below the second and, where sub is 0,
// a decimal fraction.
func digitClock(b []byte, dec byte, sub int) (ns int64, ok bool) {
	n, rest, ok := text.Scaled(b, dec, second)
	if !ok || len(rest) > 0 || n < 0 {
		return 0, false
	}
	for range sub {
		n /= 10
	}
	h, m, s := clockDigits(n / second)
	return (h*3600+m*60+s)*second + n%second, h <= 23 && m <= 59 && s <= 60
}

// digitsBelow finds the number of digits below the second in hhmmss numbers. The
// digits must be able to be a time in every row, and either the column says so
// or the values pass a full minute, which no count of seconds survives. Of
// several numbers it is the one with the most even steps.
func digitsBelow(v []float64, lo, hi float64, said bool) (sub int, ok bool) {
	best := math.Inf(1)
	for _, digits := range []int{0, 2, 3} {
		p := math.Pow10(digits)
		if hi >= 240000*p || !said && (hi < 10000*p || int(lo/p)/100 == int(hi/p)/100) {
			continue
		}
		var times []float64
		for _, x := range v {
			whole := math.Floor(x / p)
			if h, m, s := clockDigits(int64(whole)); whole < 240000 && m <= 59 && s < 60 {
				times = append(times, float64(h*3600+m*60+s)+(x/p-whole))
			}
		}
		steps := rises(times)
		if float64(len(v)-len(times)) > mostBadDay*float64(len(v)) || len(steps) == 0 {
			continue
		}
		if r := slices.Max(steps) / Median(steps); r < best {
			best, sub, ok = r, digits, true
		}
	}
	return sub, ok
}

// elapsedUnit tells the unit of a count by its usual step, "" where it cannot be
// told.
func elapsedUnit(step, hi float64, gps bool, decimals int) string {
	switch {
	case math.IsNaN(step):
		return ""
	case step < 1, decimals > 0 && step <= slowestSecond, step == 1 && hi < mostSeconds,
		gps && hi < float64(week/second) && (decimals > 0 || step <= 1):
		return "s"
	case step >= leastNano:
		return "ns"
	case step >= leastMicro:
		return "us"
	case step >= leastMilli:
		return "ms"
	}
	return ""
}

// rises are the steps up between neighbouring values.
func rises(v []float64) []float64 {
	var out []float64
	for i := 1; i < len(v); i++ {
		if v[i] > v[i-1] {
			out = append(out, v[i]-v[i-1])
		}
	}
	return out
}

// Median is the upper one of the middle values, NaN for none.
func Median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(v))
	return s[len(s)/2]
}

// Bounds are the smallest and the largest value but for the outermost fiftieth,
// where damage shows.
func Bounds(v []float64) (lo, hi float64) {
	s := slices.Sorted(slices.Values(v))
	n := len(s)
	k := int(outermost * float64(n))
	if k == 0 && n >= 10 {
		k = 1
	}
	return s[k], s[n-1-k]
}

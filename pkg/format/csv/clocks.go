package csv

import (
	"math"
	"slices"
	"time"
)

// findClocks lists the clocks of the sample, those that read well.
func findClocks(d *dialect, cols []heading, units map[int]string) []*clock {
	date, week, parts := timeColumns(cols)
	if c := partsClock(d, cols, parts); c != nil {
		if c.measure(d.rows); c.usable() {
			return []*clock{c}
		}
	}
	var out []*clock
	for i := range cols {
		if cols[i].role != roleTime && cols[i].role != roleDate {
			continue
		}
		if c := newClock(d, cols, i, date, week, units[i]); c != nil {
			if c.measure(d.rows); c.usable() {
				out = append(out, c)
			}
		}
	}
	return out
}

// timeColumns finds the columns with the date, the GPS week, and the year to
// the millisecond where each has its own; -1 for none.
func timeColumns(cols []heading) (date, week int, parts [7]int) {
	date, week = -1, -1
	parts = [7]int{-1, -1, -1, -1, -1, -1, -1}
	for i, h := range cols {
		switch h.role {
		case roleDate:
			if date < 0 {
				date = i
			}
		case roleWeek:
			week = i
		case roleYear, roleMonth, roleDay, roleHour, roleMinute:
			parts[h.role-roleYear] = i
		case roleTime:
			if parts[4] >= 0 && parts[3] >= 0 && parts[5] < 0 && hasWord(h.words, "second", "seconds", "sec", "sekunde") {
				parts[5] = i
			} else if parts[5] >= 0 && parts[6] < 0 && (h.unit.name == "ms" && len(h.words) == 1) {
				parts[6] = i
			}
		}
	}
	return date, week, parts
}

// partsClock is the clock of a table with a column each for hour, minute and
// second, nil where it has none.
func partsClock(d *dialect, cols []heading, parts [7]int) *clock {
	if parts[3] < 0 || parts[4] < 0 || parts[5] < 0 {
		return nil
	}
	c := &clock{name: cols[parts[5]].raw, kind: clockTOD, col: -1, date: -1, week: -1, form: formParts,
		decimal: d.decimal, parts: parts, step: time.Second}
	if parts[0] >= 0 && parts[1] >= 0 && parts[2] >= 0 {
		c.kind = clockUTC
	}
	dec := printedStep(cellsOf(d.rows, parts[5]), d.decimal)
	c.step = stepOf(int64(time.Second), dec)
	if parts[6] >= 0 {
		c.step = time.Millisecond
	}
	return c
}

func stepOf(scale int64, decimals int) time.Duration {
	s := float64(scale) / math.Pow10(decimals)
	if s < 1 {
		return 0
	}
	return time.Duration(s)
}

// newClock finds how column i writes time, or gives nil.
func newClock(d *dialect, cols []heading, i, date, week int, unitWord string) *clock {
	cells := cellsOf(d.rows, i)
	if len(cells) == 0 {
		return nil
	}
	c := &clock{name: cols[i].raw, col: i, date: -1, week: -1, decimal: d.decimal}
	if c.name == "" {
		c.name = columnNumber(i)
	}
	if c.stamped(d, cells, date, unitWord) {
		return c
	}
	if cols[i].role == roleDate && unitWord == "" && !hasWord(cols[i].words, "time", "datetime") {
		return nil
	}
	var v []float64
	for _, cell := range cells {
		if x, rest, ok := parseNumber(cell, d.decimal); ok && len(rest) <= 4 {
			v = append(v, x)
		}
	}
	if len(v)*2 < len(cells) || len(v) == 0 {
		return nil
	}
	decimals := printedStep(cells, d.decimal)
	if !c.numbered(v, decimals, &cols[i], unitWord) {
		return nil
	}
	if c.form == formDigits && date >= 0 && date != i {
		c.addDateColumn(d, date)
	}
	if c.kind == clockElapsed && week >= 0 && c.gps {
		c.kind, c.week = clockUTC, week
	}
	return c
}

// addDateColumn makes a time of day into an instant where the date column reads.
func (c *clock) addDateColumn(d *dialect, date int) {
	cells := cellsOf(d.rows, date)
	order, guess, ok := d.dateOrder(cells)
	if ok {
		c.kind, c.date, c.order = clockUTC, date, order
		if guess != "" {
			c.guess = guess
		}
	}
}

// stamped reads the column as text with a date, a time of day or both.
func (c *clock) stamped(d *dialect, cells [][]byte, date int, unitWord string) bool {
	if unitWord != "" && unitWord != "iso" && unitWord != "tod" {
		return false
	}
	good, dated, clocked, frac, ampm, short := 0, 0, 0, 0, 0, 0
	for _, cell := range cells {
		st, ok := parseStamp(cell)
		if !ok {
			continue
		}
		if !st.clock && allDigits(cell) { // 140214 alone may be anything
			continue
		}
		good++
		if st.date {
			dated++
		}
		if st.clock {
			clocked++
			frac = max(frac, st.frac)
		}
		if st.ampm {
			ampm++
		}
		if st.parts == 2 && st.frac > 0 {
			short++
		}
	}
	if clocked*2 < len(cells) || clocked == 0 {
		return false
	}
	c.form, c.kind = formStamp, clockTOD
	c.step = stepOf(int64(time.Second), frac)
	if dated*2 > clocked {
		order, guess, ok := d.dateOrder(cells)
		if !ok {
			return false
		}
		if guess != "" && ampm > 0 {
			order = monthFirst
		}
		c.kind, c.order, c.guess = clockUTC, order, guess
	} else if date >= 0 && date != c.col {
		c.addDateColumn(d, date)
	} else if short == clocked || hasWord(wordsOf(c.name), "elapsed", "duration", "runtime", "stopwatch") {
		c.kind = clockElapsed
	}
	return true
}

// durations in ns by name, for scaled forms.
var timeScales = map[string]int64{"s": 1e9, "ms": 1e6, "us": 1e3, "ns": 1, "min": 60e9, "h": 3600e9, "day": day}

// numbered reads the column as numbers: v are the sample's values.
func (c *clock) numbered(v []float64, decimals int, h *heading, unitWord string) bool {
	lo, hi := bounds(v)
	var steps []float64
	for i, x := range v {
		if i > 0 && x > v[i-1] {
			steps = append(steps, x-v[i-1])
		}
	}
	step := median(steps)
	name := unitWord
	if name == "" && h.hasUnit && h.unit.q == duration {
		name = h.unit.name
	}
	if name == "hhmmss" || name == "" || name == "tod" {
		if sub, ok := digitForm(v, lo, hi, name != "" || hasWord(h.words, "utc", "hhmmss", "hhmmsssss", "gmt")); ok {
			c.form, c.kind, c.sub = formDigits, clockTOD, sub
			c.step = stepOf(int64(time.Second), sub+decimals)
			return true
		}
		if name != "" {
			return false
		}
	}
	if c.calendar(name, lo, hi, step) {
		c.step = stepOf(c.scale, decimals)
		return true
	}
	gps := name == "gps" || name == "sow" || hasWord(h.words, "tow", "sow", "itow", "gps", "gpstime")
	if name == "gps" || name == "sow" {
		name = "s"
	}
	if name == "" {
		name = elapsedUnit(step, hi, gps || hasWord(h.words, "itow"), decimals)
	}
	scale, ok := timeScales[name]
	if !ok {
		return false
	}
	c.form, c.scale, c.kind = formScaled, scale, clockElapsed
	c.gps = gps && hi*float64(scale) < 604801e9
	c.step = stepOf(scale, decimals)
	return true
}

// bounds are the smallest and the largest value but for the outermost fiftieth,
// where damage shows.
func bounds(v []float64) (lo, hi float64) {
	s := slices.Clone(v)
	slices.Sort(s)
	n := len(s)
	k := n / 50
	if k == 0 && n >= 10 {
		k = 1
	}
	return s[k], s[n-1-k]
}

// calendar recognises numbers that carry a date: the epoch of 1970 in any unit,
// serial days of spreadsheets, Julian days.
func (c *clock) calendar(name string, lo, hi, step float64) bool {
	for _, e := range []struct {
		name   string
		lo, hi float64
		scale  int64
	}{{"s", 9.4e8, 4e9, 1e9}, {"ms", 9.4e11, 4e12, 1e6}, {"us", 9.4e14, 4e15, 1e3}, {"ns", 9.4e17, 4e18, 1}} {
		if hi >= e.lo && hi < e.hi && (name == "" || name == e.name) {
			c.form, c.kind, c.scale = formScaled, clockUTC, e.scale
			return true
		}
	}
	if name != "" && name != "day" || !(step < 0.01) && name == "" {
		return false
	}
	c.form, c.scale = formDays, day
	switch {
	case lo > 30000 && hi < 80000: // days since 1899-12-30
		c.kind, c.zero = clockUTC, 25569
	case lo > 700000 && hi < 780000: // days since year 0
		c.kind, c.zero = clockUTC, 719529
	case lo > 2440000 && hi < 2500000: // Julian date, which begins at noon
		c.kind, c.zero = clockUTC, 2440587.5
	case lo >= 0 && hi < 1 && step < 2e-4 && step > 0 && (name == "day" || lo > 0.01): // fraction of a day
		c.kind, c.zero = clockTOD, 0
	default:
		return false
	}
	return true
}

// digitForm finds the number of digits below the second in hhmmss numbers. The
// digits must be able to be a time in every row, and either the column says so
// or the values pass a full minute, which no count of seconds survives.
func digitForm(v []float64, lo, hi float64, said bool) (sub int, ok bool) {
	bestRatio := math.Inf(1)
	for _, s := range []int{0, 2, 3} {
		p := math.Pow10(s)
		if hi >= 240000*p || hi < 100*p && !said {
			continue
		}
		bad, passed := 0, 0
		last, maxStep := -1.0, 0.0
		var steps []float64
		for _, x := range v {
			w := math.Floor(x / p)
			h, m, sec := math.Floor(w/10000), math.Mod(math.Floor(w/100), 100), math.Mod(w, 100)
			if h > 23 || m > 59 || sec >= 60 {
				bad++
				continue
			}
			t := h*3600 + m*60 + sec + (x/p - w)
			if last >= 0 && t > last {
				steps = append(steps, t-last)
				maxStep = max(maxStep, t-last)
			}
			last = t
		}
		if int(lo/p)/100 != int(hi/p)/100 {
			passed++
		}
		if bad > len(v)/100 || len(steps) == 0 || passed == 0 && !said {
			continue
		}
		if hi < 10000*p && !said {
			continue
		}
		if r := maxStep / median(steps); r < bestRatio {
			bestRatio, sub, ok = r, s, true
		}
	}
	return sub, ok
}

// elapsedUnit tells the unit of a count by its usual step: loggers write
// between one row in 30 s and 1,000 a second. "" where it cannot be told.
func elapsedUnit(step, hi float64, gps bool, decimals int) string {
	switch {
	case math.IsNaN(step):
		return ""
	case gps && hi < 604800 && (decimals > 0 || step <= 1):
		return "s"
	case step < 1 || decimals > 0 && step <= 3:
		return "s"
	case step >= 5 && step < 3000:
		return "ms"
	case step >= 3000 && step < 3e6:
		return "us"
	case step >= 3e6:
		return "ns"
	case step == 1 && hi < 1e5:
		return "s"
	}
	return ""
}

func columnNumber(i int) string { return "#" + itoa(i+1) }

func itoa(n int) string {
	var b [20]byte
	i := len(b)
	for {
		i--
		b[i] = byte('0' + n%10)
		n /= 10
		if n == 0 {
			return string(b[i:])
		}
	}
}

package csv

import (
	"bytes"
	"time"
)

// stamp is a date or a time of day, or both, as written in a cell.
type stamp struct {
	date    bool
	a, b, c int  // the three numbers of a date in the order written
	digits  int  // digits of a, 4 where the year comes first
	month   bool // b was a name: the order is day (or month), name, year
	year4   bool // c has four digits

	clock bool
	nano  int64 // ns since midnight
	parts int   // 2 for h:mm, 3 for h:mm:ss
	frac  int   // digits of the fraction of a second
	ampm  bool

	zoned bool
	zone  int64 // ns east of UTC
}

// dateOrder says how the three numbers of a date are read.
type dateOrder int

const (
	yearFirst dateOrder = iota
	dayFirst
	monthFirst
)

// parseStamp reads a date, a time of day, or both, in the forms loggers write:
// ISO 8601 extended and basic, dates with any separator or a month's name, time
// with a comma, dot or colon before the fraction, AM and PM, a zone.
func parseStamp(s []byte) (st stamp, ok bool) {
	colon := bytes.IndexByte(s, ':')
	if colon < 1 {
		return parseCompact(s)
	}
	start := colon
	for start > 0 && s[start-1]-'0' <= 9 && colon-start < 2 {
		start--
	}
	if start == colon {
		return st, false
	}
	rest, ok := st.readClock(s[start:])
	if !ok {
		return st, false
	}
	before := bytes.TrimRight(s[:start], " T,_-;./")
	rest = st.readZone(trim(rest))
	if len(before) > 0 && len(rest) > 0 && !st.readYear(rest) {
		return st, false
	}
	if len(before) == 0 {
		before = rest
	}
	if len(before) > 0 && !st.readDate(before) {
		return st, false
	}
	return st, true
}

// readYear takes a year that stands after the time, as in
// "Thu Feb 14 07:48:52 2014". The date itself is read later.
func (st *stamp) readYear(b []byte) bool {
	b = trim(b)
	if len(b) != 4 || !allDigits(b) {
		return false
	}
	st.c, st.year4 = number(b), true
	return true
}

// readClock reads h:mm, h:mm:ss and h:mm:ss.frac at the start of b.
func (st *stamp) readClock(b []byte) ([]byte, bool) {
	h, b, ok := digits2(b)
	if !ok || len(b) == 0 || b[0] != ':' {
		return nil, false
	}
	m, b, ok := digits2(b[1:])
	if !ok {
		return nil, false
	}
	st.clock, st.parts = true, 2
	sec, nano := 0, int64(0)
	if len(b) > 1 && b[0] == ':' && b[1]-'0' <= 9 {
		sec, b, ok = digits2(b[1:])
		if !ok {
			return nil, false
		}
		st.parts = 3
	}
	if len(b) > 1 && (b[0] == '.' || b[0] == ',' || b[0] == ':') && b[1]-'0' <= 9 {
		nano, st.frac, b = fraction(b[1:])
	}
	if st.parts == 2 && st.frac > 0 { // mm:ss.frac, an elapsed time
		h, m, sec = 0, h, m
	}
	if r := bytes.TrimLeft(b, " \u00a0"); len(r) >= 2 && r[1]|0x20 == 'm' && (r[0]|0x20 == 'a' || r[0]|0x20 == 'p') {
		if h < 1 || h > 12 {
			return nil, false
		}
		h %= 12
		if r[0]|0x20 == 'p' {
			h += 12
		}
		st.ampm, b = true, r[2:]
	}
	if h > 99 || m > 59 && (h > 0 || st.parts == 3) || sec > 60 || h > 24 && st.date {
		return nil, false
	}
	st.nano = (int64(h)*3600+int64(m)*60+int64(sec))*1e9 + nano
	return b, true
}

// readZone takes Z, UTC, GMT and +hh:mm off the start of b.
func (st *stamp) readZone(b []byte) []byte {
	for _, z := range []string{"UTC", "GMT", "Z", "z"} {
		if bytes.HasPrefix(b, []byte(z)) {
			st.zoned = true
			b = trim(b[len(z):])
			break
		}
	}
	if len(b) < 3 || b[0] != '+' && b[0] != '-' || !allDigits(b[1:3]) {
		return b
	}
	h, m, n := number(b[1:3]), 0, 3
	switch {
	case len(b) >= 6 && b[3] == ':' && allDigits(b[4:6]):
		m, n = number(b[4:6]), 6
	case len(b) >= 5 && allDigits(b[3:5]):
		m, n = number(b[3:5]), 5
	}
	if h > 14 || m > 59 {
		return b
	}
	st.zoned = true
	st.zone = (int64(h)*60 + int64(m)) * 60e9
	if b[0] == '-' {
		st.zone = -st.zone
	}
	b = trim(b[n:])
	if len(b) > 1 && b[0] == '(' && b[len(b)-1] == ')' { // the zone's name
		b = nil
	}
	return b
}

// parseCompact reads forms without a colon: a date alone, 20140214T074852.2Z,
// 20140214074852, 2014-02-14-07-48-52-200.
func parseCompact(s []byte) (st stamp, ok bool) {
	var groups [8][]byte
	n := 0
	for i := 0; i < len(s); {
		if s[i]-'0' > 9 {
			i++
			continue
		}
		j := i
		for j < len(s) && s[j]-'0' <= 9 {
			j++
		}
		if n == len(groups) {
			return st, false
		}
		groups[n] = s[i:j]
		n++
		i = j
	}
	if n == 0 {
		return st, false
	}
	g := groups[:n]
	if len(g[0]) == 14 { // yyyymmddhhmmss
		g = append([][]byte{g[0][:8], g[0][8:]}, g[1:]...)
	}
	if len(g[0]) == 8 && len(g) >= 2 && len(g[1]) == 6 { // yyyymmdd hhmmss frac
		return st.compact(s, g)
	}
	if len(g) >= 6 && len(g[0]) == 4 {
		st.setDate(g[0], g[1], g[2])
		h, m, sec := number(g[3]), number(g[4]), number(g[5])
		st.clock, st.parts = true, 3
		st.nano = (int64(h)*3600 + int64(m)*60 + int64(sec)) * 1e9
		if len(g) > 6 {
			var f int64
			f, st.frac, _ = fraction(g[6])
			st.nano += f
		}
		return st, h < 24 && m < 60 && sec <= 60
	}
	return st, st.readDate(s)
}

func (st *stamp) compact(s []byte, g [][]byte) (stamp, bool) {
	d, t := g[0], g[1]
	st.setDate(d[:4], d[4:6], d[6:8])
	h, m, sec := number(t[:2]), number(t[2:4]), number(t[4:6])
	if h > 23 || m > 59 || sec > 60 {
		return *st, false
	}
	st.clock, st.parts = true, 3
	st.nano = (int64(h)*3600 + int64(m)*60 + int64(sec)) * 1e9
	if len(g) > 2 {
		var f int64
		f, st.frac, _ = fraction(g[2])
		st.nano += f
	}
	st.zoned = s[len(s)-1] == 'Z'
	return *st, true
}

// datePieces are the numbers of a date and the month that it names.
type datePieces struct {
	nums   [3][]byte
	n      int
	name   int // month, 0 where none is named
	nameAt int // numbers in front of it
}

// cutDate cuts a date into its pieces, ok where it has no others.
func cutDate(s []byte) (p datePieces, ok bool) {
	for i := 0; i < len(s); {
		j := i
		switch c := s[i]; {
		case c-'0' <= 9:
			for j < len(s) && s[j]-'0' <= 9 {
				j++
			}
			if p.n == 3 {
				return p, false
			}
			p.nums[p.n] = s[i:j]
			p.n++
		case c|0x20 >= 'a' && c|0x20 <= 'z' || c >= 0x80:
			for j < len(s) && (s[j]|0x20 >= 'a' && s[j]|0x20 <= 'z' || s[j] >= 0x80) {
				j++
			}
			if m := monthNamed(s[i:j]); m > 0 {
				p.name, p.nameAt = m, p.n
			} else if p.n > 0 { // a weekday may only stand in front
				return p, false
			}
		case c == '-' || c == '/' || c == '.' || c == ' ' || c == ',' || c == '_':
			j++
		default:
			return p, false
		}
		i = j
	}
	return p, true
}

// readDate reads a date alone.
func (st *stamp) readDate(s []byte) bool {
	p, ok := cutDate(s)
	if !ok {
		return false
	}
	n, name, nameAt, nums := p.n, p.name, p.nameAt, p.nums
	switch {
	case name > 0 && n == 1 && st.year4: // the year stood after the time
		st.date, st.month, st.a, st.b, st.digits = true, true, number(nums[0]), name, 2
		return st.a >= 1 && st.a <= 31
	case name > 0 && n == 2:
		if nameAt == 1 && len(nums[0]) == 4 { // 2014 Feb 14
			return st.setDate(nums[0], []byte{byte('0' + name/10), byte('0' + name%10)}, nums[1])
		}
		st.date, st.month, st.a, st.b, st.c = true, true, number(nums[0]), name, number(nums[1])
		st.digits, st.year4 = len(nums[0]), len(nums[1]) == 4
		return st.a >= 1 && st.a <= 31
	case n == 3 && name == 0:
		return st.setDate(nums[0], nums[1], nums[2])
	case n == 1 && len(nums[0]) == 8 && name == 0:
		d := nums[0]
		if y := number(d[:4]); y >= 1980 && y < 2100 {
			return st.setDate(d[:4], d[4:6], d[6:])
		}
		return st.setDate(d[:2], d[2:4], d[4:])
	case n == 1 && len(nums[0]) == 6 && name == 0:
		return st.setDate(nums[0][:2], nums[0][2:4], nums[0][4:])
	}
	return false
}

func (st *stamp) setDate(a, b, c []byte) bool {
	if len(a) > 4 || len(b) > 2 || len(c) > 4 || len(a) == 3 || len(c) == 3 {
		return false
	}
	st.date, st.digits, st.year4 = true, len(a), len(c) == 4
	st.a, st.b, st.c = number(a), number(b), number(c)
	return true
}

// days returns the date as days since 1970, reading the numbers in order o.
func (st *stamp) days(o dateOrder) (int64, bool) {
	y, m, d := st.a, st.b, st.c
	if st.digits != 4 {
		switch {
		case st.month, o == dayFirst:
			y, m, d = st.c, st.b, st.a
		case o == monthFirst:
			y, m, d = st.c, st.a, st.b
		case st.year4: // the year is last whatever the order said
			y, m, d = st.c, st.b, st.a
		}
		if y < 100 {
			y += 2000
			if y > 2079 {
				y -= 100
			}
		}
	}
	if m < 1 || m > 12 || d < 1 || y < 1970 || y > 2200 || d > monthDays(y, m) {
		return 0, false
	}
	return civilDays(y, m, d), true
}

func monthDays(y, m int) int {
	return time.Date(y, time.Month(m)+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// civilDays counts days from 1970-01-01 in the Gregorian calendar.
func civilDays(y, m, d int) int64 {
	return time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC).Unix() / 86400
}

var monthNames = [12]string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"}

// monthNamed knows the English names and, by their first letters, those of the
// neighbours that are written alike.
func monthNamed(b []byte) int {
	if len(b) < 3 {
		return 0
	}
	low := string(bytes.ToLower(b[:3]))
	for i, m := range monthNames {
		if low == m {
			return i + 1
		}
	}
	switch low {
	case "mai", "maj":
		return 5
	case "okt":
		return 10
	case "dez":
		return 12
	}
	return 0
}

// digits2 reads one or two digits.
func digits2(b []byte) (n int, rest []byte, ok bool) {
	i := 0
	for i < len(b) && i < 2 && b[i]-'0' <= 9 {
		n = n*10 + int(b[i]-'0')
		i++
	}
	if i < len(b) && b[i]-'0' <= 9 {
		return 0, b, false
	}
	return n, b[i:], i > 0
}

func number(b []byte) int {
	n := 0
	for _, c := range b {
		n = n*10 + int(c-'0')
	}
	return n
}

// fraction reads the digits after a decimal sign as ns of a second.
func fraction(b []byte) (nano int64, digits int, rest []byte) {
	unit := int64(1e8)
	for len(b) > 0 && b[0]-'0' <= 9 {
		nano += int64(b[0]-'0') * unit
		unit /= 10
		digits++
		b = b[1:]
	}
	return nano, digits, b
}

package text

import (
	"bytes"
	"time"
)

const (
	second = int64(time.Second)
	minute = int64(time.Minute)
	hour   = int64(time.Hour)
)

// Stamp is a date or a time of day, or both, as written in a cell.
type Stamp struct {
	Dated   bool // a date is written
	Named   bool // with the month's name
	a, b, c int  // the three numbers of a date in the order written, b the named month
	digits  int  // digits of a, 4 where the year comes first
	year4   bool // c has four digits

	Clocked  bool  // a time of day is written
	Nano     int64 // ns since midnight in UTC, a zone taken off
	Decimals int   // digits of the fraction of a second
	AMPM     bool  // AM or PM follows the time
	Elapsed  bool  // minutes, seconds and a fraction: no time of day
}

// ParseStamp reads a date, a time of day, or both, in the forms loggers write:
// ISO 8601 extended and basic, dates with any separator or a month's name, time
// with a comma, dot or colon before the fraction, AM and PM, a zone. A leap second is none:
// nothing here tells it from the second after it.
func ParseStamp(s []byte) (st Stamp, ok bool) {
	colon := bytes.IndexByte(s, ':')
	if colon < 1 {
		return parseCompact(s)
	}
	start := colon
	for start > 0 && isDigit(s[start-1]) && colon-start < 2 {
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
	rest = st.readZone(Trim(rest))
	switch {
	case len(before) == 0:
		before = rest
	case len(rest) == 4 && AllDigits(rest): // Thu Feb 14 07:48:52 2014
		st.c, st.year4 = number(rest), true
	case len(rest) > 0:
		return st, false
	}
	return st, len(before) == 0 || st.readDate(before)
}

// readClock reads h:mm, h:mm:ss and h:mm:ss.frac at the start of b.
func (st *Stamp) readClock(b []byte) ([]byte, bool) {
	h, b, ok := digits2(b)
	if !ok || len(b) < 2 || b[0] != ':' || !isDigit(b[1]) {
		return nil, false
	}
	m, b, ok := digits2(b[1:])
	sec, withSec := 0, ok && len(b) > 1 && b[0] == ':' && isDigit(b[1])
	if withSec {
		sec, b, ok = digits2(b[1:])
	}
	if !ok {
		return nil, false
	}
	if len(b) > 1 && (b[0] == '.' || b[0] == ',' || b[0] == ':') && isDigit(b[1]) {
		b = st.readFraction(b[1:])
	}
	if !withSec && st.Decimals > 0 { // mm:ss.frac, an elapsed time
		st.Elapsed = true
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
		st.AMPM, b = true, r[2:]
	}
	st.setClock(h, m, sec)
	return b, (m <= 59 || h == 0 && !withSec) && sec <= 59
}

func (st *Stamp) setClock(h, m, sec int) {
	st.Clocked = true
	st.Nano += int64(h)*hour + int64(m)*minute + int64(sec)*second
}

// readFraction reads the digits after a decimal sign as part of a second.
func (st *Stamp) readFraction(b []byte) (rest []byte) {
	st.Decimals = digits(b)
	unit := second
	for _, d := range b[:st.Decimals] {
		unit /= 10
		st.Nano += int64(d-'0') * unit
	}
	return b[st.Decimals:]
}

// readZone takes Z, UTC, GMT and +hh:mm off the start of b.
func (st *Stamp) readZone(b []byte) []byte {
	for _, z := range []string{"UTC", "GMT", "Z", "z"} {
		if rest, ok := bytes.CutPrefix(b, []byte(z)); ok {
			b = Trim(rest)
			break
		}
	}
	if len(b) < 3 || b[0] != '+' && b[0] != '-' || !AllDigits(b[1:3]) {
		return b
	}
	h, m, n := number(b[1:3]), 0, 3
	if at := bytes.TrimPrefix(b[n:], []byte{':'}); len(at) >= 2 && AllDigits(at[:2]) {
		m, n = number(at[:2]), len(b)-len(at)+2
	}
	if h > 14 || m > 59 {
		return b
	}
	east := int64(h)*hour + int64(m)*minute
	if b[0] == '-' {
		east = -east
	}
	st.Nano -= east
	b = Trim(b[n:])
	if len(b) > 1 && b[0] == '(' && b[len(b)-1] == ')' { // the zone's name
		return nil
	}
	return b
}

// parseCompact reads forms without a colon: a date alone, 20140214T074852.2Z,
// 20140214074852, 2014-02-14-07-48-52-200.
func parseCompact(s []byte) (st Stamp, ok bool) {
	var room [8][]byte
	g := room[:0] // the groups of digits
	for i := 0; i < len(s); {
		n := digits(s[i:])
		if n > 0 && len(g) == len(room) {
			return st, false
		}
		if n > 0 {
			g = append(g, s[i:i+n])
		}
		i += max(n, 1)
	}
	if len(g) > 0 && len(g[0]) == 14 { // yyyymmddhhmmss
		g = append([][]byte{g[0][:8], g[0][8:]}, g[1:]...)
	}
	if len(g) >= 2 && len(g[0]) == 8 && len(g[1]) == 6 { // yyyymmdd hhmmss frac
		d, t := g[0], g[1]
		g = append([][]byte{d[:4], d[4:6], d[6:], t[:2], t[2:4], t[4:]}, g[2:]...)
	}
	if len(g) < 6 || len(g[0]) != 4 {
		return st, st.readDate(s)
	}
	st.setDate(g[0], g[1], g[2])
	h, m, sec := number(g[3]), number(g[4]), number(g[5])
	st.setClock(h, m, sec)
	if len(g) > 6 {
		st.readFraction(g[6])
	}
	return st, h < 24 && m < 60 && sec <= 59
}

// digits2 reads one or two digits.
func digits2(b []byte) (n int, rest []byte, ok bool) {
	k := digits(b)
	if k > 2 {
		return 0, b, false
	}
	return number(b[:k]), b[k:], k > 0
}

func number(b []byte) int {
	n := 0
	for _, c := range b {
		n = n*10 + int(c-'0')
	}
	return n
}

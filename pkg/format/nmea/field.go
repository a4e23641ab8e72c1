package nmea

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// pow10 are the powers of ten that float64 holds exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads a plain decimal: an optional minus sign, digits, at most one
// point. v is the float64 nearest to the decimal: the digits and the power of
// ten are both exact, so their quotient is rounded once. dec is the number of
// decimals. Longer numbers, exponents and words are refused.
func number(p []byte) (v float64, dec uint8, ok bool) {
	if len(p) == 0 {
		return 0, 0, false
	}
	neg := p[0] == '-'
	if neg {
		p = p[1:]
	}
	if len(p) > 19 || len(p) == 0 {
		return 0, 0, false
	}
	m, whole := digits(0, p)
	if whole < len(p) {
		if p[whole] != '.' || len(p) == 1 {
			return 0, 0, false
		}
		decimals := p[whole+1:]
		var n int
		if m, n = digits(m, decimals); n < len(decimals) {
			return 0, 0, false
		}
		dec = uint8(n)
	}
	if m >= 1<<53 {
		return 0, 0, false
	}
	v = float64(m) / pow10[dec]
	if neg {
		v = -v
	}
	return v, dec, true
}

// digits appends the digits that p begins with to m, and returns how many they are.
func digits(m uint64, p []byte) (uint64, int) {
	for i, c := range p {
		d := c - '0'
		if d > 9 {
			return m, i
		}
		m = m*10 + uint64(d)
	}
	return m, len(p)
}

// optional reads a number that may be absent: an empty field gives NaN. Beside
// plain decimals it takes longer ones, exponents and a plus sign, of which it
// does not count the decimals.
func optional(p []byte) (v float64, dec uint8, ok bool) {
	if len(p) == 0 {
		return math.NaN(), 0, true
	}
	if v, dec, ok = number(p); ok || strings.Trim(string(p), "+-.0123456789eE") != "" {
		return v, dec, ok
	}
	v, err := strconv.ParseFloat(string(p), 64)
	return v, 0, err == nil
}

// clock reads hhmmss[.fff] as ns since midnight, with all decimals down to 1
// ns; empty gives noTime. leap is set for second 60, which only the last
// minute of a day can have.
func clock(p []byte) (tod int64, dec uint8, leap, ok bool) {
	if len(p) == 0 {
		return noTime, 0, false, true
	}
	if len(p) < 6 {
		return noTime, 0, false, false
	}
	h, ok1 := two(p[0:])
	m, ok2 := two(p[2:])
	s, ok3 := two(p[4:])
	if !ok1 || !ok2 || !ok3 || h > 23 || m > 59 || s > 60 {
		return noTime, 0, false, false
	}
	if leap = s == 60; leap && (h != 23 || m != 59) {
		return noTime, 0, false, false
	}
	tod = (h*3600 + m*60 + s) * int64(time.Second)
	scale := int64(time.Second)
	for i, c := range p[6:] {
		d := c - '0'
		switch {
		case i == 0 && c == '.':
		case i == 0 || d > 9:
			return noTime, 0, false, false
		case dec < 9:
			scale /= 10
			tod += int64(d) * scale
			dec++
		}
	}
	return tod, dec, leap, true
}

func two(p []byte) (int64, bool) {
	a, b := p[0]-'0', p[1]-'0'
	return int64(a)*10 + int64(b), a <= 9 && b <= 9
}

// date reads ddmmyy as days since 1970-01-01; empty gives noDay. Years 80 to
// 99 are 1980 to 1999 (the first navigation satellites' clock starts in 1980),
// the others 2000 to 2079.
func (f *fields) date(p []byte) (day int32, ok bool) {
	if len(p) == 0 {
		return noDay, true
	}
	if len(p) != 6 {
		return noDay, false
	}
	if [6]byte(p) == f.lastDate {
		return f.lastDay, true
	}
	d, ok1 := two(p[0:])
	m, ok2 := two(p[2:])
	y, ok3 := two(p[4:])
	if !ok1 || !ok2 || !ok3 {
		return noDay, false
	}
	if y < 80 {
		y += 100
	}
	if day, ok = civil(int(1900+y), int(m), int(d)); ok {
		f.lastDate, f.lastDay = [6]byte(p), day
	}
	return day, ok
}

// civil returns the days from 1970-01-01 to a date of the Gregorian calendar. Years
// before the first navigation satellites' clock or after 2199 are refused.
func civil(y, m, d int) (int32, bool) {
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	if _, month, day := t.Date(); y < 1980 || y > 2199 || int(month) != m || day != d {
		return noDay, false
	}
	return int32(t.Unix() / 86400), true
}

// angle reads dddmm.mmm with a hemisphere letter as degrees, positive for pos
// ('N' or 'E'), negative for neg. Both empty, or the number empty, gives NaN. A
// sign in front of the number, which some loggers write beside the letter, is
// believed and reported by signed.
func angle(p []byte, letter, pos, neg byte, limit float64) (v float64, dec uint8, signed, ok bool) {
	if len(p) == 0 {
		return math.NaN(), 0, false, letter <= 'Z' && letter != 1
	}
	v, dec, ok = number(p)
	if !ok {
		return math.NaN(), 0, false, false
	}
	if letter == 0 {
		return math.NaN(), 0, false, true // which side is not known
	}
	if p[0] == '-' {
		v, signed = -v, true
	}
	deg := math.Floor(v / 100)
	minutes := v - deg*100
	if minutes >= 60 {
		return math.NaN(), 0, false, false
	}
	v = deg + minutes/60
	if v > limit || letter != pos && letter != neg {
		return math.NaN(), 0, false, false
	}
	if letter == neg || signed {
		v = -v
	}
	return v, dec, signed, true
}

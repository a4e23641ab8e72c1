package text

import (
	"bytes"
	"time"
	"unicode"
	"unicode/utf8"
)

// DateOrder says how the three numbers of a date are read.
type DateOrder int

// The orders of dates.
const (
	YearFirst DateOrder = iota
	DayFirst
	MonthFirst
)

// OrderNamed are the names of the orders.
var OrderNamed = map[string]DateOrder{"ymd": YearFirst, "dmy": DayFirst, "mdy": MonthFirst}

const (
	firstYear   = 1970 // that is taken as a date
	lastYear    = 2200
	firstLogged = 1980 // that of the first GPS receivers: dates before it speak against an order
	pivot       = 2079 // last year that two digits mean in this century
)

// datePieces are the numbers of a date and the month that it names.
type datePieces struct {
	nums   [3][]byte
	n      int
	name   int // month, 0 where none is named
	nameAt int // numbers in front of it
}

// cutDate cuts a date into its pieces, ok where it has no others.
func cutDate(s []byte) (p datePieces, ok bool) {
	for len(s) > 0 {
		word := s[:len(s)-len(bytes.TrimLeftFunc(s, isLetter))]
		n := max(len(word), digits(s), 1)
		switch {
		case isDigit(s[0]) && p.n < len(p.nums):
			p.nums[p.n] = s[:n]
			p.n++
		case len(word) > 0:
			if m := monthNamed(word); m > 0 {
				p.name, p.nameAt = m, p.n
			} else if p.n > 0 { // a weekday may only stand in front
				return p, false
			}
		case bytes.IndexByte([]byte("-/. ,_"), s[0]) < 0:
			return p, false
		}
		s = s[n:]
	}
	return p, true
}

// isLetter takes every sign beyond ASCII for a letter, in whatever encoding.
func isLetter(r rune) bool { return r >= utf8.RuneSelf || unicode.IsLetter(r) }

// readDate reads a date alone.
func (st *Stamp) readDate(s []byte) bool {
	p, ok := cutDate(s)
	first := p.nums[0]
	switch {
	case !ok:
		return false
	case p.name > 0 && p.n == 1 && st.year4: // the year stood after the time
		return st.setNamed(first, p.name, st.c, true)
	case p.name > 0 && p.n == 2 && p.nameAt == 1 && len(first) == 4: // 2014 Feb 14
		return st.setDate(first, []byte{byte('0' + p.name/10), byte('0' + p.name%10)}, p.nums[1])
	case p.name > 0:
		return p.n == 2 && st.setNamed(first, p.name, number(p.nums[1]), len(p.nums[1]) == 4)
	case p.n == 3:
		return st.setDate(first, p.nums[1], p.nums[2])
	case p.n == 1 && len(first) == 8 && number(first[:4]) >= firstLogged && number(first[:4]) < 2100:
		return st.setDate(first[:4], first[4:6], first[6:])
	}
	return p.n == 1 && (len(first) == 8 || len(first) == 6) && st.setDate(first[:2], first[2:4], first[4:])
}

// setNamed sets a date whose month has a name.
func (st *Stamp) setNamed(day []byte, month, year int, year4 bool) bool {
	st.Dated, st.Named, st.digits, st.year4 = true, true, len(day), year4
	st.a, st.b, st.c = number(day), month, year
	return st.a >= 1 && st.a <= 31
}

func (st *Stamp) setDate(a, b, c []byte) bool {
	if len(a) > 4 || len(b) > 2 || len(c) > 4 || len(a) == 3 || len(c) == 3 {
		return false
	}
	st.Dated, st.digits, st.year4 = true, len(a), len(c) == 4
	st.a, st.b, st.c = number(a), number(b), number(c)
	return true
}

// Days returns the date as days since 1970, reading the numbers in order o; ok is
// false where there is no date.
func (st *Stamp) Days(o DateOrder) (days int64, ok bool) {
	if !st.Dated {
		return 0, false
	}
	y, m, d := st.a, st.b, st.c
	if st.digits != 4 {
		switch {
		case o == MonthFirst && !st.Named:
			y, m, d = st.c, st.a, st.b
		case o == DayFirst, st.Named, st.year4: // a long year is last whatever the order says
			y, m, d = st.c, st.b, st.a
		}
		if y < 100 {
			if y += 2000; y > pivot {
				y -= 100
			}
		}
	}
	return CivilDays(y, m, d)
}

// CivilDays counts days from 1970-01-01 in the Gregorian calendar; ok is false
// where there is no such day.
func CivilDays(y, m, d int) (days int64, ok bool) {
	if m < 1 || m > 12 || d < 1 || d > 31 || y < firstYear || y > lastYear {
		return 0, false
	}
	t := time.Date(y, time.Month(m), d, 0, 0, 0, 0, time.UTC)
	return t.Unix() / 86400, t.Day() == d
}

// months are the names of the months by their first letters, in English and where
// the neighbours write them otherwise.
var months = map[string]int{"jan": 1, "feb": 2, "mar": 3, "apr": 4, "may": 5, "jun": 6, "jul": 7, "aug": 8, "sep": 9, "oct": 10,
	"nov": 11, "dec": 12, "mai": 5, "maj": 5, "okt": 10, "dez": 12}

func monthNamed(b []byte) int { return months[string(bytes.ToLower(b[:min(len(b), 3)]))] }

// FindOrder finds how the numbers of the dates among the cells are ordered; guess
// says what was assumed where the dates themselves leave it open.
func FindOrder(cells [][]byte) (order DateOrder, guess string, ok bool) {
	const rare = 10 // fewer than one date in so many is damage
	n := 0
	var bad [3]int
	var first Stamp
	dots := false
	earliest, _ := CivilDays(firstLogged, 1, 1)
	for _, cell := range cells {
		st, good := ParseStamp(cell)
		if !good || !st.Dated {
			continue
		}
		if n == 0 {
			first = st
		}
		n++
		dots = dots || bytes.Count(cell, []byte{'.'}) >= 2
		for o := range bad {
			if d, ok := st.Days(DateOrder(o)); !ok || d < earliest {
				bad[o]++
			}
		}
	}
	if n == 0 {
		return 0, "", false
	}
	fits := func(o DateOrder) bool { return bad[o]*rare < n }
	switch {
	case first.Named:
		return DayFirst, "", fits(DayFirst)
	case first.digits == 4:
		return YearFirst, "", fits(YearFirst)
	case fits(DayFirst) && fits(MonthFirst) && !dots && first.a != first.b:
		return DayFirst, "dates read as day, month, year", true
	}
	for _, order := range []DateOrder{DayFirst, MonthFirst, YearFirst} {
		if fits(order) {
			return order, "", true
		}
	}
	return 0, "", false
}

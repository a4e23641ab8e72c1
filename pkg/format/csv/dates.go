package csv

import (
	"bytes"
	"math"
	"time"
)

// dateOrder is the order the user gave, or what the dates show.
func (d *dialect) dateOrder(cells [][]byte) (order dateOrder, guess string, ok bool) {
	order, guess, ok = findOrder(cells)
	switch d.order {
	case "dmy":
		return dayFirst, "", ok
	case "mdy":
		return monthFirst, "", ok
	case "ymd":
		return yearFirst, "", ok
	}
	return order, guess, ok
}

// findOrder finds how the numbers of the dates are ordered; guess says what was
// assumed where the dates themselves leave it open.
func findOrder(cells [][]byte) (order dateOrder, guess string, ok bool) {
	n := 0
	var bad [3]int
	var dots bool
	for _, cell := range cells {
		st, good := parseStamp(cell)
		if !good || !st.date {
			continue
		}
		n++
		dots = dots || bytes.Count(cell, []byte{'.'}) >= 2
		for o := range bad {
			if d, ok := st.days(dateOrder(o)); !ok || d < 3652 { // before 1980
				bad[o]++
			}
		}
	}
	if n == 0 {
		return 0, "", false
	}
	fits := func(o dateOrder) bool { return bad[o]*10 < n }
	st, _ := parseStamp(firstDated(cells))
	switch {
	case st.digits == 4 || st.month:
		if st.month {
			return dayFirst, "", fits(dayFirst)
		}
		return yearFirst, "", fits(yearFirst)
	case fits(dayFirst) && fits(monthFirst) && !dots && st.a != st.b:
		return dayFirst, "dates read as day, month, year", true
	case fits(dayFirst):
		return dayFirst, "", true
	case fits(monthFirst):
		return monthFirst, "", true
	case fits(yearFirst):
		return yearFirst, "", true
	}
	return 0, "", false
}

func firstDated(cells [][]byte) []byte {
	for _, c := range cells {
		if st, ok := parseStamp(c); ok && st.date {
			return c
		}
	}
	return nil
}

// setBy dates a clock of elapsed time by another clock of the table that has a
// date or a time of day but is coarser or less even. The latest the two agree
// is taken, since a coarse clock runs behind by up to its step.
func (c *clock) setBy(all []*clock, rows [][][]byte) {
	if c.kind != clockElapsed {
		return
	}
	kind, shift, anchor := c.kind, int64(0), ""
	for _, o := range all {
		if o == c || o.kind == clockElapsed || o.valid < 0.5 {
			continue
		}
		lo, hi, n := int64(math.MaxInt64), int64(math.MinInt64), 0
		for _, f := range rows {
			a, ok1 := c.read(f)
			b, ok2 := o.read(f)
			if ok1 && ok2 {
				lo, hi = min(lo, b-a), max(hi, b-a)
				n++
			}
		}
		if n < 2 || hi-lo > 2*int64(o.step)+int64(2*o.median)+int64(time.Second)/2 {
			continue
		}
		kind, shift, anchor = o.kind, hi, o.name
		if kind == clockUTC {
			break
		}
	}
	if anchor != "" {
		c.kind, c.shift, c.anchor = kind, shift, anchor
	}
}

// fromFirst lets a count of elapsed time begin with the log where it is longer
// than a recording's year.
func (c *clock) fromFirst(rows [][][]byte) {
	if c.kind != clockElapsed {
		return
	}
	var v []float64
	first := int64(0)
	for _, f := range rows {
		if ns, ok := c.read(f); ok {
			if len(v) == 0 {
				first = ns
			}
			v = append(v, float64(ns))
		}
	}
	if m := median(v); m >= float64(200*day) || m <= -float64(day)/2 {
		if c.holds(int64(m) - first) {
			c.shift = -first
		} else {
			c.shift = -int64(m)
		}
		c.guess = "the count is longer than a year and begins with the log"
	}
}

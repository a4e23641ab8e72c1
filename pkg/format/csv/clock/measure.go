package clock

import (
	"math"
	"slices"

	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
	"fromrest/pkg/recording"
)

// measure looks at how the clock, nil for none, runs on the sample, and returns it.
func (c *Clock) measure(rows [][][]byte) *Clock {
	if c == nil {
		return nil
	}
	read, back, late, blank := 0, 0, 0, 0
	high := int64(noTime)
	var steps, counts []float64 // between stamps, and the rows of each stamp
	c.times = make([]int64, len(rows))
	for i, row := range rows {
		t, ok := c.Read(row)
		if !ok {
			c.times[i] = noTime
			if c.Blank(row) {
				blank++
			}
			continue
		}
		c.times[i] = t
		read++
		if high != noTime && t < high && t >= high-int64(recording.Late) {
			late++
		}
		high = max(t, high)
	}
	times := c.times
	if late > 0 && float64(late) < mostLate*float64(read) {
		times = inOrder(times)
		c.late = float64(late) / float64(max(len(rows), 1))
	}
	last, same := int64(noTime), 0
	for _, t := range times {
		switch d := t - last; {
		case t == noTime:
			continue
		case last == noTime:
		case d > 0:
			steps = append(steps, float64(d))
		case d < 0 && (c.Kind != TimeOfDay || d >= -day/2):
			back++
		}
		if t != last && last != noTime {
			counts = append(counts, float64(same))
			same = 0
		}
		same++
		last = t
	}
	n := float64(max(len(rows), 1))
	c.valid = float64(read) / n
	if read >= leastStamped {
		c.valid = float64(read) / (n - float64(blank)) // rows without a stamp are of another sensor
	}
	c.distinct = float64(len(steps)+1) / n
	c.back = float64(back) / n
	c.PerTick = perTick(counts)
	if len(steps) > 0 {
		c.Median = Median(steps)
		for i, s := range steps {
			steps[i] = math.Abs(s - c.Median)
		}
		slices.Sort(steps)
		c.jitter = steps[int(jitterShare*float64(len(steps)))] / c.Median
	}
	return c
}

// Blank reports whether the row has no stamp at all, as where loggers write one now and
// then.
func (c *Clock) Blank(row [][]byte) bool { return c.Col >= 0 && text.Missing(text.Field(row, c.Col)) }

// inOrder puts stamps that were written a little late in their place.
func inOrder(times []int64) []int64 {
	out := make([]int64, 0, len(times))
	for _, t := range times {
		if t == noTime {
			continue
		}
		k := len(out)
		for k > 0 && out[k-1] > t && out[k-1]-t <= int64(recording.Late) {
			k--
		}
		if k > 0 && out[k-1] > t { // a step, not a stamp that is late
			k = len(out)
		}
		out = slices.Insert(out, k, t)
	}
	return out
}

// perTick finds out whether rows share time stamps evenly, such as ten to the
// second, by how many have each stamp; it is 0 where they do not.
func perTick(counts []float64) int {
	if len(counts) < leastTicks {
		return 0
	}
	counts = counts[1:] // the first may be cut
	k := Median(counts)
	even := 0
	for _, x := range counts {
		if math.Abs(x-k) <= max(tickSlack*k, 0.5) {
			even++
		}
	}
	if k < 2 || float64(even) < evenTicks*float64(len(counts)) {
		return 0
	}
	return int(k)
}

// usable reports whether the sample reads as a clock.
func (c *Clock) usable() bool {
	return c != nil && c.valid > leastRead && c.back < mostBack && (c.Median > 0 || c.valid == 1)
}

// better reports whether c is to be used rather than b.
func (c *Clock) better(b *Clock) bool {
	cj, bj := max(c.jitter, even), max(b.jitter, even)
	switch {
	case c.PerTick > 0 && b.PerTick == 0:
		return cj*farEvener < bj
	case b.PerTick > 0 && c.PerTick == 0:
		return bj*farEvener >= cj
	case c.PerTick != b.PerTick:
		return c.PerTick < b.PerTick
	case c.distinct > clearlyMore*b.distinct:
		return true
	case b.distinct > clearlyMore*c.distinct:
		return false
	case cj*clearlyEvener < bj:
		return true
	case bj*clearlyEvener < cj:
		return false
	case c.rank() != b.rank():
		return c.rank() > b.rank()
	}
	return c.Step < b.Step
}

// rank prefers a clock with a date, then one with a time of day, then one of the
// sensor's own.
func (c *Clock) rank() int {
	r := map[string]int{UTC: 4, TimeOfDay: 2}[c.Kind]
	if sensorWords.In(header.WordsOf(c.Name)) {
		r++
	}
	return r
}

// Choose picks the best of the clocks, nil where there is none, and has the
// others set it. It returns those that then say nothing more.
func Choose(clocks []*Clock) (best *Clock, others []*Clock) {
	for _, c := range clocks {
		if best == nil || c.better(best) {
			best = c
		}
	}
	if best != nil && best.Kind == Elapsed && !best.setBy(clocks) {
		best.fromFirst()
	}
	for _, c := range clocks {
		if c != best && c.Name != best.Anchor {
			others = append(others, c)
		}
	}
	return best, others
}

// setBy dates a clock of elapsed time by another clock of the table that has a
// date or a time of day but is coarser or less even, and reports whether there is
// one. The latest the two agree is taken, since a coarse clock runs behind by up
// to its step.
func (c *Clock) setBy(all []*Clock) bool {
	for _, o := range all {
		if o == c || o.Kind == Elapsed || o.valid < leastAnchor || c.Kind == UTC {
			continue
		}
		lo, hi, n := int64(math.MaxInt64), int64(math.MinInt64), 0
		for i, b := range o.times {
			if a := c.times[i]; a != noTime && b != noTime {
				lo, hi = min(lo, b-a), max(hi, b-a)
				n++
			}
		}
		if n >= 2 && hi-lo <= 2*int64(o.Step)+int64(2*o.Median)+anchorSlack {
			c.Kind, c.Shift, c.Anchor = o.Kind, hi, o.Name
		}
	}
	return c.Anchor != ""
}

// fromFirst lets a count of elapsed time begin with the log where it is longer
// than a recording's year.
func (c *Clock) fromFirst() {
	read := slices.DeleteFunc(slices.Clone(c.times), func(ns int64) bool { return ns == noTime })
	first := read[0]
	slices.Sort(read)
	m := read[len(read)/2]
	if m > -day/2 && m < farCount {
		return
	}
	c.Shift = -first
	if !c.Holds(m - first) {
		c.Shift = -m
	}
	c.Guess = "the count is longer than a year and begins with the log"
}

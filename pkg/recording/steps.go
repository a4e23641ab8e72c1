package recording

import (
	"math"
	"slices"
	"time"

	"fromrest/pkg/diag"
)

// How a log's instants are put in order. A record up to Late behind the latest
// was written late and goes to its place; one more than Leap ahead of it, or
// further back, is a step. A stretch of records between steps lasts where it has
// lastingRecords, or goes on for lastingTime: it is then kept as a part of the log,
// wherever in time it lies. A shorter one that does not go forward with the rest, or
// lies further than MaxLeap from a lasting neighbour at either end, is set aside.
const (
	Late    = 2 * time.Second
	Leap    = 5 * time.Second
	MaxLeap = 24 * time.Hour

	lastingRecords = 10
	lastingTime    = 5 * time.Second
	lastingFewest  = 6 // records, whatever the time

	// pause is how long a part that does not go forward with the rest may be silent:
	// devices write a fix only where something changes.
	pause = time.Minute

	// recentChains is how many stretches back a record may go on from: loggers mix
	// two clocks, hardly more.
	recentChains = 8
)

// Place says where a record stands in the input: a line, or a byte where Line
// is 0.
type Place struct {
	Line int
	Byte int64
}

// Steps watches the instants of a log's records as they come and, at its end, puts
// them in order: it is how every format deals with time that steps. The zero value
// is ready to use.
type Steps struct {
	// InOrder says that the clock counts from an arbitrary zero, so that a step back
	// is a clock that began again and what follows it comes later.
	InOrder bool

	s        []stretch
	gone     int // rows that went through a Drain
	late     []lateRow
	back     bool // time stepped back somewhere
	declared bool // the log itself says that the next record begins something new
}

// stretch is records, one after the other, without a step.
type stretch struct {
	from, to    int   // rows kept, to left out
	first, last int64 // instant with which it began, and latest
	n           int   // records, kept or not
	at          Place
	stepped     bool // the log itself said that something begins here
	meant       bool // it did so here or behind it
	jump        jump
	until       int64
	over        bool // it lies over another, up to until
	follows     bool // it goes on from the one before it, beyond that one's until
}

// jump is the last step ahead within a stretch by more than Late.
type jump struct {
	row           int
	before, first int64 // instants on either side
	n             int   // records of the stretch before it
	at            Place
	is            bool
}

// fell looks at a record that steps back to n: where it goes on from before a jump that
// few records confirmed, it was these that had a wrong time, and they become a stretch of
// their own.
func (s *Steps) fell(n int64, row int) {
	k := len(s.s) - 1
	c := &s.s[k]
	j := c.jump
	if !j.is || c.n-j.n >= lastingRecords || n <= j.before-int64(Late) || n >= j.first || s.declared {
		return
	}
	stray := stretch{from: j.row, to: row, first: j.first, last: c.last, n: c.n - j.n, at: j.at}
	c.to, c.last, c.n, c.jump = j.row, j.before, j.n, jump{}
	s.s = append(s.s, stray)
}

// lateRow is a row that came late.
type lateRow struct {
	row int
	at  Place
}

// Verdict is what a record's instant is beside those before it.
type Verdict int

// The verdicts.
const (
	Next   Verdict = iota // later
	Again                 // the same instant as the latest
	Behind                // a little late
	Step                  // the first, or a step in time
)

// Add takes the packed instant of the next record. row is how many rows the caller
// has kept, of which this one, if kept, becomes the next.
func (s *Steps) Add(n int64, row int, at Place) Verdict {
	if k := len(s.s); k > 0 {
		c := &s.s[k-1]
		d := between(c.last, n)
		c.to = row
		switch {
		case s.declared:
		case d > 0 && d <= int64(Leap):
			if c.over && n > c.until { // it has caught up with what it stepped back from
				s.s = append(s.s, stretch{from: row, to: row, first: n, last: n, n: 1, at: at, follows: true})
				return Next
			}
			if d > int64(Late) {
				c.jump = jump{row: row, before: c.last, first: n, n: c.n, at: at, is: true}
			}
			c.last = n
			c.n++
			return Next
		case d == 0:
			return Again
		case d < 0 && d >= -int64(Late):
			c.n++ // where the stretch began does not change
			s.late = append(s.late, lateRow{row, at})
			return Behind
		}
		s.back = s.back || d < 0
		s.fell(n, row)
	}
	if k := len(s.s); k > 0 && s.declared {
		s.s[k-1].meant = true
	}
	until, over := s.ahead(n)
	s.s = append(s.s, stretch{from: row, to: row, first: n, last: n, n: 1, at: at, stepped: s.declared, meant: s.declared, until: until, over: over})
	s.declared = false
	return Step
}

// ahead is the nearest end, at n or later, of the last few stretches: where there is
// one, what begins at n lies over it.
func (s *Steps) ahead(n int64) (until int64, over bool) {
	for _, st := range s.s[max(0, len(s.s)-recentChains):] {
		if st.last >= n && st.first <= n && (!over || st.last < until) {
			until, over = st.last, true
		}
	}
	return until, over
}

// reunite makes one stretch again of what stepped back and went on past the end of
// what it lies over, unless the overlap is short or a copy: then a piece of the log
// stands there twice, and the log goes on behind it.
func (s *Steps) reunite(r *Rows) {
	joined := s.s[:0]
	for i := range s.s {
		st := s.s[i]
		k := len(joined)
		if !st.follows || k == 0 {
			joined = append(joined, st)
			continue
		}
		c := &joined[k-1]
		if c.n < lastingRecords || k > 1 && r.copied(c.from, c.to, joined[k-2].from, joined[k-2].to) {
			joined = append(joined, st)
			continue
		}
		c.to, c.last = st.to, st.last
		c.n += st.n
	}
	s.s = joined
}

// copied reports whether the rows from a to b stand among those from c to d.
func (r *Rows) copied(a, b, c, d int) bool {
	if r.Alike == nil {
		return false
	}
	n, alike := 0, 0
	for i := a; i < b; i += max(1, (b-a)/mostSampled) {
		n++
		k, ok := slices.BinarySearch(r.Nano[c:d], r.Nano[i])
		if ok && r.Alike(c+k, i) {
			alike++
		}
	}
	return n > 0 && float64(alike) >= copyShare*float64(n)
}

// Declare says that the log itself marks a beginning before the next record, so that
// a step there is meant.
func (s *Steps) Declare() { s.declared = true }

// Last is the latest instant of the present stretch, and false where there is none.
func (s *Steps) Last() (int64, bool) {
	if len(s.s) == 0 {
		return 0, false
	}
	return s.s[len(s.s)-1].last, true
}

// Shift moves every instant by d.
func (s *Steps) Shift(d int64) {
	for i := range s.s {
		s.s[i].first += d
		s.s[i].last += d
	}
}

// between is b less a, held to what an int64 holds: an undated instant lies further
// from a dated one than that.
func between(a, b int64) int64 {
	d := b - a
	switch {
	case b > a && d < 0:
		return math.MaxInt64
	case b < a && d > 0:
		return -math.MaxInt64
	}
	return d
}

// chain is stretches that go on from each other.
type chain struct {
	parts       []int
	first, last int64
	n           int
	at          Place
	declared    bool
	shift       int64 // ns, by which it is put later
	afterBack   bool  // time stepped back to it
}

// lasts reports whether the chain is long enough to be a part of its own.
func (c *chain) lasts() bool {
	return c.declared || c.n >= lastingRecords || c.n >= lastingFewest && between(c.first, c.last) >= int64(lastingTime)
}

// forward says which stretches, one after the other, go forward in time and hold
// the most records.
func (s *Steps) forward() (main []bool) {
	main = make([]bool, len(s.s))
	if !s.back {
		for i := range main {
			main[i] = true
		}
		return main
	}
	room := int64(Late)
	ends := make([]int64, 0, len(s.s))
	for i := range s.s {
		ends = append(ends, s.s[i].last)
	}
	slices.Sort(ends)
	ends = slices.Compact(ends)
	// A Fenwick tree over the ends holds 1 + the stretch with which the heaviest way
	// that ends so early ends.
	tree := make([]int, len(ends)+1)
	weight, before := make([]int, len(s.s)), make([]int, len(s.s))
	// Of equals the earlier, unless it is so short that the log came back from it.
	heavier := func(a, b int) bool {
		return b == 0 || weight[a-1] > weight[b-1] || weight[a-1] == weight[b-1] && s.s[b-1].n < lastingRecords
	}
	top := 0
	for i := range s.s {
		st := &s.s[i]
		k, _ := slices.BinarySearch(ends, st.first+room)
		best := 0
		for ; k > 0; k -= k & -k {
			if tree[k] > 0 && heavier(tree[k], best) {
				best = tree[k]
			}
		}
		before[i], weight[i] = best-1, st.n
		if best > 0 {
			weight[i] += weight[best-1]
		}
		k, _ = slices.BinarySearch(ends, st.last)
		for k++; k < len(tree); k += k & -k {
			if heavier(i+1, tree[k]) {
				tree[k] = i + 1
			}
		}
		if heavier(i+1, top) {
			top = i + 1
		}
	}
	for i := top - 1; i >= 0; i = before[i] {
		main[i] = true
	}
	return main
}

// chains joins stretches that go on from each other: those that go forward with the
// rest, and the others among themselves.
func (s *Steps) chains(main []bool) (way, others []*chain) {
	for i := range s.s {
		st := &s.s[i]
		group, reach, most := &others, recentChains, int64(pause)
		if main[i] {
			group, reach, most = &way, 1, int64(Leap)
		}
		var best *chain
		var nearest int64
		for _, c := range (*group)[max(0, len(*group)-reach):] {
			d := between(c.last, st.first)
			if d < -int64(Late) || d > most || st.stepped {
				continue
			}
			if d = max(d, -d); best == nil || d < nearest {
				best, nearest = c, d
			}
		}
		if best == nil {
			*group = append(*group, &chain{parts: []int{i}, first: st.first, last: st.last, n: st.n, at: st.at,
				declared: st.meant, afterBack: i > 0 && st.first < s.s[i-1].last})
			continue
		}
		best.parts = append(best.parts, i)
		best.first, best.last = min(best.first, st.first), max(best.last, st.last)
		best.n += st.n
		best.declared = best.declared || st.meant
	}
	return way, others
}

// strays takes out of the forward way a beginning and an end that lie too far away
// to be believed.
func strays(way, others []*chain) (left, out []*chain) {
	doubt := func(c, neighbour *chain, gap int64) bool {
		return !c.lasts() && neighbour.lasts() && gap > int64(MaxLeap)
	}
	if k := len(way); k > 1 && doubt(way[k-1], way[k-2], between(way[k-2].last, way[k-1].first)) {
		way, others = way[:k-1], append(others, way[k-1])
	}
	if len(way) > 1 && doubt(way[0], way[1], between(way[0].last, way[1].first)) {
		way, others = way[1:], append(others, way[0])
	}
	return way, others
}

// dropped tells of n records that are lost.
func dropped(l *diag.List, kind string, at Place, n int, text string) {
	l.AddMany(diag.Problem{Kind: kind, Effect: diag.Dropped, Line: at.Line, Byte: at.Byte, Text: text}, n)
}

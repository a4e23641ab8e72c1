package recording

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"fromrest/pkg/diag"
)

// Rows is what Steps needs of the rows that a reader kept.
type Rows struct {
	Nano     []int64 // packed instants, in the log's order
	Problems *diag.List
	Stamp    func(nano int64) string // prints an instant
	// Join is asked what is to become of row b, which has the instant of row a.
	Join func(a, b int) Joined
	// Alike reports whether two rows of one instant hold the same; it may be nil.
	Alike func(a, b int) bool
}

// Joined is what became of a second row of an instant.
type Joined int

// What may become of it.
const (
	Repeated Joined = iota // it is dropped
	Merged                 // its values were given to the first
	Kept                   // both stay
)

// copyShare is how many of a part's instants must stand, with the same values, in
// the rest for the part to be a copy of it.
const copyShare = 0.9

// mostSampled is how many instants of a part are looked at for that.
const mostSampled = 200

// Resolve puts the rows in order. It returns the rows to keep, in the order of time,
// and their instants; nil where all rows stand as they should. What it does is told
// in the problems.
func (s *Steps) Resolve(r *Rows) (rows []int, nano []int64) {
	switch {
	case len(s.s) == 0:
		return nil, nil
	case s.gone > 0 && !s.straight(): // what went cannot be put elsewhere
		return []int{}, nil
	}
	s.s[len(s.s)-1].to = s.gone + len(r.Nano)
	if s.straight() && len(s.s) == 1 {
		return nil, nil
	}
	s.reunite(r)
	way, others := strays(s.chains(s.forward()))
	for i := 1; i < len(way); i++ {
		if between(way[i-1].last, way[i].first) > int64(MaxLeap) {
			s.tell(way[i], r, "no other record has their time")
		}
	}
	switch {
	case len(others) == 0 && s.straight():
		return nil, nil
	case s.gone > 0:
		return []int{}, nil
	}
	kept := s.settle(way, others, r)
	for _, c := range kept {
		rows, nano = s.lay(rows, nano, c, r)
	}
	if !slices.IsSorted(nano) { // a late record behind a part's beginning
		rows, nano = inTime(rows, nano)
	}
	return s.mend(rows, nano, r)
}

// inTime sorts rows by their instants, those of one instant as they stand.
func inTime(rows []int, nano []int64) ([]int, []int64) {
	at := make([]int, len(rows))
	for i := range at {
		at[i] = i
	}
	slices.SortStableFunc(at, func(a, b int) int { return cmp.Compare(nano[a], nano[b]) })
	sortedRows, sortedNano := make([]int, len(at)), make([]int64, len(at))
	for k, i := range at {
		sortedRows[k], sortedNano[k] = rows[i], nano[i]
	}
	return sortedRows, sortedNano
}

// settle decides on every chain and returns those that stay, in the order of time.
func (s *Steps) settle(way, others []*chain, r *Rows) (kept []*chain) {
	var extra []*chain
	end := way[len(way)-1].last
	for _, c := range others {
		if c.lasts() {
			extra = append(extra, c)
			continue
		}
		kind, text := diag.TimeBackward, "time steps back to %s"
		if !c.afterBack && c.parts[0] > 0 || c.first > end {
			kind, text = diag.TimeLeap, "time leaps to %s"
		}
		if text = fmt.Sprintf(text, r.Stamp(c.first)); c.parts[len(c.parts)-1] < len(s.s)-1 {
			text += " and comes back"
		} else {
			text += " and the log ends"
		}
		dropped(r.Problems, kind, c.at, c.n, text)
	}
	kept = slices.Clone(way)
	slices.SortStableFunc(extra, func(a, b *chain) int { return cmp.Compare(a.first, b.first) })
	taken, any := int64(0), false
	var over []*chain
	for _, c := range extra {
		k, _ := slices.BinarySearchFunc(way, c.first, func(m *chain, t int64) int { return cmp.Compare(m.last, t) })
		if s.InOrder || k < len(way) && way[k].first <= c.last || any && taken >= c.first {
			over = append(over, c)
			continue
		}
		taken, any = c.last, true
		end = max(end, c.last)
		kept = append(kept, c)
		s.tell(c, r, "no other record has their time")
	}
	slices.SortFunc(kept, func(a, b *chain) int { return cmp.Compare(a.first, b.first) })
	return s.place(kept, over, end, r)
}

// place puts the chains that overlap the rest behind it, unless they repeat it.
func (s *Steps) place(kept, over []*chain, end int64, r *Rows) []*chain {
	if len(over) == 0 {
		return kept
	}
	slices.SortStableFunc(over, func(a, b *chain) int { return cmp.Compare(a.parts[0], b.parts[0]) })
	var rows []int
	var nano []int64
	for _, c := range kept {
		rows, nano = s.lay(rows, nano, c, r)
	}
	for _, c := range over {
		if s.copied(c, rows, nano, r) {
			dropped(r.Problems, diag.TimeRepeated, c.at, c.n, fmt.Sprintf("%d records repeat those from %s on", c.n, r.Stamp(c.first)))
			continue
		}
		c.shift = end + int64(time.Minute) - c.first
		if !s.InOrder { // whole hours leave minutes and seconds to be read
			hours := (c.shift + int64(time.Hour) - 1) / int64(time.Hour)
			c.shift = hours * int64(time.Hour)
		}
		end = c.last + c.shift
		if s.InOrder {
			r.Problems.Add(diag.Problem{Kind: diag.ClockRestart, Effect: diag.Suspect, Line: c.at.Line, Byte: c.at.Byte,
				Text: fmt.Sprintf("the elapsed time begins again; %d records are put a minute after the ones before", c.n)})
		} else {
			s.tell(c, r, fmt.Sprintf("their time is that of others before them, so they are put %d h later", c.shift/int64(time.Hour)))
		}
		kept = append(kept, c)
	}
	return kept
}

// tell names a part and counts what is in it.
func (s *Steps) tell(c *chain, r *Rows, why string) {
	how := "ahead"
	if c.afterBack {
		how = "back"
	}
	r.Problems.Add(diag.Problem{Kind: diag.TimeStep, Effect: diag.Suspect, Line: c.at.Line, Byte: c.at.Byte,
		Text: fmt.Sprintf("time steps %s to %s: %d records up to %s are a part of their own; %s", how, r.Stamp(c.first), c.n, r.Stamp(c.last), why)})
}

// copied reports whether the chain's records stand among the others already.
func (s *Steps) copied(c *chain, rows []int, nano []int64, r *Rows) bool {
	if r.Alike == nil {
		return false
	}
	n, alike := 0, 0
	for _, p := range c.parts {
		st := &s.s[p]
		for i := st.from; i < st.to; i += max(1, (st.to-st.from)/mostSampled) {
			n++
			if k, ok := slices.BinarySearch(nano, r.Nano[i]); ok && r.Alike(rows[k], i) {
				alike++
			}
		}
	}
	return n > 0 && float64(alike) >= copyShare*float64(n)
}

// lay appends a chain's rows in the order of time.
func (s *Steps) lay(rows []int, nano []int64, c *chain, r *Rows) ([]int, []int64) {
	k := len(rows)
	sorted := true
	for _, p := range c.parts {
		for i := s.s[p].from; i < s.s[p].to; i++ {
			if len(rows) > k {
				sorted = sorted && r.Nano[i] >= r.Nano[rows[len(rows)-1]]
			}
			rows = append(rows, i)
		}
	}
	if !sorted {
		slices.SortStableFunc(rows[k:], func(a, b int) int { return cmp.Compare(r.Nano[a], r.Nano[b]) })
	}
	for _, i := range rows[k:] {
		nano = append(nano, r.Nano[i]+c.shift)
	}
	return rows, nano
}

// mend joins rows of one instant and tells of those that came late.
func (s *Steps) mend(rows []int, nano []int64, r *Rows) ([]int, []int64) {
	place := func(row int) (Place, bool) {
		k, ok := slices.BinarySearchFunc(s.late, row, func(l lateRow, row int) int { return cmp.Compare(l.row, row) })
		if !ok {
			return s.s[0].at, false
		}
		return s.late[k].at, true
	}
	n, mended := 0, 0
	var first Place
	for i, row := range rows {
		at, late := place(row)
		if n > 0 && nano[n-1] == nano[i] {
			how := r.Join(rows[n-1], row)
			if how == Repeated {
				dropped(r.Problems, diag.TimeRepeated, at, 1, fmt.Sprintf("the time %s is repeated", r.Stamp(r.Nano[row])))
			}
			if how != Kept {
				continue
			}
		}
		if late {
			if mended == 0 || at.Line < first.Line || at.Byte < first.Byte {
				first = at
			}
			mended++
		}
		rows[n], nano[n] = row, nano[i]
		n++
	}
	if mended > 0 {
		r.Problems.AddMany(diag.Problem{Kind: diag.TimeOrder, Effect: diag.Note, Line: first.Line, Byte: first.Byte,
			Text: fmt.Sprintf("a record stands up to %g s late in the log and was put in its place", Late.Seconds())}, mended)
	}
	return rows[:n], nano[:n]
}

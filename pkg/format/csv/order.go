package csv

import (
	"math"
	"slices"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/recording"
)

const day = int64(24 * time.Hour)

// sequence is what is remembered of the rows before, to put the next one in order.
type sequence struct {
	steps    recording.Steps
	dayShift int64 // ns added after midnight
	midnight int   // line of the row before the first midnight, 0 where there is none
	prevLine int
	rowsSeen int
}

// onDay puts the time of a row whose clock has no date on the day of the row before: a
// step of more than half a day is midnight, not a step in time.
func (t *table) onDay(ns int64, line int) int64 {
	last, ok := t.steps.Last()
	if !ok || t.clock.Kind != clock.TimeOfDay {
		return ns
	}
	switch d := ns + t.dayShift - last; {
	case d < -day/2:
		if t.dayShift += day; t.midnight == 0 {
			t.midnight = max(t.prevLine, 1)
		}
	case d > day/2:
		if t.dayShift -= day; t.dayShift == 0 {
			t.midnight = 0
		}
	}
	return ns + t.dayShift
}

// place says where a row's time stands beside the others, and whether the row is of
// the part that is read.
func (t *table) place(ns int64, line int) (verdict recording.Verdict, wanted bool) {
	verdict = t.steps.Add(ns, len(t.nano), recording.Place{Line: line})
	return verdict, t.cut.Take(recording.Nano(t.instant(ns)))
}

// again looks at the last row, which has the instant of the one before it: it gives
// that what it lacks, as where rows of several sensors share a stamp, or goes.
func (t *table) again(line int) {
	k := len(t.nano)
	if t.join(k-2, k-1) == recording.Repeated {
		t.drop(line, diag.TimeRepeated, "the time is that of the row before")
	}
	t.truncate(k - 1)
}

// join is what becomes of a second row of an instant.
func (t *table) join(a, b int) recording.Joined {
	if t.clock.PerTick > 0 {
		return recording.Kept
	}
	adds := false
	for _, s := range t.slots {
		v, w := s.v[a], s.v[b]
		switch {
		case w != w:
		case v != v:
			adds = true
		case v != w:
			return recording.Repeated
		}
	}
	if !adds {
		return recording.Repeated
	}
	for _, s := range t.slots {
		if s.v[a] != s.v[a] {
			s.v[a] = s.v[b]
		}
	}
	return recording.Merged
}

// order puts the rows in the order of time.
func (t *table) order() {
	if t.midnight > 0 {
		t.rec.Problems.Addf("midnight", diag.Note, t.midnight, "the time of day passes midnight")
	}
	rows, nano := t.steps.Resolve(&recording.Rows{Nano: t.nano, Problems: &t.rec.Problems,
		Stamp: func(ns int64) string { return t.stamp(ns) },
		Join:  t.join,
		Alike: func(a, b int) bool {
			return !slices.ContainsFunc(t.slots, func(s *slot) bool {
				return s.v[a] != s.v[b] && !(math.IsNaN(s.v[a]) && math.IsNaN(s.v[b]))
			})
		}})
	if rows == nil {
		return
	}
	t.nano = nano
	for _, s := range t.slots {
		v := make([]float64, len(rows))
		for k, i := range rows {
			v[k] = s.v[i]
		}
		s.v = v
	}
}

// stamp prints a row's time for a message.
func (t *table) stamp(ns int64) string {
	switch at := t.instant(ns); t.clock.Kind {
	case clock.UTC:
		return at.Format("2006-01-02T15:04:05.999Z")
	case clock.TimeOfDay:
		return at.Format("15:04:05.999")
	}
	return (time.Duration(ns)).String()
}

// truncate leaves the first k rows.
func (t *table) truncate(k int) {
	t.nano = t.nano[:k]
	for _, s := range t.slots {
		s.v = s.v[:k]
	}
}

// keepRows leaves the rows from i to before j.
func (t *table) keepRows(i, j int) {
	t.nano = slices.Clone(t.nano[i:j])
	for _, s := range t.slots {
		s.v = slices.Clone(s.v[i:j])
	}
}

// limit leaves only the rows of the part, once their instants are settled.
func (t *table) limit() error {
	from, to, ok := t.cut.Ends()
	if t.cut.Part.All() || !ok {
		return nil
	}
	i, _ := slices.BinarySearch(t.nano, from)
	j, _ := slices.BinarySearch(t.nano, to)
	if i >= j {
		return t.cut.Nothing()
	}
	t.keepRows(i, j)
	a, _ := slices.BinarySearch(t.ticks, int32(i))
	b, _ := slices.BinarySearch(t.ticks, int32(j))
	t.ticks, t.tickNano = t.ticks[a:b], t.tickNano[a:b]
	for k := range t.ticks {
		t.ticks[k] -= int32(i)
	}
	return nil
}

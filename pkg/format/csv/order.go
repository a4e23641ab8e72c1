package csv

import (
	"slices"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/recording"
)

const day = int64(24 * time.Hour)

// sequence is what is remembered of the rows before, to put the next one in order.
type sequence struct {
	prevLine     int
	overMidnight int   // number of rows when a midnight was last seen
	dayShift     int64 // ns added after midnight or after a restart of the clock
	back         int   // rows that have stepped back one after the other
	backAt       int64 // time of the last of them
	rowsSeen     int
	start        int64 // time of the first row
}

// place puts a row's time behind the others and reports whether it was taken.
func (t *table) place(ns int64, line int) bool {
	k := len(t.nano)
	if k == 0 {
		ns += t.dayShift
		if t.rowsSeen == 1 || t.start == 0 {
			t.start = ns
		}
		t.nano = append(t.nano, ns)
		return true
	}
	if t.overMidnight == k {
		if before := ns + t.dayShift - day; k > 1 && before > t.nano[k-2] && before-t.nano[k-2] < day/2 {
			// The day did not end: the row before had a wrong time.
			t.drop(t.prevLine, diag.TimeBackward, "the time is behind the rows around it")
			t.dayShift -= day
			t.remove(k-1, k)
			k--
		} else {
			t.rec.Problems.Addf("midnight", diag.Note, t.prevLine, "the time of day passes midnight")
		}
	}
	t.overMidnight = -1
	ns += t.dayShift
	last := t.nano[k-1]
	if t.clock.Kind == clock.TimeOfDay && ns < last-day/2 {
		t.dayShift += day
		ns += day
		t.overMidnight = k + 1
	}
	switch {
	case ns > last || ns == last && t.clock.PerTick > 0:
		t.back = 0
	case t.leapt(ns):
	case ns == last:
		t.drop(line, diag.TimeRepeated, "the time is that of the row before")
		return false
	case t.restarted(ns):
		t.rec.Problems.Addf("clock-restart", diag.Suspect, line, "the elapsed time begins again; these rows are put a minute after the ones before")
		shift := last + int64(time.Minute) - ns
		t.dayShift += shift
		ns += shift
	default:
		t.drop(line, diag.TimeBackward, "the time steps back by %.3f s", float64(last-ns)/1e9)
		return false
	}
	t.nano = append(t.nano, ns)
	return true
}

// leapt finds out whether it was the rows before that had a wrong time: they
// leapt ahead of the row before them, and as many rows have since gone on from
// there. They are then taken out again.
func (t *table) leapt(ns int64) bool {
	if ns <= t.backAt {
		t.back = 0
	}
	t.back++
	t.backAt = ns
	k := len(t.nano)
	j, _ := slices.BinarySearch(t.nano, ns)
	limit := leapSteps * max(t.clock.Median, float64(time.Millisecond))
	n := k - j
	var gap, step float64 // of the leap, and of this row after those before it
	if j > 0 {
		gap, step = float64(t.nano[j]-t.nano[j-1]), float64(ns-t.nano[j-1])
	} else {
		gap = float64(t.nano[0] - ns)
		n += leapWitnesses // nothing before them vouches for either
	}
	if t.back < n || gap < limit || step > limit+float64(t.back)*lateSteps*t.clock.Median {
		return false
	}
	t.drop(max(t.prevLine-(k-j)+1, 1), diag.TimeLeap, "the time leaps ahead in %d rows and comes back", k-j)
	t.remove(j, k)
	t.back = 0
	return true
}

// restarted finds a count of elapsed time that began again, as when a logger
// appends a second session to its file: many rows in a row that go on from a
// low value.
func (t *table) restarted(ns int64) bool {
	if t.clock.Kind != clock.Elapsed || t.back < restartRows || ns > t.start+int64(restartRows*lateSteps*t.clock.Median) {
		return false
	}
	t.back = 0
	return true
}

// remove takes out the rows from i to before j.
func (t *table) remove(i, j int) {
	t.nano = slices.Delete(t.nano, i, j)
	for _, s := range t.slots {
		s.v = slices.Delete(s.v, i, j)
	}
	if t.overMidnight > j {
		t.overMidnight -= j - i
	}
}

// forget drops rows outside the part once twice the trail has gathered. Rows stay
// in order, so those outside are before the part or, once it has ended, behind it.
func (t *table) forget() {
	if t.cut.Part.All() {
		return
	}
	k := len(t.nano)
	t.inside = min(t.inside, k) // rows may have been taken out again
	switch {
	case t.cut.Take(recording.Nano(t.instant(t.nano[k-1]))):
		if t.inside == 0 {
			t.remove(0, k-1)
			k = 1
		}
		t.inside = k
	case k-t.inside >= 2*trail:
		t.remove(t.inside, k-trail)
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
	t.remove(j, len(t.nano))
	t.remove(0, i)
	a, _ := slices.BinarySearch(t.ticks, int32(i))
	b, _ := slices.BinarySearch(t.ticks, int32(j))
	t.ticks, t.tickNano = t.ticks[a:b], t.tickNano[a:b]
	for k := range t.ticks {
		t.ticks[k] -= int32(i)
	}
	return nil
}

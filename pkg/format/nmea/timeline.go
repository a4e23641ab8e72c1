package nmea

import "time"

const (
	dayNanos = int64(24 * time.Hour)
	halfDay  = dayNanos / 2
)

// timeline carries the date from sentence to sentence. Days count from
// 1970-01-01; before any date is known they count from 0.
type timeline struct {
	day  int64
	tod  int64
	on   bool
	rank dateRank // best source of a date so far
}

// rolled returns the day that tod lies on, seen from the present instant: a
// step of more than half a day is midnight, not a step in time.
func (t *timeline) rolled(tod int64) int64 {
	switch d := tod - t.tod; {
	case t.on && d < -halfDay:
		return t.day + 1
	case t.on && d > halfDay:
		return t.day - 1
	}
	return t.day
}

// move goes to another time of day.
func (t *timeline) move(tod int64) {
	t.day = t.rolled(tod)
	t.tod, t.on = tod, true
}

// anchor takes a date of a time of day. It returns by how many days earlier fixes
// must move: they were dated by something worse.
func (t *timeline) anchor(day int32, tod int64, rank dateRank) (days int64) {
	if rank == rankVoid && t.rank > rankVoid {
		return 0
	}
	d := int64(day) - t.rolled(tod)
	// Dates with a fix or from ZDA are final.
	if t.rank < rankZDA && rank > t.rank {
		days = d
	}
	t.rank = max(t.rank, rank)
	t.day += d
	if !t.on {
		t.tod, t.on = tod, true
	}
	return days
}

// nano returns the present instant in ns since 1970.
func (t *timeline) nano() int64 { return t.day*dayNanos + t.tod }

// stamp prints an instant for a message, without a day where there is no date.
func stamp(t time.Time) string {
	if t.Year() == 1970 {
		return t.Format("15:04:05.999999999")
	}
	return t.Format("2006-01-02 15:04:05.999999999")
}

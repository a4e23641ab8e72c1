package nmea

import (
	"time"

	"fromrest/pkg/recording"
)

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

// Limits of ordering.
const (
	jump     = int64(5 * time.Second) // a step ahead beyond which a fix must prove itself
	provedBy = 3                      // by so many fixes in a row, itself included
)

// ordering lets fixes pass in strictly increasing time. A fix that steps back
// or repeats an instant is dropped. A fix far ahead of the last, or the log's
// first, is held until others confirm it, so that one wrong date does not cost
// the rest of the log.
type ordering struct {
	done int64 // last instant passed on
	any  bool  // done is set
	held []row // increasing
}

func (o *ordering) shift(d int64) {
	o.done += d
	for i := range o.held {
		o.held[i].nano += d
	}
}

// put takes the next fix.
func (o *ordering) put(a *assembler, r *row) {
	switch n := len(o.held); {
	case n > 0:
		last := o.held[n-1].nano
		switch {
		case r.nano > last && r.nano-last <= jump:
			o.held = append(o.held, *r)
			if len(o.held) >= provedBy {
				o.flush(a)
			}
		case r.nano > last: // far ahead again: a gap, or a slow log
			o.flush(a)
			o.held = append(o.held, *r)
		case last-r.nano > jump && (!o.any || r.nano > o.done):
			for i := range o.held {
				h := &o.held[i]
				a.note(issueTimeJump, h.line, stamp(h.nano))
			}
			o.held = append(o.held[:0], *r)
			if o.any && r.nano-o.done <= jump {
				o.flush(a)
			}
		default:
			o.refuse(a, r, last)
		}
	case !o.any || r.nano-o.done > jump:
		o.held = append(o.held, *r)
	case r.nano <= o.done:
		o.refuse(a, r, o.done)
	default:
		o.done = r.nano
		a.commit(r)
	}
}

// refuse drops a fix that is not later than last.
func (o *ordering) refuse(a *assembler, r *row, last int64) {
	if r.nano == last {
		a.note(issueTimeRepeat, r.line, stamp(r.nano))
		return
	}
	a.note(issueTimeBack, r.line, stamp(r.nano), stamp(last))
}

// flush passes on the held fixes.
func (o *ordering) flush(a *assembler) {
	for i := range o.held {
		a.commit(&o.held[i])
		o.done, o.any = o.held[i].nano, true
	}
	o.held = o.held[:0]
}

// stamp is an instant that prints itself for a message, without a day where there
// is no date.
type stamp int64

func (n stamp) String() string {
	form := "2006-01-02 15:04:05.999999999"
	if n >= 0 && int64(n) < 366*dayNanos {
		form = "15:04:05.999999999"
	}
	return recording.Instant(int64(n)).Format(form)
}

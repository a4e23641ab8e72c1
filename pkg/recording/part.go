package recording

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Part is a stretch of a log: from From, included, to To, left out. The zero
// value is the whole log.
type Part struct{ From, To Bound }

// Bound is one end of a Part. The zero value is the log's own end.
type Bound struct {
	Kind  BoundKind
	At    time.Time     // UTC, of AtInstant
	After time.Duration // since midnight of a TimeOfDay, since the log's first fix of SinceStart
	Zone  string        // of a TimeOfDay, as the IANA database names it; "" for UTC. A log without a date has a clock of its own
}

// BoundKind says what a Bound counts from.
type BoundKind int

// The kinds of bounds.
const (
	Open       BoundKind = iota // no bound
	AtInstant                   // an instant
	TimeOfDay                   // a time of day, within the 18 h after the log's start or the 6 h before
	SinceStart                  // time since the log's first fix
)

// before is how long before a log's start a time of day is looked for; the rest
// of a day is after it.
const before = 6 * time.Hour

const day = 24 * time.Hour

// ParseBound reads an instant (2026-06-14T09:21:30, with a blank for the T and a zone of
// its own if wanted), a time of day (09:21, 09:21:30.5), both in a time zone, which is UTC if
// nil, or a time since the log's start (95, 95.5, 12m30s). "" is no bound.
func ParseBound(text string, zone *time.Location) (Bound, error) {
	if zone == nil {
		zone = time.UTC
	}
	s := strings.TrimSpace(text)
	if s == "" {
		return Bound{}, nil
	}
	for _, form := range []string{"15:04:05", "15:04"} {
		if t, err := time.Parse(form, s); err == nil {
			b := Bound{Kind: TimeOfDay, After: t.Sub(t.Truncate(day))}
			if zone != time.UTC {
				b.Zone = zone.String()
			}
			return b, nil
		}
	}
	for _, form := range []string{"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04:05", "2006-01-02T15:04Z07:00", "2006-01-02T15:04"} {
		if t, err := time.ParseInLocation(form, strings.Replace(s, " ", "T", 1), zone); err == nil {
			return Bound{Kind: AtInstant, At: t.UTC()}, nil
		}
	}
	if x, err := strconv.ParseFloat(s, 64); err == nil && math.Abs(x) < 1e9 {
		return Bound{Kind: SinceStart, After: time.Duration(math.Round(x * 1e9))}, nil
	}
	if d, err := time.ParseDuration(s); err == nil {
		return Bound{Kind: SinceStart, After: d}, nil
	}
	return Bound{}, fmt.Errorf("%q: want an instant such as 2026-06-14T09:21:30, a time of day such as 09:21:30, or seconds since the log's start", text)
}

// String prints the bound as ParseBound reads it in UTC, a time of day with its zone.
func (b Bound) String() string {
	switch b.Kind {
	case AtInstant:
		return b.At.UTC().Format("2006-01-02T15:04:05.999999999")
	case TimeOfDay:
		return strings.TrimSpace(Epoch0.Add(b.After).Format("15:04:05.999999999") + " " + b.Zone)
	case SinceStart:
		return strconv.FormatFloat(b.After.Seconds(), 'f', -1, 64)
	}
	return ""
}

// All reports whether the part is the whole log.
func (p Part) All() bool { return p.From.Kind == Open && p.To.Kind == Open }

// Cut takes the fixes of a Part as a reader comes by them, so that no column
// holds what lies outside. It needs only differences of instants and days, so the
// date may still be unknown.
type Cut struct {
	Part        Part
	from, to    int64 // packed, to is left out
	on          bool
	first, last int64 // of all that was offered
}

// Take reports whether the packed instant n lies in the part. The first instant
// offered is the log's start.
func (c *Cut) Take(n int64) bool {
	if c.Part.All() {
		return true
	}
	if !c.on {
		c.first, c.last, c.on = n, n, true
		c.resolve()
	}
	c.last = max(c.last, n)
	return n >= c.from && n < c.to
}

// Shift moves what was resolved when a reader learns of the date; the two ends
// that are instants stay.
func (c *Cut) Shift(d int64) {
	if c.on {
		c.first += d
		c.last += d
		c.resolve()
	}
}

// resolve finds the ends from the log's start.
func (c *Cut) resolve() {
	c.from, c.to = math.MinInt64, math.MaxInt64
	if c.Part.From.Kind != Open {
		c.from = c.Part.From.nano(c.first)
	}
	if c.Part.To.Kind != Open {
		c.to = c.Part.To.nano(c.first)
		if c.Part.To.Kind == TimeOfDay && c.Part.From.Kind == TimeOfDay && c.to <= c.from {
			c.to += int64(day)
		}
	}
}

// nano is the bound in a log that starts at first.
func (b Bound) nano(first int64) int64 {
	switch b.Kind {
	case AtInstant:
		return Nano(b.At)
	case TimeOfDay:
		if undated(first) {
			return timeOfDay(first, undatedBase, b.After)
		}
		at := timeOfDay(first, 0, b.After-b.ahead(first))
		return timeOfDay(first, 0, b.After-b.ahead(at)) // clocks may change on the way there
	}
	return first + int64(b.After)
}

// timeOfDay is when a clock that had some midnight shows a time near the start of a log.
func timeOfDay(first, midnight int64, after time.Duration) int64 {
	earliest := first - int64(before)
	wait := (midnight + int64(after) - earliest) % int64(day)
	return earliest + (wait+int64(day))%int64(day)
}

// ahead is by how much the zone of a time of day is ahead of UTC at a packed instant.
func (b Bound) ahead(n int64) time.Duration {
	zone, err := time.LoadLocation(b.Zone)
	if err != nil {
		return 0 // ParseBound was given a zone that there is
	}
	_, seconds := Instant(n).In(zone).Zone()
	return time.Duration(seconds) * time.Second
}

// Offered reports whether any fix was offered.
func (c *Cut) Offered() bool { return c.on }

// Ends returns the packed ends of the part, to left out, and false before any
// fix was offered.
func (c *Cut) Ends() (from, to int64, ok bool) { return c.from, c.to, c.on }

// undated reports whether a packed instant is one of a log without a date, also
// where a reader still counts its days from 1970.
func undated(n int64) bool {
	const year = int64(365 * day)
	return n < undatedBase+year || n >= 0 && n < year
}

// Nothing is the error of a reader that was offered fixes and has none in the
// part.
func (c *Cut) Nothing() error {
	form := "2006-01-02 15:04:05.999"
	if undated(c.first) {
		form = "15:04:05.999"
	}
	return fmt.Errorf("no fix from %s to %s: the log goes from %s to %s", orEnd(c.Part.From, "its start"), orEnd(c.Part.To, "its end"),
		Instant(c.first).Format(form), Instant(c.last).Format(form))
}

func orEnd(b Bound, end string) string {
	if b.Kind == SinceStart {
		return b.String() + " s"
	}
	return cmp.Or(b.String(), end)
}

// Limit leaves only the fixes with from <= instant < to. Memory of the others
// is given up where it is much.
func (t *Track) Limit(from, to int64) {
	i, j := within(t.nano, from, to)
	if i == 0 && j == len(t.nano) {
		return
	}
	t.nano = slices.Clone(t.nano[i:j])
	for c := range t.cols {
		if t.cols[c] != nil {
			t.cols[c] = slices.Clone(t.cols[c][i:j])
		}
	}
}

// ownClockRoom is what is left before and after a part of samples whose clock is
// off by an unknown amount.
const ownClockRoom = int64(5 * time.Minute)

// Limit leaves only the samples with from <= instant < to, with some minutes
// around them where their clock is their own; it returns nil where none is left.
// Samples whose own clock is nowhere near stay all.
func (a *Accel) Limit(from, to int64) *Accel {
	if a == nil {
		return nil
	}
	if a.OwnClock {
		from, to = max(from, math.MinInt64+ownClockRoom)-ownClockRoom, min(to, math.MaxInt64-ownClockRoom)+ownClockRoom
	}
	i, j := within(a.NanoUTC, from, to)
	switch {
	case i == 0 && j == len(a.NanoUTC), i == j && a.OwnClock:
		return a
	case i == j:
		return nil
	}
	part := a.Slice(i, j)
	part.NanoUTC = slices.Clone(part.NanoUTC)
	part.X, part.Y, part.Z = slices.Clone(part.X), slices.Clone(part.Y), slices.Clone(part.Z)
	return &part
}

// within returns the range of the increasing instants with from <= instant < to.
func within(nano []int64, from, to int64) (i, j int) {
	i, _ = slices.BinarySearch(nano, from)
	j, _ = slices.BinarySearch(nano, to)
	return i, max(i, j)
}

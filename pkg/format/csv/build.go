package csv

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/recording"
)

// build turns the rows into tracks and acceleration.
func (t *table) build() error {
	if len(t.nano) == 0 && t.cut.Offered() && !t.cut.Part.All() {
		return fmt.Errorf("%s: %w", t.name, t.cut.Nothing())
	}
	if len(t.nano) == 0 {
		return fmt.Errorf("%s: no row with a time can be read", t.name)
	}
	t.order()
	t.spreadTicks()
	t.noteClock()
	t.noteSpread()
	for _, n := range t.notes {
		t.note("unit", "%s", n)
	}
	for _, ns := range [][]int64{t.nano, t.tickNano} {
		for i, n := range ns {
			ns[i] = recording.Nano(t.instant(n))
		}
	}
	if err := t.limit(); err != nil {
		return fmt.Errorf("%s: %w", t.name, err)
	}
	t.clean()
	t.joinComponents()
	t.inferSpeedUnits()
	speeds, err := t.speeds()
	if err != nil {
		return err
	}
	t.buildTracks(speeds)
	t.rec.Columns = t.found()
	t.buildAccel()
	if len(t.rec.Tracks) == 0 && t.rec.Accel == nil {
		return fmt.Errorf("%s: no speed, position or acceleration among the columns %s; say which it is with --columns 'speed=COLUMN:km/h'",
			t.at(), t.columnList())
	}
	return nil
}

// note adds a note at the header.
func (t *table) note(kind, format string, args ...any) {
	t.rec.Problems.Addf(kind, diag.Note, max(t.header, 1), format, args...)
}

func (t *table) noteClock() {
	c := t.clock
	if len(t.other) > 0 {
		var names []string
		for _, o := range t.other {
			names = append(names, fmt.Sprintf("%q", o.Name))
		}
		how := "the best clock of the table"
		if c.Anchor != "" {
			how = fmt.Sprintf("the finest clock of the table, set by column %q", c.Anchor)
		}
		t.note("clock", "time is read from column %q, %s; not used: %s", c.Name, how, strings.Join(names, ", "))
	}
	if c.Guess != "" {
		t.note("clock", "%s in column %q", c.Guess, t.label(max(c.Date, c.Col)))
	}
	if c.GPSWeek {
		t.note("clock", "column %q is taken as seconds of a GPS week without the week: instants count from the week's start", c.Name)
	}
}

// clean brings angles to degrees and takes out the values with which loggers say
// that there is none: a position of exactly 0, 0; a speed or course of exactly -1.
func (t *table) clean() {
	lat, lon := t.slot(header.Lat), t.slot(header.Lon)
	for _, s := range []*slot{lat, lon} {
		if s != nil {
			t.degrees(s)
		}
	}
	if lat != nil && lon != nil {
		receivers := slices.DeleteFunc(slices.Clone(t.slots), func(s *slot) bool { return !s.h.FromReceiver() })
		if n := blank(receivers, func(i int) bool { return lat.v[i] == 0 && lon.v[i] == 0 }); n > 0 {
			t.rec.Problems.Addf(diag.NoFix, diag.Note, 0, "%d rows have the position 0, 0 and are taken as without a fix", n)
		}
	}
	for _, s := range t.slots {
		switch {
		case s.h.Role == header.Speed && s.h.Source == recording.GNSS:
			if n := blank([]*slot{s}, func(i int) bool { return s.v[i] == -1 }); n > 0 {
				t.rec.Problems.Addf(diag.NoFix, diag.Note, 0, "column %q is -1 in %d rows, which are taken as without a value", s.h.Raw, n)
			}
		case s.h.Role == header.Course:
			s.course()
		}
	}
}

// blank takes the values of the columns out of the rows that are void, and
// returns how many there are.
func blank(slots []*slot, void func(i int) bool) int {
	n := 0
	for i := range slots[0].v {
		if !void(i) {
			continue
		}
		n++
		for _, s := range slots {
			s.v[i] = math.NaN()
		}
	}
	return n
}

// course brings -180..180 to 0..360 and drops a lone -1.
func (s *slot) course() {
	if s.h.Known() {
		scaleBy(s.v, s.h.Unit.SI)
	}
	wraps := slices.ContainsFunc(s.v, func(v float64) bool { return v < -1 })
	for i, v := range s.v {
		switch {
		case v < -360 || v > 720 || v == -1 && !wraps:
			s.v[i] = math.NaN()
		case v < 0:
			s.v[i] = v + 360
		case v > 360:
			s.v[i] = v - 360
		}
	}
}

// joinComponents makes the length of a horizontal velocity the receiver's speed
// where the table has components and no speed of the receiver.
func (t *table) joinComponents() {
	n, e := t.slot(header.VelN), t.slot(header.VelE)
	if n == nil || e == nil {
		return
	}
	if slices.ContainsFunc(t.slots, func(s *slot) bool { return s.h.Role == header.Speed && s.h.Source == recording.GNSS }) {
		return
	}
	h := header.Heading{Raw: n.h.Raw + ", " + e.h.Raw, Role: header.Speed, Weight: joinedWeight, Source: recording.GNSS}
	if n.h.Known() {
		h.Unit = n.h.Unit
	}
	s := newSlot(n.col, h)
	for i := range n.v {
		s.v = append(s.v, math.Hypot(n.v[i], e.v[i]))
	}
	t.slots = append(t.slots, s)
}

// speeds picks the speed columns whose unit is known. A column whose unit
// cannot be told is an error where it is the only one.
func (t *table) speeds() (kept []*slot, err error) {
	var known []*slot
	var open *slot
	direct := false
	for _, s := range t.slots {
		switch {
		case s.h.Role != header.Speed:
		case s.h.Unit.Of != header.None:
			direct = direct || !s.h.Derived
			if s.why != "" {
				t.note("unit", "column %q is in %s, told by %s", t.label(s.col), s.h.Unit.Name, s.why)
			}
			known = append(known, s)
		case open == nil || s.h.Weight > open.h.Weight:
			open = s
		}
	}
	if open != nil {
		name := t.label(open.col)
		if len(known) == 0 || open.h.Weight == header.Mapped {
			return nil, fmt.Errorf("%s: the unit of column %q cannot be told (neither its header nor the other columns give it); say it with --columns 'speed=%s:km/h'",
				t.at(), name, quoteColumn(name))
		}
		t.note("unit", "column %q is left out: its unit cannot be told", name)
	}
	for _, s := range known {
		if direct && s.h.Derived {
			continue
		}
		same := s.among(kept)
		if same == nil {
			kept = append(kept, s)
			continue
		}
		t.note("column", "column %q is left out: it repeats column %q in other units", t.label(s.col), t.label(same.col))
		if s.step() < clearlyFiner*same.step() && same.h.Weight < header.Mapped {
			*same, *s = *s, *same
		}
	}
	return kept, nil
}

// step is the finest step of a speed in m/s.
func (s *slot) step() float64 { return speedStep(s.v) * s.h.Unit.SI }

// among finds a column that says the same as s in another unit.
func (s *slot) among(kept []*slot) *slot {
	for _, o := range kept {
		if o.h.Source != s.h.Source && o.h.Source != "" && s.h.Source != "" {
			continue
		}
		tol := rounding*(s.step()+o.step()) + finestGap
		n, alike := 0, 0
		for i := range s.v {
			d := math.Abs(s.v[i]*s.h.Unit.SI - o.v[i]*o.h.Unit.SI)
			if d == d {
				n++
			}
			if d <= tol {
				alike++
			}
		}
		if n > leastAlike && float64(alike) >= sameShare*float64(n) {
			return o
		}
	}
	return nil
}

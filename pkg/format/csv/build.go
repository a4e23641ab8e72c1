package csv

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// build turns the rows into tracks and acceleration.
func (t *table) build(p *plan) error {
	if len(t.nano) == 0 {
		return fmt.Errorf("%s: no row with a time can be read", p.name)
	}
	t.spreadTicks()
	t.noteClock(p)
	for i := range t.nano {
		t.nano[i] = recording.Nano(t.instant(t.nano[i]))
	}
	for i, n := range t.tickNano {
		t.tickNano[i] = recording.Nano(t.instant(n))
	}
	if err := t.limit(); err != nil {
		return fmt.Errorf("%s: %w", p.name, err)
	}
	for _, r := range []role{roleLat, roleLon} {
		if s := t.slot(r); s != nil {
			t.degrees(s)
		}
	}
	t.clean()
	t.joinComponents()
	t.inferSpeedUnits()
	speeds, err := t.speeds(p)
	if err != nil {
		return err
	}
	t.buildTracks(p, speeds)
	t.buildAccel(p)
	if len(t.rec.Tracks) == 0 && t.rec.Accel == nil {
		return fmt.Errorf("%s: no speed, position or acceleration among the columns %s; say which it is with --columns 'speed=COLUMN:km/h'",
			p.at(), p.columnList())
	}
	return nil
}

// note adds a note at the header.
func (t *table) note(p *plan, kind, format string, args ...any) {
	t.rec.Problems.Addf(kind, diag.Note, max(p.d.header, 1), format, args...)
}

func (t *table) noteClock(p *plan) {
	c := p.clock
	if len(p.other) > 0 {
		var names []string
		for _, o := range p.other {
			names = append(names, fmt.Sprintf("%q", o.name))
		}
		how := "the best clock of the table"
		if c.anchor != "" {
			how = fmt.Sprintf("the finest clock of the table, set by column %q", c.anchor)
		}
		t.note(p, "clock", "time is read from column %q, %s; not used: %s", c.name, how, strings.Join(names, ", "))
	}
	if c.guess != "" {
		t.note(p, "clock", "%s in column %q", c.guess, p.label(max(c.date, c.col)))
	}
	if c.gps && c.week < 0 {
		t.note(p, "clock", "column %q is taken as seconds of a GPS week without the week: instants count from the week's start", c.name)
	}
}

// clean takes out the values with which loggers say that there is none: a
// position of exactly 0, 0; a speed or course of exactly -1.
func (t *table) clean() {
	lat, lon := t.slot(roleLat), t.slot(roleLon)
	void := 0
	if lat != nil && lon != nil {
		for i := range lat.v {
			if lat.v[i] == 0 && lon.v[i] == 0 {
				void++
				for _, s := range t.slots {
					if s.v != nil && s.h.fromReceiver() {
						s.v[i] = math.NaN()
					}
				}
			}
		}
	}
	if void > 0 {
		t.rec.Problems.Addf(diag.NoFix, diag.Note, 0, "%d rows have the position 0, 0 and are taken as without a fix", void)
	}
	for _, s := range t.slots {
		switch {
		case s.v == nil:
		case s.h.role == roleSpeed && s.h.source == recording.GNSS:
			t.dropMinusOne(s)
		case s.h.role == roleCourse:
			t.course(s)
		}
	}
}

func (t *table) dropMinusOne(s *slot) {
	n := 0
	for i, v := range s.v {
		if v == -1 {
			s.v[i] = math.NaN()
			n++
		}
	}
	if n > 0 {
		t.rec.Problems.Addf(diag.NoFix, diag.Note, 0, "column %q is -1 in %d rows, which are taken as without a value", s.h.raw, n)
	}
}

// course brings -180..180 to 0..360 and drops a lone -1.
func (t *table) course(s *slot) {
	if s.h.hasUnit && s.h.unit.q == angle {
		scaleBy(s.v, s.h.unit.si)
	}
	wraps := false
	for _, v := range s.v {
		wraps = wraps || v < -1
	}
	for i, v := range s.v {
		switch {
		case v < -360 || v > 720:
			s.v[i] = math.NaN()
		case v == -1 && !wraps:
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
	n, e := t.slot(roleVelN), t.slot(roleVelE)
	if n == nil || e == nil {
		return
	}
	for _, s := range t.slots {
		if s.h.role == roleSpeed && s.v != nil && s.h.source == recording.GNSS {
			return
		}
	}
	h := heading{raw: n.h.raw + ", " + e.h.raw, role: roleSpeed, weight: 7, source: recording.GNSS,
		unit: n.h.unit, hasUnit: n.h.hasUnit && n.h.unit.q == velocity}
	s := &slot{col: n.col, h: h, hemi: -1, v: make([]float64, len(n.v)), made: true}
	for i := range n.v {
		s.v[i] = math.Hypot(n.v[i], e.v[i])
	}
	t.slots = append(t.slots, s)
}

// speeds picks the speed columns whose unit is known. A column whose unit
// cannot be told is an error where it is the only one.
func (t *table) speeds(p *plan) ([]*slot, error) {
	var out []*slot
	var open *slot
	direct := false
	for _, s := range t.slots {
		if s.h.role != roleSpeed || s.v == nil {
			continue
		}
		if !s.h.hasUnit {
			if open == nil || s.h.weight > open.h.weight {
				open = s
			}
			continue
		}
		direct = direct || !s.h.derived
		if s.why != "" {
			t.note(p, "unit", "column %q is in %s, told by %s", p.label(s.col), s.h.unit.name, s.why)
		}
		out = append(out, s)
	}
	if open != nil && (len(out) == 0 || open.h.weight == 100) {
		name := p.label(open.col)
		return nil, fmt.Errorf("%s: the unit of column %q cannot be told (neither its header nor the other columns give it); say it with --columns 'speed=%s:km/h'",
			p.at(), name, quoteColumn(name))
	}
	if open != nil {
		t.note(p, "unit", "column %q is left out: its unit cannot be told", p.label(open.col))
	}
	kept := out[:0]
	for _, s := range out {
		if direct && s.h.derived {
			continue
		}
		if same := t.duplicate(kept, s); same != nil {
			t.note(p, "column", "column %q is left out: it repeats column %q in other units", p.label(s.col), p.label(same.col))
			if s.finer(same) && same.h.weight < 100 {
				*same, *s = *s, *same
			}
			continue
		}
		kept = append(kept, s)
	}
	return kept, nil
}

// finer reports whether s shows smaller steps than o.
func (s *slot) finer(o *slot) bool {
	return speedStep(s.v)*s.h.unit.si < 0.99*speedStep(o.v)*o.h.unit.si
}

// duplicate finds a column that says the same as s in another unit.
func (t *table) duplicate(kept []*slot, s *slot) *slot {
	for _, o := range kept {
		if o.h.source != s.h.source && o.h.source != "" && s.h.source != "" {
			continue
		}
		tol := 0.51*(speedStep(s.v)*s.h.unit.si+speedStep(o.v)*o.h.unit.si) + 1e-6
		n, alike := 0, 0
		for i := range s.v {
			a, b := s.v[i]*s.h.unit.si, o.v[i]*o.h.unit.si
			if a == a && b == b {
				n++
				if math.Abs(a-b) <= tol {
					alike++
				}
			}
		}
		if n > 10 && alike*100 >= n*98 {
			return o
		}
	}
	return nil
}

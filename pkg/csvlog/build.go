package csvlog

import (
	"fmt"
	"math"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// build turns the rows into tracks and acceleration.
func (t *table) build(p *plan) error {
	if len(t.nano) == 0 {
		return fmt.Errorf("%s: no row with a time can be read", p.name)
	}
	t.noteClock(p)
	for _, r := range []role{roleLat, roleLon} {
		if s := t.slot(r); s != nil {
			t.degrees(s)
		}
	}
	t.inferSpeedUnits()
	speeds, err := t.speeds(p)
	if err != nil {
		return err
	}
	t.buildAccel(p)
	t.buildTracks(speeds)
	if len(t.rec.Tracks) == 0 && t.rec.Accel == nil {
		return fmt.Errorf("%s: no speed, position or acceleration among the columns %s; say which it is with --columns 'speed=COLUMN:km/h'",
			p.at(), p.columnList())
	}
	return nil
}

func (t *table) noteClock(p *plan) {
	note := func(format string, args ...any) {
		t.rec.Problems.Addf("clock", diag.Note, max(p.d.header, 1), format, args...)
	}
	if len(p.other) > 0 {
		var names []string
		for _, c := range p.other {
			names = append(names, fmt.Sprintf("%q", c.name))
		}
		note("time is read from column %q, the best clock of the table; %s not used", p.clock.name, strings.Join(names, ", "))
	}
	if p.clock.guess != "" {
		note("%s in column %q", p.clock.guess, p.label(max(p.clock.date, p.clock.col)))
	}
	if p.clock.gps && p.clock.week < 0 {
		note("column %q is taken as seconds of a GPS week without the week: the instants count from its start", p.clock.name)
	}
}

// speeds converts the speed columns to m/s. A column whose unit cannot be told
// is an error where it is the only one.
func (t *table) speeds(p *plan) ([]*slot, error) {
	var out []*slot
	var open *slot
	direct := false
	for _, s := range t.slots {
		if s.h.role != roleSpeed || s.v == nil {
			continue
		}
		if !s.h.hasUnit {
			if open == nil {
				open = s
			}
			continue
		}
		direct = direct || !s.h.derived
		if s.why != "" {
			t.rec.Problems.Addf("unit", diag.Note, max(p.d.header, 1), "column %q is in %s, told by %s", p.label(s.col), s.h.unit.name, s.why)
		}
		out = append(out, s)
	}
	if open != nil && len(out) == 0 {
		name := p.label(open.col)
		return nil, fmt.Errorf("%s: the unit of column %q cannot be told (neither its header nor the other columns give it); say it with --columns 'speed=%s:km/h'",
			p.at(), name, quoteColumn(name))
	}
	if open != nil {
		t.rec.Problems.Addf("unit", diag.Note, max(p.d.header, 1), "column %q is left out: its unit cannot be told", p.label(open.col))
	}
	kept := out[:0]
	for _, s := range out {
		if !direct || !s.h.derived {
			kept = append(kept, s)
		}
	}
	return kept, nil
}

// gnssColumns maps roles to the columns of a GNSS track.
var gnssColumns = map[role]recording.Column{
	roleLat: recording.LatDeg, roleLon: recording.LonDeg, roleAlt: recording.Altitude, roleCourse: recording.Course,
	roleVelN: recording.VelNorth, roleVelE: recording.VelEast, roleVelU: recording.VelUp, roleVelD: recording.VelUp,
	roleSpeedSD: recording.SpeedSD, rolePosSD: recording.PosSD, roleHDOP: recording.HDOP, roleSats: recording.Satellites,
}

// buildTracks makes one track a speed column, the best first.
func (t *table) buildTracks(speeds []*slot) {
	var gnss *slot
	var tracks []*recording.Track
	for _, s := range speeds {
		if s.h.source == "" {
			s.h.source = recording.GNSS
			if t.clock.median > 0 && t.clock.median < 34e6 { // no receiver is that quick
				s.h.source = recording.Wheel
			}
		}
		if s.h.source == recording.GNSS && gnss == nil {
			gnss = s
			continue
		}
		tracks = append(tracks, t.speedTrack(s))
	}
	if tr := t.gnssTrack(gnss); tr != nil {
		tracks = append([]*recording.Track{tr}, tracks...)
	}
	t.rec.Tracks = tracks
}

func (t *table) speedTrack(s *slot) *recording.Track {
	tr := &recording.Track{Source: s.h.source, Name: s.h.raw, SpeedUnit: s.h.unit.si, TimeStep: t.clock.step}
	tr.SpeedStep = speedStep(s.v) * s.h.unit.si
	f := recording.NewFix(time.Time{})
	for i, v := range s.v {
		if v == v {
			f.Q[recording.Speed] = v * s.h.unit.si
			tr.AppendNano(recording.Nano(t.instant(t.nano[i])), &f.Q)
		}
	}
	return tr
}

// gnssTrack joins the receiver's columns; sp may be nil.
func (t *table) gnssTrack(sp *slot) *recording.Track {
	type use struct {
		s *slot
		c recording.Column
		k float64
	}
	var uses []use
	pos := t.slot(roleLat) != nil && t.slot(roleLon) != nil
	if sp == nil && !pos {
		return nil
	}
	for _, s := range t.slots {
		c, ok := gnssColumns[s.h.role]
		if !ok || s.v == nil {
			continue
		}
		k := 1.0
		if q := quantityOf(s.h.role); s.h.hasUnit && s.h.unit.q == q && q != angle {
			k = s.h.unit.si
		}
		if s.h.role == roleVelD {
			k = -k
		}
		uses = append(uses, use{s, c, k})
	}
	tr := &recording.Track{Source: recording.Position, Name: "position", TimeStep: t.clock.step}
	if sp != nil {
		tr.Source, tr.Name = recording.GNSS, sp.h.raw
		tr.SpeedUnit, tr.SpeedStep = sp.h.unit.si, speedStep(sp.v)*sp.h.unit.si
		uses = append(uses, use{sp, recording.Speed, sp.h.unit.si})
	}
	f := recording.NewFix(time.Time{})
	for i := range t.nano {
		any := false
		for _, u := range uses {
			v := u.s.v[i]
			f.Q[u.c] = v * u.k
			any = any || v == v
		}
		if any {
			tr.AppendNano(recording.Nano(t.instant(t.nano[i])), &f.Q)
		}
	}
	return tr
}

// buildAccel makes the acceleration samples.
func (t *table) buildAccel(p *plan) {
	x, y, z := t.slot(roleAccX), t.slot(roleAccY), t.slot(roleAccZ)
	if x == nil {
		x = t.slot(roleAccLong)
		y, z = nil, nil
	}
	if x == nil {
		return
	}
	k, name := x.h.unit.si, x.h.unit.name
	if !x.h.hasUnit || x.h.unit.q != acceleration {
		k, name = gravityUnit(x, y, z)
		if k == 0 {
			t.rec.Problems.Addf("unit", diag.Note, max(p.d.header, 1), "column %q is left out: its unit cannot be told", p.label(x.col))
			return
		}
	}
	a := &recording.Accel{Unit: name, GravityRemoved: x.h.linear}
	for i := range t.nano {
		if x.v[i] != x.v[i] || y != nil && y.v[i] != y.v[i] || z != nil && z.v[i] != z.v[i] {
			continue
		}
		a.NanoUTC = append(a.NanoUTC, recording.Nano(t.instant(t.nano[i])))
		a.X = append(a.X, x.v[i]*k)
		if y != nil && z != nil {
			a.Y = append(a.Y, y.v[i]*k)
			a.Z = append(a.Z, z.v[i]*k)
		}
	}
	t.rec.Accel = a
}

// gravityUnit tells the unit of three axes by the weight they feel.
func gravityUnit(x, y, z *slot) (k float64, name string) {
	if y == nil || z == nil {
		return 0, ""
	}
	var n []float64
	for i := range x.v {
		if v := math.Sqrt(x.v[i]*x.v[i] + y.v[i]*y.v[i] + z.v[i]*z.v[i]); v == v {
			n = append(n, v)
		}
	}
	switch g := median(n); {
	case g > 8.3 && g < 11.3:
		return 1, "m/s2"
	case g > 0.85 && g < 1.15:
		return 9.80665, "g"
	case g > 850 && g < 1150:
		return 9.80665e-3, "mg"
	case g > 100:
		return 9.80665 / g, "counts"
	}
	return 0, ""
}

// speedStep is the finest step between the values, 0 where there is none.
func speedStep(v []float64) float64 { return 0 }

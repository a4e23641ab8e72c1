package csv

import (
	"slices"

	"fromrest/pkg/recording"
)

// gnssColumns maps roles to the columns of a GNSS track.
var gnssColumns = map[role]recording.Column{
	roleLat: recording.LatDeg, roleLon: recording.LonDeg, roleAlt: recording.Altitude, roleCourse: recording.Course,
	roleVelN: recording.VelNorth, roleVelE: recording.VelEast, roleVelU: recording.VelUp, roleVelD: recording.VelUp,
	roleSpeedSD: recording.SpeedSD, rolePosSD: recording.PosSD, roleHDOP: recording.HDOP, roleSats: recording.Satellites,
}

// ranked is a track and how good it is.
type ranked struct {
	tr   *recording.Track
	rank int
}

// buildTracks makes one track a speed column, the best first.
func (t *table) buildTracks(p *plan, speeds []*slot) {
	gnss := t.receiver(p, speeds)
	var all []ranked
	if tr := t.gnssTrack(p, gnss); tr != nil {
		r := 50
		if tr.Source == recording.Position {
			r = 10
		} else if gnss.h.weight == 100 {
			r = 100
		}
		all = append(all, ranked{tr, r})
	}
	for _, s := range speeds {
		if s == gnss {
			continue
		}
		if tr := t.speedTrack(s); tr.Len() > 0 {
			all = append(all, ranked{tr, s.rank()})
		}
	}
	if len(all) > 1 && gnss != nil && all[0].rank == 50 {
		for _, o := range all[1:] {
			// A receiver four times slower than the wheels, and slower than 4 Hz,
			// misses the launch that they show.
			if g, w := period(all[0].tr), period(o.tr); g > 4*w && g > 0.25e9 {
				all[0].rank = 20
			}
		}
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return b.rank - a.rank })
	for _, r := range all {
		t.rec.Tracks = append(t.rec.Tracks, r.tr)
	}
}

// receiver says what measured the speeds of which nothing is said, and returns
// the one that is the receiver's, nil for none.
func (t *table) receiver(p *plan, speeds []*slot) (gnss *slot) {
	for _, s := range speeds {
		if s.h.source == "" {
			s.h.source = recording.GNSS
			if t.clock.median > 0 && t.clock.median < 34e6 { // no receiver is that quick
				s.h.source = recording.Wheel
				t.note(p, "source", "column %q is taken as wheel speed: its rate is above a receiver's", p.label(s.col))
			}
		}
		if s.h.source == recording.GNSS && (gnss == nil || s.h.weight > gnss.h.weight) {
			gnss = s
		}
	}
	return gnss
}

// rank orders the speed columns beside the receiver's.
func (s *slot) rank() int {
	r := map[recording.Source]int{recording.Inertial: 40, recording.GNSS: 35, recording.Wheel: 30}[s.h.source]
	if hasWord(s.h.words, "ref", "reference") {
		r = 60
	}
	if s.h.weight == 100 {
		r = 100
	}
	if hasWord(s.h.words, "fl", "fr", "rl", "rr") { // one wheel of four
		r--
	}
	return r
}

// period is the usual time between a track's fixes in ns.
func period(tr *recording.Track) float64 {
	n := tr.Nanos()
	var d []float64
	for i := 1; i < len(n) && i < sampleRows; i++ {
		d = append(d, float64(n[i]-n[i-1]))
	}
	return median(d)
}

// present lists the rows in which any of the columns has a value, nil for all.
func (t *table) present(cols [][]float64) []int32 {
	any := func(i int) bool {
		for _, c := range cols {
			if c[i] == c[i] {
				return true
			}
		}
		return false
	}
	n := 0
	for i := range t.nano {
		if any(i) {
			n++
		}
	}
	if n == len(t.nano) {
		return nil
	}
	rows := make([]int32, 0, n)
	for i := range t.nano {
		if any(i) {
			rows = append(rows, int32(i))
		}
	}
	return rows
}

// pick gives the values of rows, or the column itself for all rows.
func pick[T any](v []T, rows []int32) []T {
	if rows == nil {
		return v
	}
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = v[r]
	}
	return out
}

func (t *table) speedTrack(s *slot) *recording.Track {
	step := speedStep(s.v) * s.h.unit.si
	scaleBy(s.v, s.h.unit.si)
	rows := t.present([][]float64{s.v})
	var cols [recording.Columns][]float64
	cols[recording.Speed] = pick(s.v, rows)
	tr := recording.TrackOf(pick(t.nano, rows), cols)
	tr.Source, tr.Name, tr.SpeedUnit, tr.SpeedStep, tr.TimeStep = s.h.source, s.h.raw, s.h.unit.si, step, t.clock.step
	return tr
}

// gnssTrack joins the receiver's columns; sp is its speed and may be nil.
func (t *table) gnssTrack(p *plan, sp *slot) *recording.Track {
	pos := t.slot(roleLat) != nil && t.slot(roleLon) != nil
	if sp == nil && !pos {
		return nil
	}
	var cols [recording.Columns][]float64
	var core [][]float64 // the columns whose repetition means that nothing is new
	source, name := recording.Position, "position"
	unitSize, step := 0.0, 0.0
	if sp != nil {
		source, name, unitSize, step = recording.GNSS, sp.h.raw, sp.h.unit.si, speedStep(sp.v)*sp.h.unit.si
		scaleBy(sp.v, sp.h.unit.si)
		cols[recording.Speed] = sp.v
		core = append(core, sp.v)
	}
	for _, s := range t.slots {
		c, ok := gnssColumns[s.h.role]
		if !ok || s.v == nil || cols[c] != nil {
			continue
		}
		scaleBy(s.v, t.sizeOf(s, sp))
		cols[c] = s.v
		if s.h.role == roleLat || s.h.role == roleLon || s.h.role == roleVelN || s.h.role == roleVelE {
			core = append(core, s.v)
		}
	}
	if along := t.slot(roleAccLong); along != nil && along.h.hasUnit {
		cols[recording.AccelLong] = scaled(along.v, along.h.unit.si)
	}
	rows := t.present(core)
	nano, at := t.fresh(p, rows, core, cols[recording.Speed])
	for c := range cols {
		if cols[c] != nil {
			cols[c] = pick(cols[c], at)
		}
	}
	if len(nano) == 0 {
		return nil
	}
	tr := recording.TrackOf(nano, cols)
	tr.Source, tr.Name, tr.SpeedUnit, tr.SpeedStep, tr.TimeStep = source, name, unitSize, step, t.clock.step
	return tr
}

// count is the number of rows listed, all for nil.
func (t *table) count(rows []int32) int {
	if rows == nil {
		return len(t.nano)
	}
	return len(rows)
}

func scaled(v []float64, k float64) []float64 {
	out := slices.Clone(v)
	scaleBy(out, k)
	return out
}

// sizeOf is one unit of a receiver's column in SI. Velocity components without
// a unit have that of the speed.
func (t *table) sizeOf(s, sp *slot) float64 {
	k := 1.0
	q := quantityOf(s.h.role)
	switch {
	case q == angle: // done when the column was cleaned
	case s.h.hasUnit && s.h.unit.q == q:
		k = s.h.unit.si
	case q == velocity && sp != nil:
		k = sp.h.unit.si
	}
	if s.h.role == roleVelD {
		k = -k
	}
	return k
}

// fresh drops the rows that only repeat the receiver's last fix. It returns the
// instants of the others and the rows with their values, nil for all.
func (t *table) fresh(p *plan, rows []int32, core [][]float64, speed []float64) (nano []int64, at []int32) {
	if len(core) < 2 {
		return pick(t.nano, rows), rows
	}
	keep, at, period := refresh(t.nano, rows, core, speed)
	if keep == nil {
		return pick(t.nano, rows), rows
	}
	nano = pick(t.nano, keep)
	if tick := t.clock.median; t.clock.spread && period > 0.8*tick && period < 1.25*tick && 10*t.count(rows) > 9*len(t.nano) {
		nano, at = t.atTicks(rows) // the stamp is the receiver's own
	}
	t.note(p, "repeated", "the receiver's columns are new every %.3g s only, in %d of %d rows; rows that repeat them were joined",
		period/1e9, len(nano), t.count(rows))
	return nano, at
}

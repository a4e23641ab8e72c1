package csv

import (
	"cmp"
	"slices"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/recording"
)

// gnssColumns maps roles to the columns of a GNSS track.
var gnssColumns = map[header.Role]recording.Column{
	header.Lat: recording.LatDeg, header.Lon: recording.LonDeg, header.Alt: recording.Altitude, header.Course: recording.Course,
	header.VelN: recording.VelNorth, header.VelE: recording.VelEast, header.VelU: recording.VelUp, header.VelD: recording.VelUp,
	header.SpeedSD: recording.SpeedSD, header.PosSD: recording.PosSD, header.HDOP: recording.HDOP, header.Sats: recording.Satellites,
}

// How the tracks of a table are ordered, the best first.
const (
	rankMapped    = 100 // named by the user
	rankReference = 60
	rankReceiver  = 50
	rankPosition  = 10 // a receiver's position without a speed
	rankSlow      = 20 // a receiver that misses a launch which another shows
)

var (
	rankOf         = map[recording.Source]int{recording.Inertial: 40, recording.GNSS: 35, recording.Wheel: 30}
	referenceWords = header.Words(`ref reference`)
	oneWheel       = header.Words(`fl fr rl rr`)
)

// rank orders the speed columns beside the receiver's.
func (s *slot) rank() int {
	r := rankOf[s.h.Source]
	switch {
	case s.h.Weight == header.Mapped:
		r = rankMapped
	case referenceWords.In(s.h.Words):
		r = rankReference
	}
	if oneWheel.In(s.h.Words) {
		r--
	}
	return r
}

// buildTracks makes one track a speed column, the best first.
func (t *table) buildTracks(speeds []*slot) {
	type ranked struct {
		*recording.Track
		rank int
	}
	var all []ranked
	gnss := t.receiver(speeds)
	if tr := t.gnssTrack(gnss); tr != nil {
		r := rankReceiver
		switch {
		case gnss == nil:
			r = rankPosition
		case gnss.h.Weight == header.Mapped:
			r = rankMapped
		}
		all = append(all, ranked{tr, r})
	}
	for _, s := range speeds {
		if s == gnss {
			continue
		}
		rows := t.present([][]float64{s.v}, 1)
		cols := [recording.Columns][]float64{recording.Speed: s.v}
		if tr := t.track(cols, pick(t.nano, rows), rows, s); tr.Len() > 0 {
			all = append(all, ranked{tr, s.rank()})
		}
	}
	if len(all) > 1 && all[0].rank == rankReceiver {
		g := period(all[0].Track)
		for _, o := range all[1:] {
			if g > slowReceiver*period(o.Track) && g > slowPeriod {
				all[0].rank = rankSlow
			}
		}
	}
	slices.SortStableFunc(all, func(a, b ranked) int { return cmp.Compare(b.rank, a.rank) })
	for _, r := range all {
		t.rec.Tracks = append(t.rec.Tracks, r.Track)
	}
}

// receiver says what measured the speeds of which nothing is said, and returns
// the one that is the receiver's, nil for none.
func (t *table) receiver(speeds []*slot) (gnss *slot) {
	for _, s := range speeds {
		if s.h.Source == "" {
			s.h.Source = recording.GNSS
			if t.clock.Median > 0 && t.clock.Median < quickestReceiver {
				s.h.Source = recording.Wheel
				t.note("source", "column %q is taken as wheel speed: its rate is above a receiver's", t.label(s.col))
			}
		}
		if s.h.Source == recording.GNSS && (gnss == nil || s.h.Weight > gnss.h.Weight) {
			gnss = s
		}
	}
	return gnss
}

// period is the usual time between a track's fixes in ns.
func period(tr *recording.Track) float64 {
	n := tr.Nanos()
	var d []float64
	for i := 1; i < len(n) && i < sampleRows; i++ {
		d = append(d, float64(n[i]-n[i-1]))
	}
	return clock.Median(d)
}

// present lists the rows in which at least so many of the columns have a value,
// nil for all.
func (t *table) present(cols [][]float64, least int) []int32 {
	var rows []int32 // nil as long as it is all
	for i := range t.nano {
		n := 0
		for _, c := range cols {
			if c[i] == c[i] {
				n++
			}
		}
		switch {
		case n < least && rows == nil:
			rows = make([]int32, i, len(t.nano))
			for k := range rows {
				rows[k] = int32(k)
			}
		case n >= least && rows != nil:
			rows = append(rows, int32(i))
		}
	}
	return rows
}

// pick gives the values of rows, or the column itself for all rows.
func pick[T any](v []T, rows []int32) []T {
	if rows == nil || v == nil {
		return v
	}
	out := make([]T, len(rows))
	for i, r := range rows {
		out[i] = v[r]
	}
	return out
}

// track makes a track of the rows at of the columns, as the speed column sp, nil
// for none, gives them.
func (t *table) track(cols [recording.Columns][]float64, nano []int64, at []int32, sp *slot) *recording.Track {
	source, name, unit, step := recording.Position, "position", 0.0, 0.0
	if sp != nil {
		source, name, unit, step = sp.h.Source, sp.h.Raw, sp.h.Unit.SI, sp.step()
		scaleBy(sp.v, unit)
	}
	for c := range cols {
		cols[c] = pick(cols[c], at)
	}
	tr := recording.TrackOf(nano, cols)
	tr.Source, tr.Name, tr.SpeedUnit, tr.SpeedStep, tr.TimeStep = source, name, unit, step, t.clock.Step
	return tr
}

// gnssTrack joins the receiver's columns; sp is its speed and may be nil.
func (t *table) gnssTrack(sp *slot) *recording.Track {
	if sp == nil && (t.slot(header.Lat) == nil || t.slot(header.Lon) == nil) {
		return nil
	}
	var cols [recording.Columns][]float64
	var core [][]float64 // the columns whose repetition means that nothing is new
	if sp != nil {
		cols[recording.Speed] = sp.v
		core = append(core, sp.v)
	}
	for _, s := range t.slots {
		c, ok := gnssColumns[s.h.Role]
		if !ok || cols[c] != nil {
			continue
		}
		scaleBy(s.v, sizeOf(s, sp))
		cols[c] = s.v
		switch s.h.Role {
		case header.Lat, header.Lon, header.VelN, header.VelE:
			core = append(core, s.v)
		}
	}
	if along := t.slot(header.AccLong); along != nil && along.h.Unit.Of != header.None {
		cols[recording.AccelLong] = slices.Clone(along.v)
		scaleBy(cols[recording.AccelLong], along.h.Unit.SI)
	}
	nano, at := t.fresh(t.present(core, 1), core, cols[recording.Speed])
	if len(nano) == 0 {
		return nil
	}
	return t.track(cols, nano, at, sp)
}

// count is the number of rows listed, all for nil.
func (t *table) count(rows []int32) int {
	if rows == nil {
		return len(t.nano)
	}
	return len(rows)
}

// sizeOf is one unit of a receiver's column in SI. Velocity components without
// a unit have that of the speed.
func sizeOf(s, sp *slot) float64 {
	k := 1.0
	switch {
	case s.h.Role.Quantity() == header.Angle: // done when the column was cleaned
	case s.h.Known():
		k = s.h.Unit.SI
	case s.h.Role.Quantity() == header.Velocity && sp != nil:
		k = sp.h.Unit.SI
	}
	if s.h.Role == header.VelD {
		k = -k
	}
	return k
}

// fresh drops the rows that only repeat the receiver's last fix. It returns the
// instants of the others and the rows with their values, nil for all.
func (t *table) fresh(rows []int32, core [][]float64, speed []float64) (nano []int64, at []int32) {
	if len(core) < 2 {
		return pick(t.nano, rows), rows
	}
	keep, at, period := (&sensor{t.nano, rows, core, speed}).refresh()
	if keep == nil {
		return pick(t.nano, rows), rows
	}
	nano = pick(t.nano, keep)
	ticks := period / t.clock.Median // of a delivery
	if t.clock.PerTick > 0 && ticks > sameRate && ticks < 1/sameRate && float64(t.count(rows)) > nearlyAll*float64(len(t.nano)) {
		nano, at = t.atTicks(rows) // the stamp is the receiver's own
	}
	t.note("repeated", "the receiver's columns are new every %.3g s only, in %d of %d rows; rows that repeat them were joined",
		period/1e9, len(nano), t.count(rows))
	return nano, at
}

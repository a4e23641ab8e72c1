package recording

import (
	"fmt"
	"math"
	"time"

	"fromrest/pkg/diag"
)

// Sequence appends fixes to a track as they come and, at its Close, puts them in
// the order of time: it is Steps for readers of fixes. A second fix of an instant
// gives the first what that has not; where the two differ it is dropped and counted.
type Sequence struct {
	Track    *Track
	Problems *diag.List
	// Stamp prints an instant for a message; nil prints UTC. Readers whose
	// instants are not UTC yet set it.
	Stamp func(time.Time) string
	// Keep, if set, says which instants the track keeps.
	Keep func(nano int64) bool
	// Drain, if set, takes fixes away while they come.
	Drain *Drain
	// Steps is what was seen of time.
	Steps Steps
}

// Add appends f, which stands at the place at.
func (s *Sequence) Add(f *Fix, at Place) { s.AddNano(Nano(f.Time), &f.Q, at) }

// AddNano appends the values of a packed instant.
func (s *Sequence) AddNano(nano int64, q *[Columns]float64, at Place) {
	k := s.Track.Len()
	if len(s.Steps.s) == 0 && k > 0 { // what the track holds already
		n := s.Track.nano
		s.Steps.s = append(s.Steps.s, stretch{to: k, first: n[0], last: n[k-1], n: k, at: at})
	}
	row := s.Steps.gone + k
	verdict := s.Steps.Add(nano, row, at)
	if s.Keep != nil && !s.Keep(nano) {
		return
	}
	if verdict == Again {
		// Rows that came late may stand behind the one of this instant.
		i := k - 1
		for i >= 0 && i >= k-16 && s.Track.nano[i] != nano {
			i--
		}
		if i >= 0 && s.Track.nano[i] == nano {
			if s.Track.complete(i, q) == Repeated {
				dropped(s.Problems, diag.TimeRepeated, at, 1, fmt.Sprintf("the time %s is repeated", s.stamp(nano)))
			}
			return
		}
		s.Steps.late = append(s.Steps.late, lateRow{row, at})
	}
	s.Track.AppendNano(nano, q)
	s.drain()
}

// AddTrack appends all fixes of another track, which stand at one place.
func (s *Sequence) AddTrack(t *Track, at Place) {
	for i := range t.Len() {
		f := t.At(i)
		s.Add(&f, at)
	}
}

// Close ends the sequence and puts the track in order.
func (s *Sequence) Close() {
	t := s.Track
	rows, nano := s.Steps.Resolve(&Rows{Nano: t.nano, Problems: s.Problems, Stamp: s.stamp,
		Join:  func(a, b int) Joined { q := t.At(b).Q; return t.complete(a, &q) },
		Alike: t.alike,
	})
	switch {
	case rows != nil && s.Steps.gone > 0:
		s.Drain.Err = ErrOutOfOrder
	case rows != nil:
		t.gather(rows, nano)
	}
	s.Steps = Steps{InOrder: s.Steps.InOrder}
}

// stamp prints an instant for a message.
func (s *Sequence) stamp(nano int64) string {
	t := Instant(nano)
	if s.Stamp != nil {
		return s.Stamp(t)
	}
	return t.Format("2006-01-02T15:04:05.999Z")
}

// samePlace is by how many degrees two prints of one position differ at most.
const samePlace = 2e-5

// complete gives fix i what q has and it has not. Where both have a quantity and
// differ, and where q adds nothing, it leaves the fix alone.
func (t *Track) complete(i int, q *[Columns]float64) Joined {
	adds := false
	for c := range t.cols {
		v, w := t.Value(Column(c), i), q[c]
		room := 0.0
		if Column(c) == LatDeg || Column(c) == LonDeg {
			room = samePlace
		}
		switch {
		case w != w:
		case v != v:
			adds = true
		case math.Abs(v-w) > room:
			return Repeated
		}
	}
	if !adds {
		return Repeated
	}
	for c, w := range q {
		if v := t.Value(Column(c), i); v == v || w != w {
			continue
		}
		if t.cols[c] == nil {
			t.cols[c] = make([]float64, len(t.nano), cap(t.nano))
			for k := range t.cols[c] {
				t.cols[c][k] = math.NaN()
			}
		}
		t.cols[c][i] = w
	}
	return Merged
}

// alike reports whether two fixes have the same speed and position.
func (t *Track) alike(a, b int) bool {
	for _, c := range []Column{Speed, LatDeg, LonDeg} {
		if v, w := t.Value(c, a), t.Value(c, b); v != w && (v == v || w == w) {
			return false
		}
	}
	return true
}

// gather leaves the given rows, in their order, at the given instants.
func (t *Track) gather(rows []int, nano []int64) {
	for c, old := range t.cols {
		if old == nil {
			continue
		}
		col := make([]float64, len(rows))
		for k, i := range rows {
			col[k] = old[i]
		}
		t.cols[c] = col
	}
	t.nano = nano
}

// Complete gives the fixes of a track what those of another one have at the same
// instants and they have not. It returns how many instants both have.
func (t *Track) Complete(other *Track) (shared int) {
	for i, k := 0, 0; i < t.Len() && k < other.Len(); {
		switch a, b := t.nano[i], other.nano[k]; {
		case a < b:
			i++
		case a > b:
			k++
		default:
			q := other.At(k).Q
			t.complete(i, &q)
			shared++
			i++
			k++
		}
	}
	return shared
}

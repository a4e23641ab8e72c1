package recording

import (
	"fmt"
	"time"

	"fromrest/pkg/diag"
)

// A fix that comes later than Leap after the one before it waits for the next
// to confirm it: a damaged time would cost every fix after it. Where the log
// ends without confirming, a leap up to MaxLeap is believed.
const (
	Leap    = 5 * time.Second
	MaxLeap = 24 * time.Hour
)

// Place says where a record stands in the input: a line, or a byte where Line
// is 0.
type Place struct {
	Line int
	Byte int64
}

// Sequence appends fixes to a track in the order of time. A fix that is not
// later than the one before it is dropped and counted; so is a single fix that
// leaps ahead while the next goes on from before the leap.
type Sequence struct {
	Track    *Track
	Problems *diag.List
	// Stamp prints an instant for a message; nil prints UTC. Readers whose
	// instants are not UTC yet set it.
	Stamp func(time.Time) string

	held   Fix // a leap that waits for confirmation
	heldAt Place
	holds  bool
}

// Add appends f, which stands at the place at.
func (s *Sequence) Add(f *Fix, at Place) {
	if s.holds {
		s.holds = false
		if f.Time.Before(s.held.Time) && f.Time.After(s.Track.TimeAt(s.Track.Len()-1)) {
			s.drop(diag.TimeLeap, s.heldAt, "time leaps to "+s.stamp(s.held.Time)+" and comes back")
		} else {
			s.append(&s.held, s.heldAt)
		}
	}
	if n := s.Track.Len(); n > 0 && f.Time.Sub(s.Track.TimeAt(n-1)) > Leap {
		s.held, s.heldAt, s.holds = *f, at, true
		return
	}
	s.append(f, at)
}

// AddTrack appends all fixes of another track, which stand at one place.
func (s *Sequence) AddTrack(t *Track, at Place) {
	for i := range t.Len() {
		f := t.At(i)
		s.Add(&f, at)
	}
}

// Close ends the sequence.
func (s *Sequence) Close() {
	switch {
	case !s.holds:
	case s.held.Time.Sub(s.Track.TimeAt(s.Track.Len()-1)) > MaxLeap:
		s.drop(diag.TimeLeap, s.heldAt, "time leaps to "+s.stamp(s.held.Time)+" and the log ends")
	default:
		s.append(&s.held, s.heldAt)
	}
	s.holds = false
}

func (s *Sequence) append(f *Fix, at Place) {
	if s.Track.Append(f) {
		return
	}
	last := s.Track.TimeAt(s.Track.Len() - 1)
	if f.Time.Equal(last) {
		s.drop(diag.TimeRepeated, at, fmt.Sprintf("the time %s is repeated", s.stamp(f.Time)))
		return
	}
	s.drop(diag.TimeBackward, at, fmt.Sprintf("time steps back %.3f s to %s", last.Sub(f.Time).Seconds(), s.stamp(f.Time)))
}

func (s *Sequence) drop(kind string, at Place, text string) {
	s.Problems.Add(diag.Problem{Kind: kind, Effect: diag.Dropped, Line: at.Line, Byte: at.Byte, Text: text})
}

// stamp prints an instant for a message.
func (s *Sequence) stamp(t time.Time) string {
	if s.Stamp != nil {
		return s.Stamp(t)
	}
	return t.Format("2006-01-02T15:04:05.999Z")
}

package recording

import (
	"fmt"
	"time"

	"fromrest/pkg/diag"
)

// MaxLeap is the longest step ahead in time that a Sequence takes without
// waiting for the next fix to confirm it. A damaged date is nearly always
// further away; a logger left off for longer than this is believed when its
// next fix goes on from there.
const MaxLeap = 24 * time.Hour

// Place says where a record stands in the input: a line, or a byte where Line
// is 0.
type Place struct {
	Line int
	Byte int64
}

// Sequence appends fixes to a track in the order of time. A fix that is not
// later than the one before it is dropped and counted; so is a single fix that
// leaps more than MaxLeap ahead and is not followed by others, as it would cost
// every fix after it.
type Sequence struct {
	Track    *Track
	Problems *diag.List

	held   Fix // a leap that waits for confirmation
	heldAt Place
	holds  bool
}

// Add appends f, which stands at the place at.
func (s *Sequence) Add(f *Fix, at Place) {
	if s.holds {
		s.holds = false
		if f.Time.Before(s.held.Time) {
			s.drop("time-leap", s.heldAt, fmt.Sprintf("time leaps to %s and comes back", stamp(s.held.Time)))
		} else {
			s.append(&s.held, s.heldAt)
		}
	}
	if n := s.Track.Len(); n > 0 && f.Time.Sub(s.Track.TimeAt(n-1)) > MaxLeap {
		s.held, s.heldAt, s.holds = *f, at, true
		return
	}
	s.append(f, at)
}

// Close ends the sequence: a leap that nothing confirms is dropped.
func (s *Sequence) Close() {
	if s.holds {
		s.holds = false
		s.drop("time-leap", s.heldAt, fmt.Sprintf("time leaps to %s and the log ends", stamp(s.held.Time)))
	}
}

func (s *Sequence) append(f *Fix, at Place) {
	if s.Track.Append(f) {
		return
	}
	last := s.Track.TimeAt(s.Track.Len() - 1)
	if f.Time.Equal(last) {
		s.drop("time-repeated", at, fmt.Sprintf("the time %s is repeated", stamp(f.Time)))
		return
	}
	s.drop("time-backward", at, fmt.Sprintf("time steps back %.3f s to %s", last.Sub(f.Time).Seconds(), stamp(f.Time)))
}

func (s *Sequence) drop(kind string, at Place, text string) {
	s.Problems.Add(diag.Problem{Kind: kind, Effect: diag.Dropped, Line: at.Line, Byte: at.Byte, Text: text})
}

// stamp prints an instant for a message.
func stamp(t time.Time) string { return t.Format("2006-01-02T15:04:05.999Z") }

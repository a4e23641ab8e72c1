package recording

import "errors"

// Drain lets the fixes of a long log go while it is read, so that it need not be held
// whole. Fixes go as long as they stand in the order of time.
type Drain struct {
	Every int // fixes, after which Take is called
	// Take is given a track that the reader goes on filling, and returns how many of its
	// first fixes may go. Where that is none it is called again when there are twice as many.
	Take func(*Track) int
	// Err is ErrOutOfOrder once the log has been read, where its time stepped after fixes went.
	Err error

	next int // fixes
}

// ErrOutOfOrder is a Drain's error: only who holds all of a log can put it in order.
var ErrOutOfOrder = errors.New("time steps in a log that is read in stretches")

// drain calls Take where it is time.
func (s *Sequence) drain() {
	d, n := s.Drain, s.Track.Len()
	if d == nil || n < max(d.next, d.Every) || !s.Steps.straight() {
		return
	}
	k := d.Take(s.Track)
	if d.next = 2 * n; k > 0 {
		s.Track.forget(k)
		s.Steps.gone += k
		d.next = 0
	}
}

// straight reports whether every record so far goes forward from the one before.
func (s *Steps) straight() bool { return !s.back && len(s.late) == 0 }

// forget drops the first k fixes.
func (t *Track) forget(k int) {
	t.nano = t.nano[:copy(t.nano, t.nano[k:])]
	for c, col := range t.cols {
		if col != nil {
			t.cols[c] = col[:copy(col, col[k:])]
		}
	}
}

// Head returns the first k fixes; the columns are shared.
func (t *Track) Head(k int) *Track {
	h := t.Like()
	h.nano = t.nano[:k:k]
	for c, col := range t.cols {
		if col != nil {
			h.cols[c] = col[:k:k]
		}
	}
	return h
}

package web

import (
	"context"
	"sync"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
)

// work is an open session: what was worked out from its logs, and its sheet.
type work struct {
	s  *Server
	id string

	mu         sync.Mutex
	title      string
	created    time.Time
	logs       []*logWork
	sheet      archive.Sheet
	history    []archive.Sheet
	parsed     *sheet.Sheet    // nil where the sheet is empty or wrong
	wrong      string          // why the sheet could not be applied as it stands
	targets    []timing.Target // added by the sheet
	found      *session.Result // of all logs, before the sheet
	result     *session.Result // with the sheet
	loads      int             // counts up with every change, for the page
	comparison *compare.Result // of result, as of load comparedAt
	compareErr error
	comparedAt int

	older  string // how the stored result of another version differs
	stored bool   // the present result is in the archive
	timer  *time.Timer
}

// work opens a session: its logs are queued for analysis unless that was done.
func (s *Server) work(ctx context.Context, id string) (*work, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.used[id] = time.Now()
	if w := s.open[id]; w != nil {
		return w, nil
	}
	sess, err := s.arch.Session(ctx, id)
	if err != nil {
		return nil, err
	}
	w := &work{s: s, id: id, title: sess.Title, created: sess.Created}
	if err := w.readSheet(ctx); err != nil {
		return nil, err
	}
	for _, l := range sess.Logs {
		w.logs = append(w.logs, &logWork{SessionLog: l, state: stateQueued})
	}
	w.combine()
	for _, l := range w.logs {
		w.enqueue(l)
	}
	s.open[id] = w
	s.evict(id)
	return w, nil
}

// evict forgets the sessions that nobody has looked at for longest. Nothing is
// lost: they are analysed again when they are opened.
func (s *Server) evict(keep string) {
	for len(s.open) > mostOpen {
		oldest := ""
		for id, w := range s.open {
			if id == keep || s.hub.watched(id) || !w.idle() {
				continue
			}
			if oldest == "" || s.used[id].Before(s.used[oldest]) {
				oldest = id
			}
		}
		if oldest == "" {
			return
		}
		go s.open[oldest].store(s.ctx)
		delete(s.open, oldest)
		delete(s.used, oldest)
	}
}

// forget drops an open session, which has been removed.
func (s *Server) forget(id string) {
	s.mu.Lock()
	w := s.open[id]
	delete(s.open, id)
	delete(s.used, id)
	s.mu.Unlock()
	if w == nil {
		return
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	w.stored = true // there is nowhere to store it
	for _, l := range w.logs {
		l.stop()
	}
}

func (w *work) idle() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.pending() == 0
}

// combine puts the parts together and applies the sheet. The caller holds mu.
func (w *work) combine() {
	var parts []*session.Result
	for _, l := range w.logs {
		if l.part != nil {
			parts = append(parts, l.part)
		}
	}
	w.found = session.Merge(parts...)
	w.apply()
}

func (w *work) changed() { w.s.hub.publish(w.id, event{Kind: "changed"}) }

// touched lets the pages know of a change and has the result stored.
func (w *work) touched() {
	w.changed()
	w.storeSoon()
}

// storeSoon keeps the result in the archive once nothing has changed for a
// moment, so that a burst of edits is stored once.
func (w *work) storeSoon() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.stored = false
	if w.timer != nil {
		w.timer.Stop()
	}
	w.timer = time.AfterFunc(storeAfter, func() { w.store(w.s.ctx) })
}

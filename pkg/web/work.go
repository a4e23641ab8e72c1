package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"sync"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// work is an open session: what was worked out from its logs, and its sheet.
type work struct {
	s  *Server
	id string

	mu      sync.Mutex
	title   string
	created time.Time
	logs    []*logWork
	sheet   archive.Sheet
	history []archive.Sheet
	parsed  *sheet.Sheet    // nil where the sheet is empty or wrong
	wrong   string          // why the sheet could not be applied as it stands
	reading session.Options // that logs are read with, by the sheet
	sensor  *sensor         // whose accelerometer goes with the logs, by the sheet; nil for none
	result  *session.Result // of all logs and the sheet

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

// options are what the session is analysed with under a sheet, nil for none.
func (w *work) options(p *sheet.Sheet) session.Options {
	o := &w.s.opts
	units := ""
	if p == nil || p.Units == "" {
		units = o.Units
	}
	columns := ""
	if p == nil || p.Columns == "" {
		columns = o.Columns
	}
	return session.Options{Units: units, Version: o.Version, Columns: columns, Sheet: p}
}

// answer is the result under a sheet, of the logs that have been read. The caller holds
// mu.
func (w *work) answer(p *sheet.Sheet) *session.Result {
	var parts []*session.Result
	for _, l := range w.logs {
		if l.part != nil {
			parts = append(parts, l.part)
		}
	}
	return session.Merge(w.options(p), parts...)
}

// combine makes the result anew. While logs are still being read a sheet may speak of
// what is not there yet. The caller holds mu.
func (w *work) combine() {
	w.result = w.answer(w.parsed)
	if w.parsed == nil {
		return
	}
	w.wrong = ""
	if err := w.result.SheetError; err != nil && w.pending() == 0 {
		w.wrong = err.Error()
	}
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

// store keeps the result with what made it, if all logs have been read.
func (w *work) store(ctx context.Context) {
	w.mu.Lock()
	if w.stored || w.pending() > 0 || w.result == nil || len(w.result.Logs) == 0 || w.s.ctx.Err() != nil {
		w.mu.Unlock()
		return
	}
	w.stored = true
	res, rev := w.result, w.sheet.Revision
	w.mu.Unlock()
	var b bytes.Buffer
	settings, err := json.Marshal(res.Settings)
	if err == nil {
		err = report.StoredJSON(&b, res)
	}
	if err == nil {
		_, err = w.s.arch.SaveResult(ctx, w.id, archive.Result{Revision: rev, Version: w.s.opts.Version, Settings: string(settings), Body: b.Bytes()})
	}
	if err != nil && !errors.Is(err, archive.ErrNotFound) {
		w.s.log.Printf("session %s: the result could not be stored: %v", w.id, err)
	}
}

// compareStored says how the session, worked out anew, differs from what an earlier
// version of the program or of its model left in the archive.
func (w *work) compareStored(ctx context.Context) {
	old, err := w.s.arch.Result(ctx, w.id, 0)
	if err != nil {
		return // there is none, or it is damaged, which archive verify tells
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	since, err := report.Since(old.Body, w.result, old.Revision == w.sheet.Revision)
	if err != nil {
		w.s.log.Printf("session %s, result %d: %v", w.id, old.Number, err)
	}
	if since != nil {
		w.older = since.Brief()
	}
}

// queue runs jobs in the order they were added, a few at a time.
type queue struct {
	ctx  context.Context
	mu   sync.Mutex
	cond *sync.Cond
	jobs []func(context.Context)
	wg   sync.WaitGroup // of the workers, which go when the context ends
}

func newQueue(ctx context.Context, workers int) *queue {
	q := &queue{ctx: ctx}
	q.cond = sync.NewCond(&q.mu)
	context.AfterFunc(ctx, func() {
		q.mu.Lock()
		defer q.mu.Unlock()
		q.cond.Broadcast()
	})
	for range workers {
		q.wg.Go(q.work)
	}
	return q
}

func (q *queue) add(job func(context.Context)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.jobs = append(q.jobs, job)
	q.cond.Signal()
}

func (q *queue) work() {
	for {
		q.mu.Lock()
		for len(q.jobs) == 0 && q.ctx.Err() == nil {
			q.cond.Wait()
		}
		if q.ctx.Err() != nil {
			q.mu.Unlock()
			return
		}
		job := q.jobs[0]
		q.jobs = q.jobs[1:]
		q.mu.Unlock()
		job(q.ctx)
	}
}

package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"io"
	"slices"
	"strings"
	"sync"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
)

// The states of a log.
const (
	stateQueued    = "queued"
	stateReading   = "reading"
	stateDone      = "done"
	stateFailed    = "failed"
	stateCancelled = "cancelled"
)

// logWork is one log of an open session.
type logWork struct {
	archive.SessionLog
	state  string
	done   int64           // bytes read
	part   *session.Result // of this log alone, nil until read
	text   string          // why it gave nothing
	cancel context.CancelFunc
}

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

// maxOpen is how many sessions nobody looks at stay in memory.
const maxOpen = 4

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
	for len(s.open) > maxOpen {
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
		if l.cancel != nil {
			l.cancel()
		}
		l.state = stateCancelled
	}
}

func (w *work) idle() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.pending() == 0
}

// pending counts the logs that are not read yet.
func (w *work) pending() int {
	n := 0
	for _, l := range w.logs {
		if l.state == stateQueued || l.state == stateReading {
			n++
		}
	}
	return n
}

// add takes up a log that was just imported.
func (w *work) add(l archive.SessionLog) {
	w.mu.Lock()
	for _, have := range w.logs {
		if have.SHA256 == l.SHA256 {
			w.mu.Unlock()
			return
		}
	}
	lw := &logWork{SessionLog: l, state: stateQueued}
	w.logs = append(w.logs, lw)
	w.loads++
	w.mu.Unlock()
	w.enqueue(lw)
	w.changed()
}

func (w *work) changed() { w.s.hub.publish(w.id, event{Kind: "changed"}) }

func (w *work) enqueue(l *logWork) {
	w.s.queue.add(func(ctx context.Context) { w.read(ctx, l) })
}

// read analyses one log from its stored bytes.
func (w *work) read(ctx context.Context, l *logWork) {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	w.mu.Lock()
	if l.state != stateQueued {
		w.mu.Unlock()
		return
	}
	l.state, l.cancel, l.done = stateReading, cancel, 0
	targets := w.targets
	w.mu.Unlock()
	w.tell(l, 0)

	opts := session.Options{Units: w.s.opts.Units, Version: w.s.opts.Version, Columns: w.s.opts.Columns, Targets: targets,
		Progress: w.progress(l)}
	in := session.Input{Path: l.Name, Mode: l.Mode,
		Open: func() (io.ReadCloser, error) { return w.s.arch.OpenLog(ctx, l.SHA256) }}
	res, err := session.Run(ctx, []session.Input{in}, opts)
	w.finish(l, targets, res, err)
}

// progress tells the page how much of a log has been read, a few times a second.
func (w *work) progress(l *logWork) func(done, total int64) {
	last := time.Now()
	return func(done, _ int64) {
		if time.Since(last) < 150*time.Millisecond {
			return
		}
		last = time.Now()
		w.mu.Lock()
		l.done = done
		w.mu.Unlock()
		w.tell(l, 0)
	}
}

// finish takes up what the analysis of a log gave.
func (w *work) finish(l *logWork, targets []timing.Target, res *session.Result, err error) {
	w.mu.Lock()
	l.cancel = nil
	runs := 0
	switch {
	case l.state == stateQueued: // cancelled and begun again meanwhile
		w.mu.Unlock()
		return
	case l.state == stateCancelled || errors.Is(err, context.Canceled):
		l.state = stateCancelled
	case err != nil:
		l.state, l.text = stateFailed, err.Error()
	case len(res.Failed) > 0:
		l.state, l.text = stateFailed, strings.TrimPrefix(res.Failed[0].Err.Error(), l.Name+": ")
	case !slices.Equal(targets, w.targets):
		l.state = stateQueued // the sheet asked for other targets meanwhile
		w.mu.Unlock()
		w.enqueue(l)
		return
	default:
		slim(res)
		l.state, l.part, l.done = stateDone, res, l.Bytes
		runs = len(res.Runs)
	}
	w.combine()
	all := w.pending() == 0
	w.mu.Unlock()
	w.tell(l, runs)
	w.changed()
	if all {
		w.compareStored(w.s.ctx)
		w.storeSoon()
	}
}

// slim cuts a result loose from what it was made from: a pointer into a
// recording would keep all of its samples in memory, for each log of a season.
func slim(res *session.Result) {
	for _, l := range res.Logs {
		if l.Problems != nil {
			p := *l.Problems
			l.Problems = &p
		}
	}
	for _, r := range res.Runs {
		r.RawT, r.RawV, r.RawOut = slices.Clone(r.RawT), slices.Clone(r.RawV), slices.Clone(r.RawOut)
		r.RawAccelT, r.RawAccel = slices.Clone(r.RawAccelT), slices.Clone(r.RawAccel)
		for _, c := range []*[]float64{&r.Trace.T, &r.Trace.S, &r.Trace.V, &r.Trace.A, &r.Trace.SS, &r.Trace.SV, &r.Trace.SA} {
			*c = slices.Clone(*c)
		}
	}
}

func (w *work) tell(l *logWork, runs int) {
	w.mu.Lock()
	e := event{Kind: "log", Key: l.SHA256, State: l.state, Done: l.done, Total: l.Bytes, Runs: runs, Text: l.text}
	w.mu.Unlock()
	w.s.hub.publish(w.id, e)
}

// cancelLog stops the analysis of a log; again starts it once more.
func (w *work) cancelLog(sha string, again bool) error {
	w.mu.Lock()
	for _, l := range w.logs {
		if l.SHA256 != sha {
			continue
		}
		waiting := l.state == stateQueued || l.state == stateReading
		switch {
		case again && !waiting:
			l.state, l.text = stateQueued, ""
			w.mu.Unlock()
			w.enqueue(l)
			w.changed()
			return nil
		case !again && waiting:
			l.state = stateCancelled
			if l.cancel != nil {
				l.cancel()
			}
		}
		w.mu.Unlock()
		w.changed()
		return nil
	}
	w.mu.Unlock()
	return archive.ErrNotFound
}

// dropLog takes a log out of the session.
func (w *work) dropLog(ctx context.Context, sha string) error {
	if err := w.s.arch.DropLog(ctx, w.id, sha); err != nil {
		return err
	}
	w.mu.Lock()
	for i, l := range w.logs {
		if l.SHA256 == sha {
			if l.cancel != nil {
				l.cancel()
			}
			l.state = stateCancelled
			w.logs = append(w.logs[:i:i], w.logs[i+1:]...)
			break
		}
	}
	w.combine()
	w.mu.Unlock()
	w.changed()
	w.storeSoon()
	return nil
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

// storeSoon keeps the result in the archive once nothing has changed for a
// moment, so that a burst of edits is stored once.
func (w *work) storeSoon() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.stored = false
	if w.timer != nil {
		w.timer.Stop()
	}
	w.timer = time.AfterFunc(2*time.Second, func() { w.store(w.s.ctx) })
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
		err = report.RunsJSON(&b, res)
	}
	if err == nil {
		_, err = w.s.arch.SaveResult(ctx, w.id, archive.Result{Revision: rev, Version: w.s.opts.Version, Settings: string(settings), Body: b.Bytes()})
	}
	if err != nil && !errors.Is(err, archive.ErrNotFound) {
		w.s.log.Printf("session %s: the result could not be stored: %v", w.id, err)
	}
}

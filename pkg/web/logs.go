package web

import (
	"context"
	"errors"
	"io"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/session"
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
	state string
	done  int64           // bytes read
	part  *session.Result // of this log alone, nil until read
	strange
	text   string // why it gave nothing, or what became of it
	cancel context.CancelFunc
}

// waiting reports whether a log is still to be read.
func (l *logWork) waiting() bool { return l.state == stateQueued || l.state == stateReading }

// stop ends the reading of a log, begun or not.
func (l *logWork) stop() {
	if l.cancel != nil {
		l.cancel()
	}
	l.state = stateCancelled
}

// pending counts the logs that are not read yet.
func (w *work) pending() int {
	n := 0
	for _, l := range w.logs {
		if l.waiting() {
			n++
		}
	}
	return n
}

// add takes up a log that was just imported.
func (w *work) add(l archive.SessionLog) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.log(l.SHA256) != nil {
		return
	}
	lw := &logWork{SessionLog: l, state: stateQueued}
	w.logs = append(w.logs, lw)
	w.enqueue(lw)
	w.regard(lw)
	w.changed()
}

// log finds a log by its hash, nil where it is not in the session. The caller
// holds mu.
func (w *work) log(sha string) *logWork {
	for _, l := range w.logs {
		if l.SHA256 == sha {
			return l
		}
	}
	return nil
}

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
	opts, with := w.reading, w.sensorOf()
	w.mu.Unlock()
	w.tell(l, 0)

	opts.Progress = w.progress(l)
	in := session.Input{Path: l.Name, Mode: l.Mode,
		Open: func() (io.ReadCloser, error) { return w.s.arch.OpenLog(ctx, l.SHA256) }}
	own, err := w.companion(ctx, with, l, &opts)
	res := &session.Result{}
	if err == nil && !own {
		res, err = session.Run(ctx, []session.Input{in}, opts)
	}
	odd := strange{}
	if err == nil {
		odd = w.strangeness(ctx, l, res)
	}
	w.finish(l, &readLog{&opts, with, own, res, odd, err})
}

// progress tells the page how much of a log has been read, a few times a second.
func (w *work) progress(l *logWork) func(done, total int64) {
	last := time.Now()
	return func(done, _ int64) {
		if time.Since(last) < tellEvery {
			return
		}
		last = time.Now()
		w.mu.Lock()
		l.done = done
		w.mu.Unlock()
		w.tell(l, 0)
	}
}

// readLog is what the analysis of a log gave.
type readLog struct {
	opts *session.Options // that it was read with
	with *sensor
	own  bool // it is the sensor's own log
	res  *session.Result
	odd  strange
	err  error
}

// finish takes up what the analysis of a log gave.
func (w *work) finish(l *logWork, got *readLog) {
	res, err := got.res, got.err
	w.mu.Lock()
	l.cancel = nil
	runs := 0
	switch {
	case l.state == stateQueued: // cancelled and begun again meanwhile
		w.mu.Unlock()
		return
	case l.state == stateCancelled || errors.Is(err, context.Canceled):
		l.state = stateCancelled
	case !sameReading(got.opts, &w.reading) || got.with != w.sensorOf():
		l.state = stateQueued // the sheet asked for other targets, units or columns meanwhile
		w.mu.Unlock()
		w.enqueue(l)
		return
	case err != nil:
		l.state, l.text = stateFailed, err.Error()
	case len(res.Failed) > 0:
		l.state, l.part, l.text = stateFailed, res, strings.TrimPrefix(res.Failed[0].Err.Error(), l.Name+": ")
	default:
		if l.text = ""; got.own {
			l.text = "its accelerometer goes with the other logs"
		}
		slim(res)
		l.state, l.part, l.done = stateDone, res, l.Bytes
		runs = len(res.Runs)
	}
	l.strange = got.odd
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
	defer w.mu.Unlock()
	l := w.log(sha)
	switch {
	case l == nil:
		return archive.ErrNotFound
	case again && !l.waiting():
		l.state, l.text = stateQueued, ""
		w.enqueue(l)
	case !again && l.waiting():
		l.stop()
	}
	w.changed()
	return nil
}

// dropLog takes a log out of the session.
func (w *work) dropLog(ctx context.Context, sha string) error {
	if err := w.s.arch.DropLog(ctx, w.id, sha); err != nil {
		return err
	}
	w.mu.Lock()
	if l := w.log(sha); l != nil {
		l.stop()
		w.logs = slices.DeleteFunc(slices.Clone(w.logs), func(x *logWork) bool { return x == l })
		w.regard(l)
	}
	w.combine()
	w.mu.Unlock()
	w.touched()
	return nil
}

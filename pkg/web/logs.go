package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
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
	state  string
	done   int64           // bytes read
	part   *session.Result // of this log alone, nil until read
	text   string          // why it gave nothing
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
	opts := w.reading
	w.mu.Unlock()
	w.tell(l, 0)

	opts.Progress = w.progress(l)
	in := session.Input{Path: l.Name, Mode: l.Mode,
		Open: func() (io.ReadCloser, error) { return w.s.arch.OpenLog(ctx, l.SHA256) }}
	res, err := session.Run(ctx, []session.Input{in}, opts)
	w.finish(l, &opts, res, err)
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

// finish takes up what the analysis of a log gave.
func (w *work) finish(l *logWork, read *session.Options, res *session.Result, err error) {
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
		l.state, l.part, l.text = stateFailed, res, strings.TrimPrefix(res.Failed[0].Err.Error(), l.Name+": ")
	case !sameReading(read, &w.reading):
		l.state = stateQueued // the sheet asked for other targets or units meanwhile
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
	}
	w.combine()
	w.mu.Unlock()
	w.touched()
	return nil
}

// rawLog gives a log back byte for byte.
func (s *Server) rawLog(w http.ResponseWriter, r *http.Request) error {
	sess, err := s.arch.Session(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	i := slices.IndexFunc(sess.Logs, func(l archive.SessionLog) bool { return l.SHA256 == r.PathValue("sha") })
	if i < 0 {
		return archive.ErrNotFound
	}
	l := sess.Logs[i]
	f, err := s.arch.OpenLog(r.Context(), l.SHA256)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }() // only read
	w.Header().Set("Content-Length", fmt.Sprint(l.Bytes))
	download(w, archive.FileName(l.Name, "log"), "application/octet-stream", f)
	return nil
}

// upload takes one log into the archive and queues it for analysis. The answer
// comes once the log is on disk.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	q := r.URL.Query()
	name, mode, key := clean(q.Get("name"), mostName), clean(q.Get("mode"), mostMode), clean(q.Get("key"), mostMode)
	if name == "" {
		return &errEdit{"a log needs a name"}
	}
	if r.ContentLength > s.opts.MaxLog {
		return &http.MaxBytesError{Limit: s.opts.MaxLog}
	}
	if _, err := s.work(r.Context(), id); err != nil {
		return err
	}
	select {
	case s.uploads <- struct{}{}:
		defer func() { <-s.uploads }()
	case <-r.Context().Done():
		return nil // nobody is there to be told
	}
	rc := http.NewResponseController(w)
	if err := supported(rc.SetWriteDeadline(time.Time{})); err != nil {
		return err
	}
	in := &uploadReader{r: http.MaxBytesReader(w, r.Body, s.opts.MaxLog), stall: s.opts.Stall, rc: rc,
		tell: func(done int64) {
			s.hub.publish(id, event{Kind: "upload", Key: key, State: "receiving", Done: done, Total: r.ContentLength})
		}}
	st, err := s.importLog(r.Context(), id, name, mode, in)
	if err != nil {
		text := err.Error()
		switch {
		case errors.Is(err, os.ErrDeadlineExceeded):
			text = "the upload stalled and was given up"
			err = &errEdit{text}
		case r.Context().Err() != nil:
			text = "cancelled"
		}
		s.hub.publish(id, event{Kind: "upload", Key: key, State: "failed", Text: text})
		// Do not wait for the rest. Where no deadline can be set the client is gone.
		_ = rc.SetReadDeadline(time.Now())
		_ = rc.SetWriteDeadline(time.Now().Add(refusalWait))
		w.Header().Set("Connection", "close")
		return err
	}
	_ = rc.SetReadDeadline(time.Time{}) // the log is stored, whether its client hears of it or not
	_ = rc.SetWriteDeadline(time.Now().Add(answerWait))
	s.hub.publish(id, event{Kind: "upload", Key: key, State: "stored", Done: st.Bytes, Total: st.Bytes})
	reply(w, map[string]any{"sha": st.SHA256, "bytes": st.Bytes, "known": st.Known, "inSession": st.InSession})
	return nil
}

// importLog imports a log and lets the session know.
func (s *Server) importLog(ctx context.Context, id, name, mode string, in io.Reader) (archive.Stored, error) {
	st, err := s.arch.Import(ctx, id, name, mode, in)
	if err != nil {
		var tooLarge *http.MaxBytesError
		if errors.As(err, &tooLarge) {
			return st, fmt.Errorf("%s is larger than the %d MiB that are taken: %w", name, s.opts.MaxLog>>20, tooLarge)
		}
		return st, err
	}
	if st.InSession {
		return st, nil
	}
	// The session may have been put out of memory while the bytes came in.
	work, err := s.work(s.ctx, id)
	if err != nil {
		return st, err
	}
	work.add(archive.SessionLog{SHA256: st.SHA256, Bytes: st.Bytes, Name: name, Mode: mode, Added: time.Now().UTC()})
	return st, nil
}

// supported passes over that a connection, such as a test's, has no deadlines.
func supported(err error) error {
	if errors.Is(err, http.ErrNotSupported) {
		return nil
	}
	return err
}

// uploadReader reports progress and gives up on a client that sends less than a
// block within the time allowed, so that nobody holds a slot by trickling.
type uploadReader struct {
	r     io.Reader
	rc    *http.ResponseController
	stall time.Duration
	tell  func(int64)

	n, block int64
	told     time.Time
	begun    bool
}

// Read implements io.Reader.
func (u *uploadReader) Read(p []byte) (int, error) {
	if !u.begun || u.n-u.block >= uploadBlock {
		u.begun, u.block = true, u.n
		if err := supported(u.rc.SetReadDeadline(time.Now().Add(u.stall))); err != nil {
			return 0, err
		}
	}
	n, err := u.r.Read(p)
	u.n += int64(n)
	if time.Since(u.told) > tellEvery {
		u.told = time.Now()
		u.tell(u.n)
	}
	return n, err
}

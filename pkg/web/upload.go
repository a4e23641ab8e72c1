package web

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"time"

	"fromrest/pkg/archive"
)

// upload takes one log into the archive and queues it for analysis. The answer
// comes once the log is on disk.
func (s *Server) upload(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	q := r.URL.Query()
	name, mode, key := clean(q.Get("name"), mostName), clean(q.Get("mode"), mostMode), clean(q.Get("key"), mostMode)
	if name == "" {
		fail(w, &errEdit{"a log needs a name"})
		return
	}
	if r.ContentLength > s.opts.MaxLog {
		fail(w, &http.MaxBytesError{Limit: s.opts.MaxLog})
		return
	}
	if _, err := s.work(r.Context(), id); err != nil {
		fail(w, err)
		return
	}
	select {
	case s.uploads <- struct{}{}:
		defer func() { <-s.uploads }()
	case <-r.Context().Done():
		return
	}
	rc := http.NewResponseController(w)
	if err := supported(rc.SetWriteDeadline(time.Time{})); err != nil {
		fail(w, err)
		return
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
		fail(w, err)
		return
	}
	_ = rc.SetReadDeadline(time.Time{}) // the log is stored, whether its client hears of it or not
	_ = rc.SetWriteDeadline(time.Now().Add(answerWait))
	s.hub.publish(id, event{Kind: "upload", Key: key, State: "stored", Done: st.Bytes, Total: st.Bytes})
	reply(w, map[string]any{"sha": st.SHA256, "bytes": st.Bytes, "known": st.Known, "inSession": st.InSession})
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

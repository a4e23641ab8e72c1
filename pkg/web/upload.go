package web

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"strings"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/format"
)

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
	got, err := s.take(r.Context(), id, name, mode, in)
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
	s.hub.publish(id, event{Kind: "upload", Key: key, State: "stored", Done: got.Bytes, Total: got.Bytes})
	reply(w, got)
	return nil
}

// takenView is what became of an upload.
type takenView struct {
	SHA       string   `json:"sha"`
	Bytes     int64    `json:"bytes"`
	Known     bool     `json:"known"`
	InSession bool     `json:"inSession"`
	Logs      int      `json:"logs"`   // of an archive
	Passed    []string `json:"passed"` // what of an archive is no log, and why
	Sheet     string   `json:"sheet"`  // the text of the sheet in an archive
}

// take imports an upload, a log or an archive of logs.
func (s *Server) take(ctx context.Context, id, name, mode string, in io.Reader) (takenView, error) {
	head := bufio.NewReaderSize(in, archiveHead)
	first, _ := head.Peek(archiveHead) // what is wrong is met again by the reader
	if format.IsArchive(first) {
		return s.unpack(ctx, id, name, mode, head)
	}
	st, err := s.importLog(ctx, id, name, mode, head)
	return takenView{SHA: st.SHA256, Bytes: st.Bytes, Known: st.Known, InSession: st.InSession, Passed: []string{}}, err
}

// unpack imports the logs of an archive, by the reader and the limits of the commands.
// The archive itself is not kept. Logs that came out before one that is damaged stay.
func (s *Server) unpack(ctx context.Context, id, name, mode string, in io.Reader) (v takenView, err error) {
	f, err := os.CreateTemp("", "fromrest-*")
	if err != nil {
		return v, err
	}
	defer func() { _, _ = f.Close(), os.Remove(f.Name()) }() // of no use any more
	if v.Bytes, err = io.Copy(f, in); err != nil {
		return v, err
	}
	v.InSession = true
	passed, err := format.Unpack(f, v.Bytes, name, func(u *format.Unpacked) error {
		if u.Sheet {
			text, err := io.ReadAll(io.LimitReader(u.R, mostSheet+1))
			if err == nil && len(text) <= mostSheet && u.Name == sheetName {
				v.Sheet = strings.ToValidUTF8(string(text), "\uFFFD")
			}
			return err
		}
		st, err := s.importLog(ctx, id, clean(u.Name, mostName), cmp.Or(mode, clean(u.Mode, mostMode)), http.MaxBytesReader(nil, io.NopCloser(u.R), s.opts.MaxLog))
		if err == nil {
			v.Logs++
			v.InSession = v.InSession && st.InSession
		}
		return err
	})
	v.Passed = each(passed, func(p format.Passed) string { return strings.TrimPrefix(p.Path, name+"/") + ": " + p.Why })
	if err != nil && !errors.Is(err, archive.ErrFull) && ctx.Err() == nil {
		err = &errEdit{fmt.Sprintf("%s: %v", name, err)}
	}
	return v, err
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

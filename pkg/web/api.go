package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/archive"
)

// maxRequest bounds the body of every request but the upload of a log.
const maxRequest = 1 << 20

func (s *Server) routes() http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { serveAsset(w, r, "/assets/index.html", http.StatusOK) })
	m.HandleFunc("GET /assets/", func(w http.ResponseWriter, r *http.Request) { serveAsset(w, r, r.URL.Path, http.StatusOK) })
	m.HandleFunc("GET /favicon.ico", func(w http.ResponseWriter, r *http.Request) { serveAsset(w, r, "/assets/icon.svg", http.StatusOK) })
	m.HandleFunc("GET /api/sessions", s.listSessions)
	m.HandleFunc("POST /api/sessions", s.newSession)
	m.HandleFunc("GET /api/sessions/{id}", s.showSession)
	m.HandleFunc("POST /api/sessions/{id}/remove", s.removeSession)
	m.HandleFunc("GET /api/sessions/{id}/events", s.events)
	m.HandleFunc("POST /api/sessions/{id}/logs", s.upload)
	m.HandleFunc("POST /api/sessions/{id}/logs/{sha}/{what}", s.changeLog)
	m.HandleFunc("GET /api/sessions/{id}/logs/{sha}", s.rawLog)
	m.HandleFunc("POST /api/sessions/{id}/edit", s.edit)
	m.HandleFunc("POST /api/sessions/{id}/undo", func(w http.ResponseWriter, r *http.Request) { s.undo(w, r, false) })
	m.HandleFunc("POST /api/sessions/{id}/redo", func(w http.ResponseWriter, r *http.Request) { s.undo(w, r, true) })
	m.HandleFunc("GET /api/sessions/{id}/sheet", s.sheet)
	m.HandleFunc("GET /api/sessions/{id}/traces", s.traces)
	m.HandleFunc("GET /api/sessions/{id}/table", s.table)
	m.HandleFunc("GET /api/sessions/{id}/compare", s.compare)
	m.HandleFunc("GET /api/sessions/{id}/wheels", s.wheels)
	m.HandleFunc("GET /api/sessions/{id}/export/{name}", s.export)
	m.HandleFunc("GET /api/limits", func(w http.ResponseWriter, r *http.Request) {
		reply(w, map[string]any{"maxLog": s.opts.MaxLog, "version": s.opts.Version, "archive": s.arch.Path(), "exports": exportList()})
	})
	return m
}

// reply sends v as JSON.
func reply(w http.ResponseWriter, v any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	json.NewEncoder(w).Encode(v)
}

// fail sends an error as one line of JSON with the status that it calls for.
func fail(w http.ResponseWriter, err error) {
	status := http.StatusInternalServerError
	var tooLarge *http.MaxBytesError
	var bad *errEdit
	switch {
	case errors.Is(err, archive.ErrNotFound):
		status = http.StatusNotFound
	case errors.Is(err, archive.ErrStale):
		status = http.StatusConflict
	case errors.Is(err, archive.ErrFull):
		status = http.StatusInsufficientStorage
	case errors.As(err, &tooLarge):
		status = http.StatusRequestEntityTooLarge
	case errors.As(err, &bad):
		status = http.StatusUnprocessableEntity
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	json.NewEncoder(w).Encode(map[string]string{"error": err.Error()})
}

// body reads a small JSON request.
func body(w http.ResponseWriter, r *http.Request, v any) bool {
	d := json.NewDecoder(http.MaxBytesReader(w, r.Body, maxRequest))
	d.DisallowUnknownFields()
	if err := d.Decode(v); err != nil {
		var tooLarge *http.MaxBytesError
		if !errors.As(err, &tooLarge) {
			err = &errEdit{"the request could not be read"}
		}
		fail(w, err)
		return false
	}
	return true
}

// clean makes a name or a remark from outside one line of at most n characters.
func clean(s string, n int) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' }), " ")
	s = strings.TrimSpace(s)
	if utf8.RuneCountInString(s) > n {
		s = string([]rune(s)[:n])
	}
	return s
}

func (s *Server) listSessions(w http.ResponseWriter, r *http.Request) {
	list, err := s.arch.Sessions(r.Context())
	if err != nil {
		fail(w, err)
		return
	}
	sheets := map[string]string{}
	for _, it := range list {
		if it.Sheet == 0 {
			continue
		}
		sh, err := s.arch.Sheet(r.Context(), it.ID)
		if err != nil {
			fail(w, err)
			return
		}
		sheets[it.ID] = sh.Body
	}
	reply(w, viewSessions(list, sheets))
}

func (s *Server) newSession(w http.ResponseWriter, r *http.Request) {
	var in struct{ Title string }
	if !body(w, r, &in) {
		return
	}
	title := clean(in.Title, 200)
	if title == "" {
		title = "Untitled session"
	}
	sess, err := s.arch.NewSession(r.Context(), title)
	if err != nil {
		fail(w, err)
		return
	}
	reply(w, map[string]string{"id": sess.ID})
}

func (s *Server) showSession(w http.ResponseWriter, r *http.Request) {
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	reply(w, work.view())
}

func (s *Server) removeSession(w http.ResponseWriter, r *http.Request) {
	id := r.PathValue("id")
	s.forget(id)
	if err := s.arch.Remove(r.Context(), id); err != nil {
		fail(w, err)
		return
	}
	s.hub.publish(id, event{Kind: "changed"})
	reply(w, map[string]bool{"removed": true})
}

func (s *Server) changeLog(w http.ResponseWriter, r *http.Request) {
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	sha := r.PathValue("sha")
	switch r.PathValue("what") {
	case "cancel":
		err = work.cancelLog(sha, false)
	case "again":
		err = work.cancelLog(sha, true)
	case "remove":
		err = work.dropLog(r.Context(), sha)
	default:
		http.NotFound(w, r)
		return
	}
	if err != nil {
		fail(w, err)
		return
	}
	reply(w, work.view())
}

// rawLog gives a log back byte for byte.
func (s *Server) rawLog(w http.ResponseWriter, r *http.Request) {
	sess, err := s.arch.Session(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	for _, l := range sess.Logs {
		if l.SHA256 != r.PathValue("sha") {
			continue
		}
		f, err := s.arch.OpenLog(r.Context(), l.SHA256)
		if err != nil {
			fail(w, err)
			return
		}
		defer f.Close()
		attach(w, archive.FileName(l.Name, "log"), "application/octet-stream")
		w.Header().Set("Content-Length", fmt.Sprint(l.Bytes))
		io.Copy(w, f)
		return
	}
	fail(w, archive.ErrNotFound)
}

func (s *Server) undo(w http.ResponseWriter, r *http.Request, redo bool) {
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err == nil {
		err = work.undo(r.Context(), redo)
	}
	if err != nil {
		fail(w, err)
		return
	}
	work.changed()
	work.storeSoon()
	reply(w, work.view())
}

// sheet sends the sheet, as JSON for the page or as a file.
func (s *Server) sheet(w http.ResponseWriter, r *http.Request) {
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	text, rev, err := work.text()
	if err != nil {
		fail(w, err)
		return
	}
	if r.URL.Query().Get("download") != "" {
		attach(w, "session.toml", "application/toml")
		io.WriteString(w, text)
		return
	}
	reply(w, map[string]any{"text": text, "revision": rev})
}

func attach(w http.ResponseWriter, name, kind string) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", contentDisposition(name))
}

package web

import (
	"encoding/json"
	"errors"
	"io"
	"mime"
	"net/http"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/format"
	"fromrest/pkg/session"
)

func (s *Server) routes() http.Handler {
	m := http.NewServeMux()
	m.HandleFunc("GET /{$}", func(w http.ResponseWriter, r *http.Request) { serveAsset(w, r, "/assets/index.html") })
	m.HandleFunc("GET /assets/", func(w http.ResponseWriter, r *http.Request) { serveAsset(w, r, r.URL.Path) })
	m.HandleFunc("GET /favicon.ico", func(w http.ResponseWriter, r *http.Request) { serveAsset(w, r, "/assets/icon.svg") })
	m.HandleFunc("GET /api/limits", answer(func(*http.Request) (any, error) {
		return map[string]any{"maxLog": s.opts.MaxLog, "version": s.opts.Version, "model": session.ModelRevision, "archive": s.arch.Path(), "exports": exportList(), "notes": noteViews(),
			"datedFolder": format.DatedFolder.String()}, nil
	}))
	m.HandleFunc("GET /api/sessions", answer(s.listSessions))
	m.HandleFunc("GET /api/history", handle(s.history))
	m.HandleFunc("POST /api/sessions", answer(s.newSession))
	m.HandleFunc("POST /api/demonstration", answer(s.demonstration))
	m.HandleFunc("POST /api/sessions/{id}/remove", answer(s.removeSession))
	m.HandleFunc("GET /api/sessions/{id}/events", handle(s.events))
	m.HandleFunc("POST /api/sessions/{id}/logs", handle(s.upload))
	for pattern, f := range map[string]func(*http.Request, *work) (any, error){
		"GET ":                    func(r *http.Request, w *work) (any, error) { return w.view(authorOf(r.Context())), nil },
		"POST /logs/{sha}/cancel": viewAfter(func(r *http.Request, w *work) error { return w.cancelLog(r.PathValue("sha"), false) }),
		"POST /logs/{sha}/again":  viewAfter(func(r *http.Request, w *work) error { return w.cancelLog(r.PathValue("sha"), true) }),
		"POST /logs/{sha}/remove": viewAfter(func(r *http.Request, w *work) error { return w.dropLog(r.Context(), r.PathValue("sha")) }),
		"POST /edit":              viewAfter(changeSheet),
		"POST /undo":              viewAfter(func(r *http.Request, w *work) error { return w.undo(r.Context()) }),
		"POST /redo":              viewAfter(func(r *http.Request, w *work) error { return w.redo(r.Context()) }),
		"GET /logs/{sha}/columns": columns,
		"GET /traces":             traces,
		"GET /table":              table,
		"GET /outside":            outsideTimes,
		"GET /front":              front,
		"GET /means":              means,
		"GET /form":               form,
		"GET /days":               days,
		"GET /compare":            comparison,
	} {
		method, path, _ := strings.Cut(pattern, " ")
		m.HandleFunc(method+" /api/sessions/{id}"+path, s.onSession(func(w http.ResponseWriter, r *http.Request, work *work) error {
			v, err := f(r, work)
			if err == nil {
				reply(w, v)
			}
			return err
		}))
	}
	m.HandleFunc("GET /api/sessions/{id}/sheet", s.onSession(sheetText))
	m.HandleFunc("GET /api/sessions/{id}/wheels", shown(s.onSession(wheels)))
	m.HandleFunc("GET /api/sessions/{id}/plan", shown(s.onSession(planPage)))
	m.HandleFunc("GET /api/sessions/{id}/export/{name}", shown(s.onSession(exported)))
	return signed(m)
}

// handle makes a handler of a function whose error is sent; nothing else may have been
// sent then.
func handle(f func(http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if err := f(w, r); err != nil {
			fail(w, err)
		}
	}
}

// answer makes a handler of a function that gives what is sent as JSON. The body
// that it may read is bounded.
func answer(f func(*http.Request) (any, error)) http.HandlerFunc {
	return handle(func(w http.ResponseWriter, r *http.Request) error {
		r.Body = http.MaxBytesReader(w, r.Body, maxRequest)
		v, err := f(r)
		if err == nil {
			reply(w, v)
		}
		return err
	})
}

// onSession is handle for a function that works on an open session.
func (s *Server) onSession(f func(http.ResponseWriter, *http.Request, *work) error) http.HandlerFunc {
	return handle(func(w http.ResponseWriter, r *http.Request) error {
		r.Body = http.MaxBytesReader(w, r.Body, maxRequest)
		work, err := s.work(r.Context(), r.PathValue("id"))
		if err != nil {
			return err
		}
		return f(w, r, work)
	})
}

// viewAfter makes an answer of the session as it is after a change.
func viewAfter(f func(*http.Request, *work) error) func(*http.Request, *work) (any, error) {
	return func(r *http.Request, w *work) (any, error) {
		if err := f(r, w); err != nil {
			return nil, err
		}
		return w.view(authorOf(r.Context())), nil
	}
}

// reply sends v as JSON.
func reply(w http.ResponseWriter, v any) { send(w, http.StatusOK, v) }

// send sends v as JSON with a status. A client that does not take it is gone.
func send(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v)
}

// errEdit is a request that cannot be carried out, in the user's words.
type errEdit struct{ text string }

func (e *errEdit) Error() string { return e.text }

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
	answer := map[string]string{"error": err.Error()}
	if stale := (*staleField)(nil); errors.As(err, &stale) {
		answer["now"] = stale.now
	}
	send(w, status, answer)
}

// body reads a small JSON request.
func body(r *http.Request, v any) error {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	err := d.Decode(v)
	var tooLarge *http.MaxBytesError
	if err != nil && !errors.As(err, &tooLarge) {
		return &errEdit{"the request could not be read"}
	}
	return err
}

// clean makes a name or a remark from outside one line of at most n characters.
func clean(s string, n int) string {
	s = strings.ToValidUTF8(s, "\uFFFD")
	s = strings.Join(strings.FieldsFunc(s, func(r rune) bool { return r < ' ' || r == 0x7f || r == '\u2028' || r == '\u2029' }), " ")
	r := []rune(strings.TrimSpace(s))
	return string(r[:min(n, len(r))])
}

// download sends a file to be saved under a name.
func download(w http.ResponseWriter, name, kind string, content io.Reader) {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	_, _ = io.Copy(w, content) // a client that does not take it is gone
}

// showPage sends a document that is shown by itself and may run nothing.
func showPage(w http.ResponseWriter, content io.Reader) {
	w.Header().Set("Content-Security-Policy", reportPolicy)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = io.Copy(w, content)
}

// reportPolicy lets a report show its own style and pictures and do nothing.
const reportPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox allow-downloads allow-modals; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"

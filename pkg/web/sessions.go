package web

import (
	"cmp"
	"context"
	"net/http"

	"fromrest/pkg/archive"
	"fromrest/pkg/sheet"
)

type sessionItem struct {
	ID      string   `json:"id"`
	Title   string   `json:"title"`
	Created string   `json:"created"`
	Changed string   `json:"changed"`
	Logs    int      `json:"logs"`
	Bytes   int64    `json:"bytes"`
	Modes   []string `json:"modes"`
}

func (s *Server) listSessions(r *http.Request) (any, error) {
	list, err := s.arch.Sessions(r.Context())
	if err != nil {
		return nil, err
	}
	out := make([]sessionItem, len(list))
	for i, sess := range list {
		if out[i], err = s.item(r.Context(), sess); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// item is a session as it is listed, with the modes that its logs came with, or
// that its sheet gives.
func (s *Server) item(ctx context.Context, sess archive.Session) (sessionItem, error) {
	it := sessionItem{ID: sess.ID, Title: sess.Title, Created: sess.Created.Format(dayAndTime), Changed: sess.Changed.Format(dayAndTime),
		Logs: len(sess.Logs), Modes: []string{}}
	for _, l := range sess.Logs {
		it.Bytes += l.Bytes
	}
	it.Modes = withModes(it.Modes, sess.Logs, func(l archive.SessionLog) string { return l.Mode })
	if sess.Sheet == 0 {
		return it, nil
	}
	sh, err := s.arch.Sheet(ctx, sess.ID)
	if err != nil {
		return it, err
	}
	if p, err := sheet.Parse(sh.Body, sheetName); err == nil {
		it.Modes = withModes(it.Modes, p.ModeNames(), func(name string) string { return name })
		it.Modes = withModes(it.Modes, p.Runs, func(r sheet.RunEntry) string { return r.Mode })
	}
	return it, nil
}

func (s *Server) newSession(r *http.Request) (any, error) {
	var in struct{ Title string }
	if err := body(r, &in); err != nil {
		return nil, err
	}
	sess, err := s.arch.NewSession(r.Context(), cmp.Or(clean(in.Title, mostTitle), "Untitled session"))
	return map[string]string{"id": sess.ID}, err
}

func (s *Server) removeSession(r *http.Request) (any, error) {
	id := r.PathValue("id")
	s.forget(id)
	if err := s.arch.Remove(r.Context(), id); err != nil {
		return nil, err
	}
	s.hub.publish(id, event{Kind: "changed"})
	return map[string]bool{"removed": true}, nil
}

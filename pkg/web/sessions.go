package web

import (
	"context"
	"net/http"
	"slices"

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
	out := []sessionItem{}
	for _, sess := range list {
		it, err := s.item(r.Context(), sess)
		if err != nil {
			return nil, err
		}
		out = append(out, it)
	}
	return out, nil
}

// item is a session as it is listed, with the modes that its logs came with, or
// that its sheet gives.
func (s *Server) item(ctx context.Context, sess archive.Session) (sessionItem, error) {
	it := sessionItem{ID: sess.ID, Title: sess.Title, Created: sess.Created.Format(dayAndTime), Changed: sess.Changed.Format(dayAndTime),
		Logs: len(sess.Logs), Modes: []string{}}
	add := func(mode string) {
		if mode != "" && !slices.Contains(it.Modes, mode) {
			it.Modes = append(it.Modes, mode)
		}
	}
	for _, l := range sess.Logs {
		it.Bytes += l.Bytes
		add(l.Mode)
	}
	if sess.Sheet == 0 {
		return it, nil
	}
	sh, err := s.arch.Sheet(ctx, sess.ID)
	if err != nil {
		return it, err
	}
	if p, err := sheet.Parse(sh.Body, sheetName); err == nil {
		for _, name := range p.ModeNames() {
			add(name)
		}
		for _, r := range p.Runs {
			add(r.Mode)
		}
	}
	return it, nil
}

func (s *Server) newSession(r *http.Request) (any, error) {
	var in struct{ Title string }
	if err := body(r, &in); err != nil {
		return nil, err
	}
	title := clean(in.Title, mostTitle)
	if title == "" {
		title = "Untitled session"
	}
	sess, err := s.arch.NewSession(r.Context(), title)
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

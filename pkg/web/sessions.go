package web

import (
	"cmp"
	"context"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/figure"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// untitled is the title of a session that nobody gave one.
const untitled = "Untitled session"

type sessionItem struct {
	ID       string   `json:"id"`
	Title    string   `json:"title"`
	Untitled bool     `json:"untitled"`
	Created  string   `json:"created"`
	Changed  string   `json:"changed"`
	Date     string   `json:"date"` // of driving, by the sheet or the logs
	Vehicle  string   `json:"vehicle"`
	Place    string   `json:"place"`
	Logs     int      `json:"logs"`
	Runs     int      `json:"runs"` // that count, 0 where they are not known yet
	Bytes    int64    `json:"bytes"`
	Modes    []string `json:"modes"`
	Verdicts []string `json:"verdicts"`
	Strips   []strip  `json:"strips"` // the runs of each mode where that decides
	At       string   `json:"at"`     // which is where
}

// strip is the runs of a mode on the scale of its session.
type strip struct {
	Line lineView    `json:"line"`
	Runs [][2]number `json:"runs"` // s, and 1 for those that count
}

// strips are the runs of a session that was listed, in the colours of its sheet; none where
// they are too many for a tiny figure.
func strips(b *report.Brief, modes []string) []strip {
	out := []strip{}
	if len(modes) == 0 || len(modes) > maxModes {
		return out
	}
	var stand []*session.TimedRun
	for _, m := range modes {
		stand = append(stand, &session.TimedRun{Mode: m})
	}
	for _, l := range (figure.Options{}).Lines(stand) {
		s := strip{Line: lineView(l), Runs: [][2]number{}}
		for _, m := range b.Marks {
			if m.Mode == l.Mode {
				s.Runs = append(s.Runs, [2]number{number(m.Seconds), number(map[bool]float64{true: 1}[m.Counted])})
			}
		}
		if len(s.Runs) > 0 {
			out = append(out, s)
		}
	}
	return out
}

func (s *Server) listSessions(r *http.Request) (any, error) {
	all, err := s.arch.Sessions(r.Context())
	if err != nil {
		return nil, err
	}
	out := make([]sessionItem, len(all))
	for i, sess := range all {
		if out[i], err = s.item(r.Context(), sess); err != nil {
			return nil, err
		}
	}
	// Those whose date of driving is not known yet stand where they were begun.
	slices.SortStableFunc(out, func(a, b sessionItem) int {
		return strings.Compare(cmp.Or(b.Date, b.Created), cmp.Or(a.Date, a.Created))
	})
	return out, nil
}

// item is a session as it is listed: what its sheet says, and what was found last.
func (s *Server) item(ctx context.Context, sess archive.Session) (sessionItem, error) {
	it := sessionItem{ID: sess.ID, Title: sess.Title, Untitled: sess.Title == untitled, Created: sess.Created.Format(dayAndTime), Changed: sess.Changed.Format(dayAndTime),
		Logs: len(sess.Logs), Modes: []string{}, Strips: []strip{}}
	for _, l := range sess.Logs {
		it.Bytes += l.Bytes
	}
	it.Modes = withModes(it.Modes, sess.Logs, func(l archive.SessionLog) string { return l.Mode })
	b := s.brief(ctx, sess)
	it.Runs, it.Verdicts, it.Vehicle = b.Runs, list(b.Verdicts), b.Vehicle
	if !b.Begin.IsZero() {
		it.Date = b.Begin.Format(time.DateOnly)
	}
	if sess.Sheet == 0 {
		it.Modes = withModes(it.Modes, b.Modes, func(m string) string { return m })
		it.Strips, it.At = strips(&b, it.Modes), unit.Printed(b.Target)
		return it, nil
	}
	sh, err := s.arch.Sheet(ctx, sess.ID)
	if err != nil {
		return it, err
	}
	if p, err := sheet.Parse(sh.Body, sheetName); err == nil {
		h := sheetHead(p)
		it.Vehicle, it.Place, it.Date = cmp.Or(h.Vehicle, it.Vehicle), h.Place, cmp.Or(h.Date, it.Date)
		it.Modes = withModes(it.Modes, p.ModeNames(), func(name string) string { return name })
		it.Modes = withModes(it.Modes, p.Runs, func(r sheet.RunEntry) string { return r.Mode })
	}
	it.Modes = withModes(it.Modes, b.Modes, func(m string) string { return m })
	it.Strips, it.At = strips(&b, it.Modes), unit.Printed(b.Target)
	return it, nil
}

// briefed is a brief with the state of the session that it is of.
type briefed struct {
	changed time.Time
	brief   report.Brief
}

// brief is that of the newest result of a session; what was read once is remembered until
// the session changes.
func (s *Server) brief(ctx context.Context, sess archive.Session) report.Brief {
	s.mu.Lock()
	known, ok := s.briefs[sess.ID]
	s.mu.Unlock()
	if ok && known.changed.Equal(sess.Changed) {
		return known.brief
	}
	r, err := s.arch.Result(ctx, sess.ID, 0)
	if err != nil {
		return report.Brief{} // there is none, or it is damaged, which archive verify tells
	}
	b, err := report.BriefOf(r.Body)
	if err != nil {
		s.log.Printf("session %s, result %d: %v", sess.ID, r.Number, err)
		return report.Brief{}
	}
	s.mu.Lock()
	s.briefs[sess.ID] = briefed{sess.Changed, b}
	s.mu.Unlock()
	return b
}

func (s *Server) newSession(r *http.Request) (any, error) {
	var in struct{ Title string }
	if err := body(r, &in); err != nil {
		return nil, err
	}
	sess, err := s.arch.NewSession(r.Context(), cmp.Or(clean(in.Title, mostTitle), untitled))
	return map[string]string{"id": sess.ID}, err
}

// demonstration begins a session with the logs and the sheet of the demonstration.
func (s *Server) demonstration(r *http.Request) (any, error) {
	dir, err := os.MkdirTemp("", "fromrest-*")
	if err != nil {
		return nil, err
	}
	defer func() { _ = os.RemoveAll(dir) }() // of no use any more
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		return nil, err
	}
	text, err := os.ReadFile(filepath.Join(dir, synth.DemoSheet))
	if err != nil {
		return nil, err
	}
	sess, err := s.arch.NewSession(r.Context(), untitled)
	if err != nil {
		return nil, err
	}
	w, err := s.work(r.Context(), sess.ID)
	if err != nil {
		return nil, err
	}
	w.mu.Lock()
	err = w.adopt(r.Context(), 0, string(text))
	w.mu.Unlock()
	if err != nil {
		return nil, err
	}
	for _, l := range logs {
		if err := s.importFile(r.Context(), sess.ID, filepath.Join(dir, l.Name)); err != nil {
			return nil, err
		}
	}
	return map[string]string{"id": sess.ID}, nil
}

func (s *Server) importFile(ctx context.Context, id, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer func() { _ = f.Close() }() // only read
	_, err = s.importLog(ctx, id, filepath.Base(path), "", f)
	return err
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

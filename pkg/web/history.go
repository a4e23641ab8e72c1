package web

import (
	"bytes"
	"io"
	"net/http"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/history"
)

// history gives the times by date of the kept sessions of one vehicle, as the command of that name
// does: vehicle is its name as the sheets have it, at a target, both in the query.
func (s *Server) history(w http.ResponseWriter, r *http.Request) error {
	vehicle, target := clean(r.URL.Query().Get("vehicle"), mostRemark), ""
	if vehicle == "" {
		return &errEdit{"no vehicle was named"}
	}
	if at := r.URL.Query().Get("at"); at != "" {
		t, err := timing.ParseTarget(at)
		if err != nil {
			return &errEdit{err.Error()}
		}
		target = t.Name
	}
	kept, err := s.arch.OfVehicle(r.Context(), vehicle)
	if err != nil {
		return err
	}
	var results []*session.Result
	var names []string
	for _, sess := range kept {
		res, err := s.arch.Analyse(r.Context(), sess.ID, session.Options{Version: s.opts.Version, NoTraces: true})
		if err != nil {
			return &errEdit{sess.Title + ": " + err.Error()}
		}
		results, names = append(results, res), append(names, sess.Title)
	}
	if len(results) == 0 {
		return &errEdit{"no session is of " + vehicle}
	}
	var b bytes.Buffer
	if err := report.HistoryJSON(&b, history.Of(results, names, target, "")); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	_, err = io.Copy(w, &b)
	return err
}

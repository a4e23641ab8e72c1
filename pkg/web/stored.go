package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"fromrest/pkg/archive"
	"fromrest/pkg/report"
	"fromrest/pkg/uncert"
)

// store keeps the result with what made it, if all logs have been read.
func (w *work) store(ctx context.Context) {
	w.mu.Lock()
	if w.stored || w.pending() > 0 || w.result == nil || len(w.result.Logs) == 0 || w.s.ctx.Err() != nil {
		w.mu.Unlock()
		return
	}
	w.stored = true
	res, rev := w.result, w.sheet.Revision
	w.mu.Unlock()
	var b bytes.Buffer
	settings, err := json.Marshal(res.Settings)
	if err == nil {
		err = report.RunsJSON(&b, res)
	}
	if err == nil {
		_, err = w.s.arch.SaveResult(ctx, w.id, archive.Result{Revision: rev, Version: w.s.opts.Version, Settings: string(settings), Body: b.Bytes()})
	}
	if err != nil && !errors.Is(err, archive.ErrNotFound) {
		w.s.log.Printf("session %s: the result could not be stored: %v", w.id, err)
	}
}

// compareStored says where the times of a session, worked out anew, print
// otherwise than those that an earlier version of the program left in the
// archive.
func (w *work) compareStored(ctx context.Context) {
	list, err := w.s.arch.Results(ctx, w.id)
	if err != nil || len(list) == 0 {
		return
	}
	last := list[len(list)-1]
	if last.Version == w.s.opts.Version {
		return
	}
	old, err := w.s.arch.Result(ctx, w.id, last.Number)
	if err != nil {
		w.s.log.Printf("%v", err)
		return
	}
	var body struct {
		Runs []struct {
			ID    string
			Times []struct {
				Name, From string
				Seconds    float64
				U95        float64 `json:"u95_s"`
			}
		}
	}
	if json.Unmarshal(old.Body, &body) != nil {
		return
	}
	printed := func(seconds, u95 float64) string {
		v, h := uncert.Format(seconds, u95)
		return v + " ± " + h
	}
	then := map[[3]string]string{}
	for _, r := range body.Runs {
		for _, t := range r.Times {
			then[[3]string{r.ID, t.Name, t.From}] = printed(t.Seconds, t.U95)
		}
	}
	w.mu.Lock()
	defer w.mu.Unlock()
	both, differ := 0, 0
	for _, r := range w.result.Runs {
		for _, t := range r.Times {
			before, ok := then[[3]string{r.ID, t.Name, string(t.From)}]
			if !ok {
				continue
			}
			both++
			if printed(micro(t.Seconds), micro(t.U95)) != before {
				differ++
			}
		}
	}
	if differ > 0 {
		w.older = fmt.Sprintf("Version %s printed %d of these %d times otherwise; its result is kept in the archive.", last.Version, differ, both)
	}
}

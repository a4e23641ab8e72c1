package web

import (
	"context"
	"encoding/json"
	"fmt"

	"fromrest/pkg/uncert"
)

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
	then := map[[3]string]string{}
	for _, r := range body.Runs {
		for _, t := range r.Times {
			v, h := uncert.Format(t.Seconds, t.U95)
			then[[3]string{r.ID, t.Name, t.From}] = v + " ± " + h
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
			if v, h := uncert.Format(micro(t.Seconds), micro(t.U95)); v+" ± "+h != before {
				differ++
			}
		}
	}
	if differ > 0 {
		w.older = fmt.Sprintf("Version %s printed %d of these %d times otherwise; its result is kept in the archive.", last.Version, differ, both)
	}
}

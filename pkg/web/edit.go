package web

import (
	"fmt"
	"net/http"
	"strings"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
)

// editRequest is one edit of the sheet.
type editRequest struct {
	Op     string   `json:"op"` // "mode", "exclude", "include", "head", "sheet"
	Runs   []string `json:"runs"`
	Mode   string   `json:"mode"`
	Reason string   `json:"reason"`
	Key    string   `json:"key"`
	Value  string   `json:"value"`
	Base   int      `json:"base"`
	Text   string   `json:"text"`
}

func (s *Server) edit(w http.ResponseWriter, r *http.Request) {
	var in editRequest
	if !body(w, r, &in) {
		return
	}
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err == nil {
		err = work.perform(r, &in)
	}
	if err != nil {
		fail(w, err)
		return
	}
	work.changed()
	work.storeSoon()
	reply(w, work.view())
}

func (w *work) perform(r *http.Request, in *editRequest) error {
	ctx := r.Context()
	which := strings.Join(in.Runs, ", ")
	if n := len(in.Runs); n > 3 {
		which = fmt.Sprintf("%d runs", n)
	}
	switch in.Op {
	case "mode":
		mode := clean(in.Mode, 60)
		note := fmt.Sprintf("mode of %s: %s", which, mode)
		if mode == "" {
			note = "mode of " + which + " taken off"
		}
		return w.edit(ctx, note, func(b string) (string, error) { return w.setMode(b, in.Runs, mode) })
	case "exclude":
		reason := clean(in.Reason, 200)
		if reason == "" {
			return &errEdit{"a run is excluded with a reason"}
		}
		return w.edit(ctx, "excluded "+which+": "+reason, func(b string) (string, error) {
			if err := w.known(in.Runs); err != nil {
				return "", err
			}
			kept := keptRuns(b)
			for _, id := range in.Runs {
				b = setRun(dropExclude(b, id), id, "exclude", sheet.Quote(reason))
				if kept[id] { // an excluded run that is also kept does not parse
					b = setRun(b, id, "keep", "false")
				}
			}
			return b, w.want(b, in.Runs, func(r *session.TimedRun) bool { return !r.Counted && r.Excluded == reason })
		})
	case "include":
		return w.edit(ctx, "counted "+which+" again", func(b string) (string, error) {
			if err := w.known(in.Runs); err != nil {
				return "", err
			}
			for _, id := range in.Runs {
				b = setRun(dropExclude(b, id), id, "exclude", `""`)
				if w.spoiled(id) {
					b = setRun(b, id, "keep", "true")
				}
			}
			return b, w.want(b, in.Runs, func(r *session.TimedRun) bool { return r.Counted })
		})
	case "head":
		return w.editHead(ctx, in)
	case "sheet":
		w.mu.Lock()
		defer w.mu.Unlock()
		return w.keep(ctx, in.Base, strings.ReplaceAll(in.Text, "\r\n", "\n"), "sheet edited as text")
	}
	return &errEdit{"no such edit"}
}

// setMode gives runs a mode in the sheet's text.
func (w *work) setMode(b string, runs []string, mode string) (string, error) {
	if err := w.known(runs); err != nil {
		return "", err
	}
	if mode != "" {
		if p, err := sheet.Parse(b, sheetName); err == nil && len(p.Modes) > 0 {
			b = addMode(b, mode)
		}
	}
	for _, id := range runs {
		b = setRun(b, id, "mode", sheet.Quote(mode))
	}
	return b, w.want(b, runs, func(r *session.TimedRun) bool { return r.Mode == mode || mode == "" })
}

// keptRuns are the runs that a sheet orders to be counted.
func keptRuns(b string) map[string]bool {
	p, err := sheet.Parse(b, sheetName)
	if err != nil {
		return nil
	}
	kept := map[string]bool{}
	for _, e := range p.Runs {
		kept[e.ID] = e.Keep
	}
	return kept
}

// known refuses runs that were not found, or that are named twice: each is
// looked for in the whole sheet. The caller holds mu.
func (w *work) known(ids []string) error {
	left := make(map[string]bool, len(w.found.Runs))
	for _, r := range w.found.Runs {
		left[r.ID] = true
	}
	for _, id := range ids {
		if !left[id] {
			return &errEdit{fmt.Sprintf("run %q does not exist or is named twice", clean(id, 80))}
		}
		delete(left, id)
	}
	return nil
}

// spoiled reports whether the tool itself would not count a run. The caller
// holds mu.
func (w *work) spoiled(id string) bool {
	for _, r := range w.found.Runs {
		if r.ID == id {
			return !r.Counted
		}
	}
	return false
}

// want checks that a changed sheet makes of the runs what was meant. The caller
// holds mu.
func (w *work) want(b string, ids []string, ok func(*session.TimedRun) bool) error {
	p, err := sheet.Parse(b, sheetName)
	if err != nil {
		return &errEdit{err.Error()}
	}
	res := fresh(w.found)
	err = session.ApplySheet(res, p)
	if err != nil && w.pending() > 0 {
		err = session.ApplySheet(res, lenient(p, res))
	}
	if err != nil {
		return &errEdit{err.Error()}
	}
	left := map[string]bool{}
	for _, id := range ids {
		left[id] = true
	}
	for _, r := range res.Runs {
		if left[r.ID] && ok(r) {
			delete(left, r.ID)
		}
	}
	for id := range left {
		return &errEdit{fmt.Sprintf("run %q is set in the sheet in a way that this button cannot change; edit the sheet as text", clean(id, 80))}
	}
	return nil
}

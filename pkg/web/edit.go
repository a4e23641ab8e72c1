package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/tomltext"
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

// changeSheet edits the sheet as the request says.
func changeSheet(r *http.Request, w *work) error {
	var in editRequest
	if err := body(r, &in); err != nil {
		return err
	}
	if err := w.perform(r.Context(), &in); err != nil {
		return err
	}
	w.touched()
	return nil
}

func (w *work) perform(ctx context.Context, in *editRequest) error {
	which := strings.Join(in.Runs, ", ")
	if n := len(in.Runs); n > 3 {
		which = fmt.Sprintf("%d runs", n)
	}
	switch in.Op {
	case "mode":
		mode := clean(in.Mode, mostMode)
		note := fmt.Sprintf("mode of %s: %s", which, mode)
		if mode == "" {
			note = "mode of " + which + " taken off"
		}
		return w.editRuns(ctx, note, in.Runs, func(t *tomltext.Text, p *sheet.Sheet) {
			if names := p.ModeNames(); mode != "" && len(names) > 0 && !slices.Contains(names, mode) {
				t.Add("mode", "[[mode]]\nname = "+tomltext.Quote(mode)+"\ndescription = \"\"")
			}
			for _, id := range in.Runs {
				t.SetIn(runEntry(id), "mode", tomltext.Quote(mode))
			}
		}, func(r *session.TimedRun) bool { return r.Mode == mode || mode == "" })
	case "exclude":
		reason := clean(in.Reason, mostTitle)
		if reason == "" {
			return &errEdit{"a run is excluded with a reason"}
		}
		return w.editRuns(ctx, "excluded "+which+": "+reason, in.Runs, func(t *tomltext.Text, p *sheet.Sheet) {
			for _, id := range in.Runs {
				t.Drop(tomltext.Entry{Table: "exclude", Key: "run", Value: id})
				t.SetIn(runEntry(id), "exclude", tomltext.Quote(reason))
				// An excluded run that is also kept does not parse.
				if slices.ContainsFunc(p.Runs, func(e sheet.RunEntry) bool { return e.ID == id && e.Keep }) {
					t.SetIn(runEntry(id), "keep", "false")
				}
			}
		}, func(r *session.TimedRun) bool { return !r.Counted && r.Excluded == reason })
	case "include":
		return w.editRuns(ctx, "counted "+which+" again", in.Runs, func(t *tomltext.Text, _ *sheet.Sheet) {
			for _, id := range in.Runs {
				t.Drop(tomltext.Entry{Table: "exclude", Key: "run", Value: id})
				t.SetIn(runEntry(id), "exclude", `""`)
				if w.spoiled(id) {
					t.SetIn(runEntry(id), "keep", "true")
				}
			}
		}, func(r *session.TimedRun) bool { return r.Counted })
	case "head":
		return w.editHead(ctx, in)
	case "sheet":
		w.mu.Lock()
		defer w.mu.Unlock()
		return w.keep(ctx, in.Base, strings.ReplaceAll(in.Text, "\r\n", "\n"), "sheet edited as text")
	}
	return &errEdit{"no such edit"}
}

// runEntry is what a sheet says of one run.
func runEntry(id string) tomltext.Entry {
	return tomltext.Entry{Table: "run", Key: "id", Value: id}
}

// editRuns changes what the sheet says of some runs; ok must then hold of each.
func (w *work) editRuns(ctx context.Context, note string, ids []string, change func(*tomltext.Text, *sheet.Sheet), ok func(*session.TimedRun) bool) error {
	return w.edit(ctx, note, func(t *tomltext.Text, p *sheet.Sheet) error {
		if err := w.known(ids); err != nil {
			return err
		}
		change(t, p)
		return w.want(t.String(), ids, ok)
	})
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
			return &errEdit{fmt.Sprintf("run %q does not exist or is named twice", clean(id, mostID))}
		}
		delete(left, id)
	}
	return nil
}

// spoiled reports whether the tool itself would not count a run. The caller
// holds mu.
func (w *work) spoiled(id string) bool {
	return slices.ContainsFunc(w.found.Runs, func(r *session.TimedRun) bool { return r.ID == id && !r.Counted })
}

// want checks that a changed sheet makes of the runs what was meant. The caller
// holds mu.
func (w *work) want(b string, ids []string, ok func(*session.TimedRun) bool) error {
	p, err := sheet.Parse(b, sheetName)
	if err != nil {
		return &errEdit{err.Error()}
	}
	res := w.found.Copy()
	err = session.ApplySheet(res, p)
	if err != nil && w.pending() > 0 {
		err = session.ApplySheet(res, lenient(p, res))
	}
	if err != nil {
		return &errEdit{err.Error()}
	}
	for _, id := range ids {
		if slices.ContainsFunc(res.Runs, func(r *session.TimedRun) bool { return r.ID == id && ok(r) }) {
			continue
		}
		return &errEdit{fmt.Sprintf("run %q is set in the sheet in a way that this button cannot change; edit the sheet as text", clean(id, mostID))}
	}
	return nil
}

// headKeys are the entries of the sheet that have a field of their own, by the field's
// name, with where a head has them.
var headKeys = map[string]struct {
	table, key string
	of         func(headView) string
}{
	"title":   {"", "title", func(h headView) string { return h.Title }},
	"date":    {"", "date", func(h headView) string { return h.Date }},
	"place":   {"", "place", func(h headView) string { return h.Place }},
	"notes":   {"", "notes", func(h headView) string { return h.Notes }},
	"vehicle": {"vehicle", "name", func(h headView) string { return h.Vehicle }},
	"surface": {"conditions", "surface", func(h headView) string { return h.Surface }},
}

// editHead changes one field of the head of the sheet.
func (w *work) editHead(ctx context.Context, in *editRequest) error {
	k, ok := headKeys[in.Key]
	if !ok {
		return &errEdit{"no such field"}
	}
	value := clean(in.Value, mostRemark)
	written := tomltext.Quote(value)
	if in.Key == "date" && value != "" {
		if _, err := time.Parse(time.DateOnly, value); err != nil {
			return &errEdit{"date " + value + ": want a day such as 2026-06-14"}
		}
		written = value
	}
	return w.edit(ctx, in.Key+": "+value, func(t *tomltext.Text, _ *sheet.Sheet) error {
		t.Set(k.table, k.key, written)
		p, err := sheet.Parse(t.String(), sheetName)
		if err != nil {
			return &errEdit{err.Error()}
		}
		if strings.TrimSpace(k.of(sheetHead(p))) != value {
			return &errEdit{"the " + in.Key + " is written in the sheet in a way that this field cannot change; edit the sheet as text"}
		}
		return nil
	})
}

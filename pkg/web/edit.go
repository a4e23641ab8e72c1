package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/tomltext"
)

// editRequest is one edit of the sheet.
type editRequest struct {
	Op     string   `json:"op"` // "mode", "exclude", "include", "note", "head", "columns", "recordings", "sheet", "dropped"
	Runs   []string `json:"runs"`
	Mode   string   `json:"mode"`
	Reason string   `json:"reason"`
	Key    string   `json:"key"`
	Value  string   `json:"value"`
	// Was is what the page knew the field to hold when its user began; an edit of a
	// field that holds something else by now is refused.
	Was *string `json:"was"`
	// Had is the same of runs, one for each: the mode, or why the run does not count.
	Had  []string `json:"had"`
	Base int      `json:"base"`
	Text string   `json:"text"`
	// Columns are what is said of those of a table.
	Columns []mappedView `json:"columns"`
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
	switch in.Op {
	case "mode":
		return w.editRuns(ctx, in, modeEdit(clean(in.Mode, mostMode)))
	case "exclude":
		reason := clean(in.Reason, mostTitle)
		if reason == "" {
			return &errEdit{"a run is excluded with a reason"}
		}
		return w.editRuns(ctx, in, excludeEdit(reason))
	case "include":
		return w.editRuns(ctx, in, includeEdit())
	case "note":
		return w.editNote(ctx, in)
	case "head":
		return w.editField(ctx, in)
	case "columns":
		return w.editColumns(ctx, in)
	case "recordings":
		return w.editRecordings(ctx, in)
	case "sheet", "dropped":
		w.mu.Lock()
		defer w.mu.Unlock()
		text := strings.ReplaceAll(in.Text, "\r\n", "\n")
		if in.Op == "dropped" {
			return w.adopt(ctx, in.Base, text)
		}
		return w.keep(ctx, archive.Change{Base: in.Base, Body: text, Note: "sheet edited as text"})
	}
	return &errEdit{"no such edit"}
}

// runsEdit is what is to be said of some runs.
type runsEdit struct {
	note  string // in the history; %s stands for the runs
	holds func(*session.TimedRun) string
	to    string // what holds gives when it is done
	// changes are ways to say it; the first after which ok holds of each run stands.
	changes []func(*runEdit)
	ok      func(*session.TimedRun) bool
}

func modeEdit(mode string) *runsEdit {
	e := &runsEdit{note: "mode of %s: " + strings.ReplaceAll(mode, "%", "%%"), to: mode,
		holds: func(r *session.TimedRun) string { return r.Mode },
		ok:    func(r *session.TimedRun) bool { return r.Mode == mode || mode == "" }}
	if mode == "" {
		e.note = "mode of %s taken off"
	}
	e.changes = []func(*runEdit){func(e *runEdit) {
		if names := e.sheet.ModeNames(); mode != "" && len(names) > 0 && !slices.Contains(names, mode) {
			e.text.Add("mode", "[[mode]]\nname = "+tomltext.Quote(mode)+"\ndescription = \"\"")
		}
		e.set("mode", tomltext.Quote(mode))
	}}
	return e
}

// left is why a run does not count, "" where it does.
func left(r *session.TimedRun) string { return r.Excluded }

func excludeEdit(reason string) *runsEdit {
	return &runsEdit{note: "excluded %s: " + strings.ReplaceAll(reason, "%", "%%"), holds: left, to: reason,
		ok: func(r *session.TimedRun) bool { return !r.Counted && r.Excluded == reason },
		changes: []func(*runEdit){func(e *runEdit) {
			e.dropExclude()
			e.set("exclude", tomltext.Quote(reason))
			e.unkeep() // an excluded run that is also kept does not parse
		}}}
}

func includeEdit() *runsEdit {
	again := func(e *runEdit) {
		e.dropExclude()
		e.set("exclude", `""`)
	}
	return &runsEdit{note: "counted %s again", holds: left, ok: func(r *session.TimedRun) bool { return r.Counted },
		changes: []func(*runEdit){again, func(e *runEdit) {
			again(e)
			e.set("keep", "true") // the tool itself would not count it
		}}}
}

// runEdit is the sheet while it says something else of some runs.
type runEdit struct {
	text  *tomltext.Text
	sheet *sheet.Sheet // as it was before
	ids   []string     // of the runs in the sheet
}

// set sets a key in the entries of the runs.
func (e *runEdit) set(key, value string) {
	for _, id := range e.ids {
		e.text.SetIn(tomltext.Entry{Table: "run", Key: "id", Value: id}, key, value)
	}
}

func (e *runEdit) dropExclude() {
	for _, id := range e.ids {
		e.text.Drop(tomltext.Entry{Table: "exclude", Key: "run", Value: id})
	}
}

func (e *runEdit) unkeep() {
	for _, id := range e.ids {
		if slices.ContainsFunc(e.sheet.Runs, func(r sheet.RunEntry) bool { return r.ID == id && r.Keep }) {
			e.text.SetIn(tomltext.Entry{Table: "run", Key: "id", Value: id}, "keep", "false")
		}
	}
}

// editRuns changes what the sheet says of the runs of a request, unless another page
// changed it meanwhile.
func (w *work) editRuns(ctx context.Context, in *editRequest, edit *runsEdit) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err := w.known(in.Runs); err != nil {
		return err
	}
	if err := w.asSeen(in, edit); err != nil {
		return err
	}
	body, ids, err := w.identified(in.Runs)
	if err != nil {
		return err
	}
	p, err := sheet.Parse(body, sheetName)
	if err != nil {
		return &errEdit{err.Error()}
	}
	which := strings.Join(in.Runs, ", ")
	if n := len(in.Runs); n > 3 {
		which = fmt.Sprintf("%d runs", n)
	}
	for _, change := range edit.changes {
		e := &runEdit{tomltext.New(body), p, ids}
		change(e)
		if err = w.want(e.text.String(), ids, edit.ok); err == nil {
			return w.keep(ctx, archive.Change{Base: w.sheet.Revision, Body: e.text.String(), Note: fmt.Sprintf(edit.note, which)})
		}
	}
	return err
}

// asSeen refuses an edit of runs of which another page said something else meanwhile.
// The caller holds mu and knows that the runs are there.
func (w *work) asSeen(in *editRequest, edit *runsEdit) error {
	if in.Had == nil {
		return nil
	}
	if len(in.Had) != len(in.Runs) {
		return &errEdit{"the request could not be read"}
	}
	for i, id := range in.Runs {
		at := slices.IndexFunc(w.result.Runs, func(r *session.TimedRun) bool { return r.ID == id })
		if now := edit.holds(w.result.Runs[at]); now != in.Had[i] && now != edit.to {
			return &staleField{now: now, of: id}
		}
	}
	return nil
}

// identified is the text of the sheet with entries of some runs, and what it calls them.
// The caller holds mu.
func (w *work) identified(ids []string) (string, []string, error) {
	if w.parsed == nil {
		body, err := w.body()
		return body, ids, err
	}
	body, is, err := w.result.IdentifyRuns(ids...)
	if slices.Contains(is, "") {
		return "", nil, &errEdit{fmt.Sprintf("the run cannot be listed in the sheet; edit it as text: %v", err)}
	}
	return body, is, nil
}

// known refuses runs that were not found, that are named twice, or that are the witness
// of another one, of which everything is said. The caller holds mu.
func (w *work) known(ids []string) error {
	left := make(map[string]*session.TimedRun, len(w.result.Runs))
	for _, r := range w.result.Runs {
		left[r.ID] = r
	}
	for _, id := range ids {
		switch r := left[id]; {
		case r == nil:
			return &errEdit{fmt.Sprintf("run %q does not exist or is named twice", clean(id, mostID))}
		case r.WitnessOf != nil:
			return &errEdit{fmt.Sprintf("run %q is the same drive as %q: edit that one", r.ID, r.WitnessOf.ID)}
		}
		delete(left, id)
	}
	return nil
}

// want checks that a changed sheet makes of the runs what was meant. The caller
// holds mu.
func (w *work) want(b string, ids []string, ok func(*session.TimedRun) bool) error {
	p, err := sheet.Parse(b, sheetName)
	if err != nil {
		return &errEdit{err.Error()}
	}
	res := w.answer(p)
	if err := res.SheetError; err != nil && w.pending() == 0 {
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

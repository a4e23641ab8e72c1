package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/tomltext"
)

// sheetName is how messages call the sheet of the page.
const sheetName = "session.toml"

// readSheet takes the current sheet and its history from the archive. The
// caller holds mu or is alone.
func (w *work) readSheet(ctx context.Context) error {
	sh, err := w.s.arch.Sheet(ctx, w.id)
	if err != nil {
		return err
	}
	h, err := w.s.arch.History(ctx, w.id)
	if err != nil {
		return err
	}
	w.sheet, w.history = sh, h
	w.parsed, w.wrong = nil, ""
	if strings.TrimSpace(sh.Body) == "" {
		return nil
	}
	if w.parsed, err = sheet.Parse(sh.Body, sheetName); err != nil {
		w.wrong = err.Error()
		return nil
	}
	w.readTargets()
	return nil
}

// readTargets takes the targets that the sheet adds. Logs timed without them
// are read again. The caller holds mu or is alone.
func (w *work) readTargets() {
	want, err := session.SheetTargets(w.parsed)
	if err != nil {
		w.wrong = err.Error()
	}
	if slices.Equal(want, w.targets) {
		return
	}
	w.targets = want
	for _, l := range w.logs {
		if l.state == stateDone {
			l.state = stateQueued
			w.enqueue(l)
		}
	}
}

// apply gives each run what the sheet says of it. While logs are still being
// read, and where the sheet names runs that are not there, the rest of it holds.
// The caller holds mu.
func (w *work) apply() {
	w.loads++
	w.result = w.found.Copy()
	defer inOrder(w.result)
	if w.parsed == nil {
		return
	}
	w.wrong = ""
	if err := session.ApplySheet(w.result, w.parsed); err != nil {
		if w.pending() == 0 {
			w.wrong = err.Error()
		}
		if session.ApplySheet(w.result, lenient(w.parsed, w.result)) != nil {
			return
		}
		w.result.Sheet = w.parsed
	}
	if u := w.parsed.Units; u != "" {
		w.result.Settings.Units = u
	}
}

// inOrder lists runs by their launch and logs by their begin: logs arrive in any
// order, and their names and the runs' identities are given by then.
func inOrder(res *session.Result) {
	place := map[*session.TimedRun]int{}
	for i, n := range session.LaunchOrder(res.Runs) {
		place[res.Runs[i]] = n
	}
	slices.SortStableFunc(res.Runs, func(a, b *session.TimedRun) int { return place[a] - place[b] })
	slices.SortStableFunc(res.Logs, func(a, b *session.Log) int { return a.Start.Compare(b.Start) })
}

// lenient is the sheet without what it says of runs that are not there, and
// without the ways of choosing runs that may find none.
func lenient(s *sheet.Sheet, res *session.Result) *sheet.Sheet {
	have := map[string]bool{}
	for _, r := range res.Runs {
		have[r.ID] = true
	}
	c := *s
	c.Modes = nil
	c.Runs = slices.DeleteFunc(slices.Clone(s.Runs), func(e sheet.RunEntry) bool { return !have[e.ID] })
	c.Excluded = slices.DeleteFunc(slices.Clone(s.Excluded), func(e sheet.Exclusion) bool { return !have[e.Run] })
	return &c
}

// draft is the sheet that a session begins with: every run, with what the logs
// and the tester have said so far. The caller holds mu.
func (w *work) draft() (string, error) {
	in := sheet.DraftInput{Title: w.title, Units: w.s.opts.Units, Logs: session.SheetLogs(w.result), Marks: session.SheetMarks(w.result)}
	runs, place := session.SheetRuns(w.result), session.LaunchOrder(w.result.Runs)
	for i, r := range w.result.Runs {
		d := sheet.DraftRun{Run: runs[i], Order: place[i], Mode: r.Mode, Doubt: r.Excluded,
			Note: fmt.Sprintf("heading %03.0f°, to %.0f km/h", r.HeadingDeg, r.MaxSpeed*3600/1000)}
		in.Runs = append(in.Runs, d)
		if in.Date.IsZero() && !r.Log.Undated {
			in.Date = r.Launch
		}
	}
	slices.SortStableFunc(in.Runs, func(a, b sheet.DraftRun) int { return a.Order - b.Order })
	in.Modes = sheet.ModesOf(in.Runs)
	var b strings.Builder
	err := sheet.Draft(&b, in)
	return b.String(), err
}

// edit changes the sheet by fn, checks that it still is one, and keeps it. fn is
// given the text and what it says, nothing where it is wrong.
func (w *work) edit(ctx context.Context, note string, fn func(*tomltext.Text, *sheet.Sheet) error) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	body, err := w.body()
	if err != nil {
		return err
	}
	p, err := sheet.Parse(body, sheetName)
	if err != nil {
		p = &sheet.Sheet{}
	}
	t := tomltext.New(body)
	if err := fn(t, p); err != nil {
		return err
	}
	return w.keep(ctx, w.sheet.Revision, t.String(), note)
}

// keep checks a sheet and makes it the current one. The caller holds mu.
func (w *work) keep(ctx context.Context, base int, body, note string) error {
	p, err := sheet.Parse(body, sheetName)
	if err != nil {
		return &errEdit{err.Error()}
	}
	if _, err := session.SheetTargets(p); err != nil {
		return &errEdit{err.Error()}
	}
	if w.pending() == 0 {
		if err := session.ApplySheet(w.found.Copy(), p); err != nil {
			return &errEdit{err.Error()}
		}
	}
	if _, err := w.s.arch.Edit(ctx, w.id, base, body, note); err != nil {
		if errors.Is(err, archive.ErrStale) {
			if rerr := w.readSheet(ctx); rerr != nil {
				return rerr
			}
			w.apply()
		}
		return err
	}
	return w.reread(ctx)
}

// reread takes the sheet from the archive again and applies it. The caller
// holds mu.
func (w *work) reread(ctx context.Context) error {
	if err := w.readSheet(ctx); err != nil {
		return err
	}
	if w.parsed != nil && w.parsed.Title != "" && w.parsed.Title != w.title {
		if err := w.s.arch.SetTitle(ctx, w.id, w.parsed.Title); err != nil {
			return err
		}
		w.title = w.parsed.Title
	}
	w.apply()
	w.stored = false
	return nil
}

// undo goes one edit back, or forth again, by a step of the archive.
func (w *work) undo(ctx context.Context, step func(context.Context, string) (archive.Sheet, error)) error {
	w.mu.Lock()
	_, err := step(ctx, w.id)
	if err == nil {
		err = w.reread(ctx)
	}
	w.mu.Unlock()
	if err == nil {
		w.touched()
	}
	return err
}

// body is the text of the sheet, or the draft where nothing was edited yet. The
// caller holds mu.
func (w *work) body() (string, error) {
	if strings.TrimSpace(w.sheet.Body) != "" {
		return w.sheet.Body, nil
	}
	return w.draft()
}

// sheetText sends the sheet, as JSON for the page or as a file.
func sheetText(w http.ResponseWriter, r *http.Request, work *work) error {
	work.mu.Lock()
	text, err := work.body()
	rev := work.sheet.Revision
	work.mu.Unlock()
	if err != nil {
		return err
	}
	if r.URL.Query().Get("download") != "" {
		download(w, sheetName, "application/toml", strings.NewReader(text))
	} else {
		reply(w, map[string]any{"text": text, "revision": rev})
	}
	return nil
}

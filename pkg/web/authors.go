package web

import (
	"cmp"
	"context"
	"fmt"
	"maps"
	"net/http"
	"slices"

	"github.com/aymanbagabas/go-udiff"

	"fromrest/pkg/archive"
	"fromrest/pkg/web/door"
)

type authorKey struct{}

// signed gives requests the name that their page goes by, which it makes up itself and
// which opens nothing.
func signed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who := clean(r.Header.Get(door.Mark), mostMode)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), authorKey{}, who)))
	})
}

func authorOf(ctx context.Context) string {
	who, _ := ctx.Value(authorKey{}).(string)
	return who
}

// line are the states that led to the present sheet, the present one first. The caller
// holds mu.
func (w *work) line() []archive.Sheet {
	at := map[int]archive.Sheet{}
	for _, h := range w.history {
		at[h.Revision] = h
	}
	var out []archive.Sheet
	for r := w.sheet.Revision; r != 0; {
		h, ok := at[r]
		if !ok {
			break
		}
		out = append(out, h)
		r = h.Parent
	}
	return out
}

// foreign reports whether another page than who wrote a state. A state that nobody signed is
// everybody's, and to who has no name all are its own.
func foreign(h *archive.Sheet, who string) bool {
	return h.Author != "" && who != "" && h.Author != who
}

// own is the newest state of the line that a page wrote and did not take back; its place
// is -1 for none.
func own(line []archive.Sheet, who string) int {
	back := map[int]bool{}
	for _, h := range line {
		if h.Undoes != 0 {
			back[h.Revision], back[h.Undoes] = true, true
		}
	}
	return slices.IndexFunc(line, func(h archive.Sheet) bool { return !foreign(&h, who) && !back[h.Revision] })
}

// next is the state that redo leads to, nil for none. The caller holds mu.
func (w *work) next(who string) *archive.Sheet {
	var out *archive.Sheet
	for i, h := range w.history {
		if h.Parent == w.sheet.Revision && !foreign(&w.history[i], who) {
			out = &w.history[i] // the newest one stays
		}
	}
	return out
}

// steps says what undo and redo would do for a page. The caller holds mu.
func (w *work) steps(who string) (undo, redo string) {
	line := w.line()
	if i := own(line, who); i >= 0 {
		undo = line[i].Note
	}
	if h := w.next(who); h != nil {
		redo = h.Note
	}
	return undo, redo
}

// undo takes back the last edit of the page that asks. Where another page wrote after
// it, that edit alone is taken out of the text, or refused where both touch the same
// lines.
func (w *work) undo(ctx context.Context) error {
	w.mu.Lock()
	err := w.undoOwn(ctx, authorOf(ctx))
	w.mu.Unlock()
	if err == nil {
		w.touched()
	}
	return err
}

func (w *work) undoOwn(ctx context.Context, who string) error {
	line := w.line()
	switch i := own(line, who); {
	case i < 0:
		return nil
	case i == 0:
		if _, err := w.s.arch.Undo(ctx, w.id); err != nil {
			return err
		}
		return w.reread(ctx)
	default:
		before, err := w.result.DraftSheet(w.given()) // what the first edit began with
		if i+1 < len(line) {
			before, err = line[i+1].Body, nil
		}
		if err != nil {
			return err
		}
		text, ok := without(line[i].Body, before, w.sheet.Body)
		if !ok {
			return &errEdit{"“" + line[i].Note + "” cannot be undone alone: another page changed the same lines since. Edit the sheet as text."}
		}
		return w.keep(ctx, archive.Change{Base: w.sheet.Revision, Body: text, Note: "undone: " + line[i].Note, Undoes: line[i].Revision})
	}
}

// redo goes forth again to what the page that asks undid.
func (w *work) redo(ctx context.Context) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.next(authorOf(ctx)) == nil {
		return nil
	}
	if _, err := w.s.arch.Redo(ctx, w.id); err != nil {
		return err
	}
	if err := w.reread(ctx); err != nil {
		return err
	}
	go w.touched()
	return nil
}

// without takes out of a text what an edit made of the text before it, and reports
// whether that could be done: lines that were changed since must lie elsewhere, and the
// sheet must then say what it says now but for what the edit had said.
func without(after, before, now string) (string, bool) {
	edits, ok := udiff.Merge(udiff.Lines(after, before), udiff.Lines(after, now))
	if !ok {
		return "", false
	}
	text, err := udiff.Apply(after, edits)
	if err != nil {
		return "", false
	}
	had, was, want := entries(after), entries(before), entries(now)
	for key := range had {
		if _, ok := was[key]; !ok && want[key] == had[key] {
			delete(want, key)
		}
	}
	for key, value := range was {
		if had[key] != value && want[key] == had[key] {
			want[key] = value
		}
	}
	return text, maps.Equal(entries(text), want)
}

// entries are all that a sheet's text says, by table and key; of tables that are many, by
// what each is of.
func entries(text string) map[string]string {
	out := map[string]string{}
	var take func(path string, v any)
	take = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for k, x := range v {
				take(path+"."+k, x)
			}
		case []map[string]any:
			seen := map[string]int{}
			for _, x := range v {
				of := typed(cmp.Or(x["id"], x["name"], x["run"], x["log"]))
				take(fmt.Sprintf("%s[%s %d]", path, of, seen[of]), x)
				seen[of]++
			}
		default:
			out[path] = fmt.Sprint(v)
		}
	}
	take("", said(text))
	return out
}

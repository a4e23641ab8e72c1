package web

import (
	"context"
	"net/http"
	"slices"
	"strings"
	"sync"

	"fromrest/pkg/archive"
)

// authors remembers which page wrote which state of a sheet, so that each undoes what it
// did itself. It is lost with the process; what was written before is then everybody's.
type authors struct {
	mu     sync.Mutex
	by     map[string]map[int]string // session, revision
	undone map[string]map[int]int    // session, revision: the one that took it back alone
}

func newAuthors() *authors {
	return &authors{by: map[string]map[int]string{}, undone: map[string]map[int]int{}}
}

func (a *authors) wrote(session string, revision int, who string) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.by[session] == nil {
		a.by[session] = map[int]string{}
	}
	a.by[session][revision] = who
}

// foreign reports whether somebody else wrote a revision; to who has no name all are its own.
func (a *authors) foreign(session string, revision int, who string) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	by, known := a.by[session][revision]
	return known && by != who && who != ""
}

// took notes that a revision took another one back, 0 that none does any more.
func (a *authors) took(session string, revision, by int) {
	a.mu.Lock()
	defer a.mu.Unlock()
	if a.undone[session] == nil {
		a.undone[session] = map[int]int{}
	}
	a.undone[session][revision] = by
}

// back reports whether a revision was taken back, or takes one back itself.
func (a *authors) back(session string, revision int) bool {
	a.mu.Lock()
	defer a.mu.Unlock()
	for of, by := range a.undone[session] {
		if by != 0 && (of == revision || by == revision) {
			return true
		}
	}
	return false
}

type authorKey struct{}

// signed gives requests the name that their page goes by, which it makes up itself and
// which opens nothing.
func signed(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		who := clean(r.Header.Get(csrfHeader), mostMode)
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

// own is the newest state of the line that a page wrote and did not take back; its place
// is -1 for none. The caller holds mu.
func (w *work) own(line []archive.Sheet, who string) int {
	return slices.IndexFunc(line, func(h archive.Sheet) bool {
		return !w.s.authors.foreign(w.id, h.Revision, who) && !w.s.authors.back(w.id, h.Revision)
	})
}

// next is the state that redo leads to, nil for none. The caller holds mu.
func (w *work) next(who string) *archive.Sheet {
	var out *archive.Sheet
	for i, h := range w.history {
		if h.Parent == w.sheet.Revision && !w.s.authors.foreign(w.id, h.Revision, who) {
			out = &w.history[i] // the newest one stays
		}
	}
	return out
}

// steps says what undo and redo would do for a page. The caller holds mu.
func (w *work) steps(who string) (undo, redo string) {
	line := w.line()
	if i := w.own(line, who); i >= 0 {
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
	switch i := w.own(line, who); {
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
		if err := w.keep(ctx, w.sheet.Revision, text, "undone: "+line[i].Note); err != nil {
			return err
		}
		w.s.authors.took(w.id, line[i].Revision, w.sheet.Revision)
		return nil
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
// whether that could be done: each piece that the edit changed must still stand there, once.
func without(after, before, now string) (string, bool) {
	a, b := strings.SplitAfter(after, "\n"), strings.SplitAfter(before, "\n")
	text := strings.SplitAfter(now, "\n")
	for _, c := range slices.Backward(changes(a, b)) {
		old, put := a[c.a0:c.a1], b[c.b0:c.b1]
		lead := a[max(c.a0-1, 0):c.a0] // a line before, to find the place of what is only put in
		at := only(text, slices.Concat(lead, old))
		if at < 0 {
			return "", false
		}
		at += len(lead)
		text = slices.Concat(text[:at], put, text[at+len(old):])
	}
	return strings.Join(text, ""), true
}

// only is the place of some lines in a text that has them once, else -1.
func only(text, lines []string) int {
	at := -1
	for i := 0; i+len(lines) <= len(text); i++ {
		if !slices.Equal(text[i:i+len(lines)], lines) {
			continue
		}
		if at >= 0 {
			return -1
		}
		at = i
	}
	return at
}

// change is lines of a that became lines of b.
type change struct{ a0, a1, b0, b1 int }

// changes are where two texts differ, by their longest common lines; one change from
// the first line that differs to the last where that would take too long.
func changes(a, b []string) []change {
	head := 0
	for head < min(len(a), len(b)) && a[head] == b[head] {
		head++
	}
	tail := 0
	for tail < min(len(a), len(b))-head && a[len(a)-1-tail] == b[len(b)-1-tail] {
		tail++
	}
	if (len(a)-head-tail)*(len(b)-head-tail) > mostCompared {
		return []change{{head, len(a) - tail, head, len(b) - tail}}
	}
	out := differ(a[head:len(a)-tail], b[head:len(b)-tail])
	for i := range out {
		out[i] = change{out[i].a0 + head, out[i].a1 + head, out[i].b0 + head, out[i].b1 + head}
	}
	return out
}

func differ(a, b []string) []change {
	n, m := len(a), len(b)
	common := make([][]int32, n+1)
	for i := range common {
		common[i] = make([]int32, m+1)
	}
	for i := n - 1; i >= 0; i-- {
		for j := m - 1; j >= 0; j-- {
			if a[i] == b[j] {
				common[i][j] = common[i+1][j+1] + 1
			} else {
				common[i][j] = max(common[i+1][j], common[i][j+1])
			}
		}
	}
	var out []change
	for i, j := 0, 0; i < n || j < m; {
		if i < n && j < m && a[i] == b[j] {
			i, j = i+1, j+1
			continue
		}
		c := change{a0: i, b0: j}
		for i < n || j < m {
			if i < n && j < m && a[i] == b[j] {
				break
			}
			if j == m || i < n && common[i+1][j] >= common[i][j+1] {
				i++
			} else {
				j++
			}
		}
		c.a1, c.b1 = i, j
		out = append(out, c)
	}
	return out
}

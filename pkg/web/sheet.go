package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
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
	if strings.TrimSpace(sh.Body) != "" {
		if w.parsed, err = sheet.Parse(sh.Body, sheetName); err != nil {
			w.wrong = err.Error()
			return nil
		}
	}
	w.readAgain()
	return nil
}

// readAgain has the logs read again that were read otherwise than the sheet asks. The
// caller holds mu or is alone.
func (w *work) readAgain() {
	want, _ := w.options(w.parsed).Reading() // targets that are none are refused with the result
	was := w.sensor
	if now := w.sensorOf(); sameReading(&want, &w.reading) && was == now {
		return
	}
	w.reading = want
	for _, l := range w.logs {
		if l.state == stateDone || l.state == stateFailed {
			l.state = stateQueued
			w.enqueue(l)
		}
	}
}

// sameReading reports whether logs are read alike with the options of two sheets.
func sameReading(a, b *session.Options) bool {
	return a.Units == b.Units && a.Columns == b.Columns && a.Part.Span == b.Part.Span && a.Receiver == b.Receiver && slices.Equal(a.Targets, b.Targets)
}

// keep checks a sheet and makes it the current one, unless it is. The caller holds mu.
func (w *work) keep(ctx context.Context, c archive.Change) error {
	if c.Body == w.sheet.Body {
		return nil
	}
	if err := w.sound(c.Body); err != nil {
		return err
	}
	p, err := sheet.Parse(c.Body, sheetName)
	if err != nil {
		return &errEdit{err.Error()}
	}
	if err := w.answer(p).SheetError; err != nil && w.pending() == 0 {
		return &errEdit{err.Error()}
	}
	return w.put(ctx, c)
}

// adopt makes a sheet that came with logs the current one: what it says of logs that are
// still on their way is no mistake. The caller holds mu.
func (w *work) adopt(ctx context.Context, base int, body string) error {
	if err := w.sound(body); err != nil {
		return err
	}
	return w.put(ctx, archive.Change{Base: base, Body: body, Note: "the sheet dropped with the logs"})
}

// sound refuses a sheet that is none whatever the logs.
func (w *work) sound(body string) error {
	p, err := sheet.Parse(body, sheetName)
	if err == nil {
		_, err = w.options(p).Reading()
	}
	if err != nil {
		return &errEdit{err.Error()}
	}
	return nil
}

// put makes a checked sheet the current one, by whoever asks. The caller holds mu.
func (w *work) put(ctx context.Context, c archive.Change) error {
	c.Author = authorOf(ctx)
	if _, err := w.s.arch.Edit(ctx, w.id, c); err != nil {
		if errors.Is(err, archive.ErrStale) {
			if rerr := w.readSheet(ctx); rerr != nil {
				return rerr
			}
			w.combine()
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
	w.combine()
	w.stored = false
	return nil
}

// body is the text of the sheet, or the draft where nothing was edited yet. The
// caller holds mu.
func (w *work) body() (string, error) {
	if strings.TrimSpace(w.sheet.Body) != "" {
		return w.sheet.Body, nil
	}
	return w.result.DraftSheet(w.given())
}

// given is the title that somebody gave the session. The caller holds mu.
func (w *work) given() string {
	if w.title == untitled {
		return ""
	}
	return w.title
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

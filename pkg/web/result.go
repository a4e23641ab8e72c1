package web

import (
	"io"

	"fromrest/pkg/report"
)

// htmlReport writes the session's report as one self-contained page.
func htmlReport(out io.Writer, w *work) error {
	w.mu.Lock()
	res, h := w.result, w.head()
	w.mu.Unlock()
	o := report.HTMLOptions{Title: h.Title}
	for _, f := range []report.Item{{Name: "vehicle", Text: h.Vehicle}, {Name: "place", Text: h.Place}, {Name: "date", Text: h.Date},
		{Name: "surface", Text: h.Surface}, {Name: "notes", Text: h.Notes}} {
		if f.Text != "" {
			o.Facts = append(o.Facts, f)
		}
	}
	return report.HTML(out, res, o)
}

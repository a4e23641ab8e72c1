package web

import (
	"fmt"
	"io"

	"fromrest/pkg/report"
)

// maxReport is how many runs a report may have: each has figures of its own.
const maxReport = 200

// htmlReport writes the session's report as one self-contained page. What the
// sheet says of vehicle and conditions is in the result.
func htmlReport(out io.Writer, w *work) error {
	res := w.snapshot()
	if n := len(res.Runs); n > maxReport {
		return fmt.Errorf("a report has at most %d runs, and there are %d: spread the logs over sessions", maxReport, n)
	}
	if err := fewModes(res); err != nil {
		return err
	}
	w.mu.Lock()
	title := w.title
	w.mu.Unlock()
	return report.HTML(out, res, report.HTMLOptions{Title: title})
}

package web

import (
	"bytes"
	"io"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/analysis"
	"fromrest/pkg/archive"
	"fromrest/pkg/compare"
	"fromrest/pkg/report"
)

// tableColumns is how many runs the table on the page has room for; exports
// have all.
const tableColumns = 40

// table sends the timing table of the counted runs, or of the runs asked for.
func (s *Server) table(w http.ResponseWriter, r *http.Request) {
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	res := work.snapshot()
	all := len(res.Runs)
	if len(res.Runs) > tableColumns {
		c := *res
		c.Runs = c.Runs[:tableColumns]
		res = &c
	}
	v := viewTable(report.TimingTable(res))
	reply(w, map[string]any{"table": v, "runs": all, "shown": len(v.Columns), "method": report.Method(res)})
}

// snapshot is the present result. It is never changed once made.
func (w *work) snapshot() *analysis.Result {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.result
}

// export is one form in which a result is taken away.
type export struct {
	file, kind string
	label      string // on the button
	write      func(io.Writer, *work) error
}

// fromResult makes an export of a writer that needs the result alone.
func fromResult(f func(io.Writer, *analysis.Result) error) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error { return f(out, w.snapshot()) }
}

// compared makes an export of a writer of comparisons: at every target, or at
// those that a reader is shown by the command.
func compared(f func(io.Writer, *compare.Result) error, few bool) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error {
		res := w.snapshot()
		if err := fewModes(res); err != nil {
			return err
		}
		var opts analysis.CompareOptions
		if few {
			opts.Targets = report.CompareTargets(res)
		}
		c, err := analysis.Compare(res, opts)
		if err != nil {
			return err
		}
		return f(out, c)
	}
}

// exports in the order of their buttons. The file is also the name in the
// address.
var exports = []export{
	{"runs.csv", "text/csv; charset=utf-8", "Runs as CSV", fromResult(report.RunsCSV)},
	{"runs.json", "application/json", "Runs as JSON", fromResult(report.RunsJSON)},
	{"runs.md", "text/markdown; charset=utf-8", "Markdown", fromResult(report.RunsMarkdown)},
	{"runs.txt", "text/plain; charset=utf-8", "Text", fromResult(report.RunsText)},
	{"compare.json", "application/json", "Comparison as JSON", compared(report.CompareJSON, false)},
	{"compare.md", "text/markdown; charset=utf-8", "Comparison as Markdown", compared(report.CompareMarkdown, true)},
	{"compare.txt", "text/plain; charset=utf-8", "Comparison as text", compared(report.CompareText, true)},
	{"check.txt", "text/plain; charset=utf-8", "Quality of the logs", fromResult(report.CheckText)},
	{"methods.txt", "text/plain; charset=utf-8", "Method", fromResult(methods)},
	{"report.html", "text/html; charset=utf-8", "Report", htmlReport},
}

// exportList is what the page makes buttons of.
func exportList() [][2]string {
	var out [][2]string
	for _, e := range exports {
		out = append(out, [2]string{e.file, e.label})
	}
	return out
}

func methods(out io.Writer, res *analysis.Result) error {
	_, err := io.WriteString(out, strings.Join(report.Method(res), "\n\n")+"\n")
	return err
}

// reportPolicy lets a report show its own style and pictures and do nothing.
const reportPolicy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox allow-downloads allow-modals; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"

// export sends a result in one of its forms. What cannot be written is an error
// before the first byte is sent.
func (s *Server) export(w http.ResponseWriter, r *http.Request) {
	i := slices.IndexFunc(exports, func(e export) bool { return e.file == r.PathValue("name") })
	if i < 0 {
		http.NotFound(w, r)
		return
	}
	e := exports[i]
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	var b bytes.Buffer
	if err := e.write(&b, work); err != nil {
		fail(w, &errEdit{err.Error()})
		return
	}
	if r.URL.Query().Get("show") != "" && strings.HasPrefix(e.kind, "text/html") {
		w.Header().Set("Content-Security-Policy", reportPolicy)
		w.Header().Set("Content-Type", e.kind)
	} else {
		name := archive.FileName(work.name()+"-"+e.file, e.file)
		attach(w, name, e.kind)
	}
	w.Write(b.Bytes())
}

// name is the session's title as the beginning of a file name.
func (w *work) name() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return strings.Join(strings.Fields(strings.ToLower(w.title)), "-")
}

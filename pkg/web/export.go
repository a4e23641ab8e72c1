package web

import (
	"bytes"
	"io"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/document"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// tableColumns is how many runs the table on the page has room for; exports
// have all.
const tableColumns = 40

// table sends the timing table, of runs or of modes, and the words that go with
// it.
func (s *Server) table(w http.ResponseWriter, r *http.Request) {
	work, err := s.work(r.Context(), r.PathValue("id"))
	if err != nil {
		fail(w, err)
		return
	}
	res := work.snapshot()
	shown := res
	if len(res.Runs) > tableColumns {
		c := *res
		c.Runs = c.Runs[:tableColumns]
		shown = &c
	}
	var t *document.Table
	if r.URL.Query().Get("of") == "modes" {
		t, shown = report.ModeTable(res), res
	} else {
		t = report.RunTable(shown)
	}
	paragraph := ""
	if len(res.Runs) > 0 {
		cmp, _ := work.compared() // nil where there is nothing to compare
		paragraph = report.Methods(res, cmp)
	}
	reply(w, map[string]any{"table": viewTable(t), "runs": len(res.Runs), "shown": len(shown.Runs), "methods": paragraph, "method": report.Method(res)})
}

// snapshot is the present result. It is never changed once made.
func (w *work) snapshot() *session.Result {
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
func fromResult(f func(io.Writer, *session.Result) error) func(io.Writer, *work) error {
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
		var opts session.CompareOptions
		if few {
			opts.Targets = report.CompareTargets(res)
		}
		c, err := session.Compare(res, opts)
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
	{"runs.md", "text/markdown; charset=utf-8", "Runs as Markdown", tabled(report.RunTable, markdown)},
	{"runs.html", "text/html; charset=utf-8", "Runs as HTML", tabled(report.RunTable, fragment)},
	{"runs.xlsx", xlsxKind, "Runs as XLSX", workbook(report.RunTable)},
	{"runs.tex", "application/x-tex", "Runs as LaTeX", tabled(report.RunTable, document.LaTeX)},
	{"runs.txt", "text/plain; charset=utf-8", "Runs as text", fromResult(report.RunsText)},
	{"modes.csv", "text/csv; charset=utf-8", "Modes as CSV", tabled(report.ModeTable, document.CSV)},
	{"modes.json", "application/json", "Modes as JSON", tabled(report.ModeTable, document.JSON)},
	{"modes.md", "text/markdown; charset=utf-8", "Modes as Markdown", tabled(report.ModeTable, markdown)},
	{"modes.html", "text/html; charset=utf-8", "Modes as HTML", tabled(report.ModeTable, fragment)},
	{"modes.xlsx", xlsxKind, "Modes as XLSX", workbook(report.ModeTable)},
	{"modes.tex", "application/x-tex", "Modes as LaTeX", tabled(report.ModeTable, document.LaTeX)},
	{"compare.json", "application/json", "Comparison as JSON", compared(report.CompareJSON, false)},
	{"compare.md", "text/markdown; charset=utf-8", "Comparison as Markdown", compared(report.CompareMarkdown, true)},
	{"compare.txt", "text/plain; charset=utf-8", "Comparison as text", compared(report.CompareText, true)},
	{"check.txt", "text/plain; charset=utf-8", "Quality of the logs", fromResult(report.CheckText)},
	{"methods.txt", "text/plain; charset=utf-8", "Methods paragraph", methods},
	{"report.html", "text/html; charset=utf-8", "Report", htmlReport},
	{"explain.html", "text/html; charset=utf-8", "Why the modes differ", explainPage},
	{"explain.json", "application/json", "Why the modes differ, as JSON", explained(report.ExplainJSON)},
	{"explain.txt", "text/plain; charset=utf-8", "Why the modes differ, as text", explained(report.ExplainText)},
}

// exportList is what the page makes buttons of.
func exportList() [][2]string {
	var out [][2]string
	for _, e := range exports {
		out = append(out, [2]string{e.file, e.label})
	}
	return out
}

func methods(out io.Writer, w *work) error {
	cmp, _ := w.compared() // nil where there is nothing to compare
	_, err := io.WriteString(out, report.Methods(w.snapshot(), cmp)+"\n")
	return err
}

func markdown(out io.Writer, t *document.Table) error { return document.Markdown(out, t) }

func fragment(out io.Writer, t *document.Table) error { return document.HTML(out, t) }

const xlsxKind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

// tabled makes an export of a table and a form of it.
func tabled(make func(*session.Result) *document.Table, f func(io.Writer, *document.Table) error) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error { return f(out, make(w.snapshot())) }
}

func workbook(make func(*session.Result) *document.Table) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error {
		res := w.snapshot()
		return report.TableXLSX(out, make(res), res)
	}
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

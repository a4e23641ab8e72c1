package web

import (
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"net/http"
	"slices"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/document"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
)

// table is the timing table, of runs or of modes, and the words that go with it.
func table(r *http.Request, w *work) (any, error) {
	res := w.snapshot()
	shown := *res
	make := report.ModeTable
	if r.URL.Query().Get("of") != "modes" {
		shown.Runs = shown.Runs[:min(len(shown.Runs), tableColumns)]
		make = report.RunTable
	}
	paragraph := ""
	if len(res.Runs) > 0 {
		cmp, _ := w.compared(report.CompareTargets) // nil where there is nothing to compare
		paragraph = report.Methods(res, cmp)
	}
	return map[string]any{"table": viewTable(make(&shown)), "runs": len(res.Runs), "shown": len(shown.Runs), "methods": paragraph, "method": report.Method(res)}, nil
}

type tableView struct {
	Columns []columnView `json:"columns"`
	Rows    []rowView    `json:"rows"`
	Notes   []string     `json:"notes"`
}

type columnView struct {
	Name   string `json:"name"`
	Mode   string `json:"mode"`
	Struck bool   `json:"struck"`
}

type rowView struct {
	Section string     `json:"section"`
	Name    string     `json:"name"`
	Unit    string     `json:"unit"`
	Cells   []cellView `json:"cells"`
}

type cellView struct {
	Value string `json:"v"`
	Half  string `json:"h,omitempty"`
	Num   bool   `json:"n,omitempty"`
	Notes []int  `json:"f,omitempty"`
}

func viewTable(t *document.Table) *tableView {
	return &tableView{Notes: list(t.Notes),
		Columns: each(t.Columns, func(c document.Column) columnView { return columnView{c.Name, c.Of, c.Struck} }),
		Rows: each(t.Rows, func(r document.Row) rowView {
			return rowView{r.Section, r.Name, r.Unit, each(r.Cells, func(c document.Cell) cellView {
				if r.Unit == "s" {
					c.X, c.U95 = micro(c.X), micro(c.U95)
				}
				value, half := c.Printed()
				return cellView{value, half, !math.IsNaN(c.X), c.Notes}
			})}
		})}
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

// compared makes an export of a writer of comparisons at some targets.
func compared(f func(io.Writer, *compare.Result) error, targets func(*session.Result) []string) func(io.Writer, *work) error {
	return func(out io.Writer, w *work) error {
		c, err := w.compared(targets)
		if err != nil {
			return err
		}
		return f(out, c)
	}
}

// exports in the order of their buttons. The file is also the name in the
// address.
var exports = []export{
	{"runs.csv", "text/csv; charset=utf-8", "Runs as CSV", fromResult(report.RunsCSV(document.CSVStyle{}))},
	{"runs.json", "application/json", "Runs as JSON", fromResult(report.RunsJSON)},
	{"runs.md", "text/markdown; charset=utf-8", "Runs as Markdown", tabled(report.RunTable, markdown)},
	{"runs.html", "text/html; charset=utf-8", "Runs as HTML", tabled(report.RunTable, fragment)},
	{"runs.xlsx", xlsxKind, "Runs as XLSX", workbook(report.RunTable)},
	{"runs.tex", "application/x-tex", "Runs as LaTeX", tabled(report.RunTable, document.LaTeX)},
	{"runs.txt", "text/plain; charset=utf-8", "Runs as text", fromResult(report.RunsText)},
	{"modes.csv", "text/csv; charset=utf-8", "Modes as CSV", tabled(report.ModeTable, document.CSVStyle{}.Table)},
	{"modes.json", "application/json", "Modes as JSON", tabled(report.ModeTable, document.JSON)},
	{"modes.md", "text/markdown; charset=utf-8", "Modes as Markdown", tabled(report.ModeTable, markdown)},
	{"modes.html", "text/html; charset=utf-8", "Modes as HTML", tabled(report.ModeTable, fragment)},
	{"modes.xlsx", xlsxKind, "Modes as XLSX", workbook(report.ModeTable)},
	{"modes.tex", "application/x-tex", "Modes as LaTeX", tabled(report.ModeTable, document.LaTeX)},
	{"compare.json", "application/json", "Comparison as JSON", compared(report.CompareJSON, everyTarget)},
	{"compare.md", "text/markdown; charset=utf-8", "Comparison as Markdown", compared(report.CompareMarkdown, report.CompareTargets)},
	{"compare.txt", "text/plain; charset=utf-8", "Comparison as text", compared(report.CompareText, report.CompareTargets)},
	{"check.txt", "text/plain; charset=utf-8", "Quality of the logs", fromResult(report.CheckText)},
	{"methods.txt", "text/plain; charset=utf-8", "Methods paragraph", methods},
	{"report.html", "text/html; charset=utf-8", "Report", htmlReport},
	{"explain.html", "text/html; charset=utf-8", "Why the modes differ", explainPage},
	{"explain.json", "application/json", "Why the modes differ, as JSON", explained(report.ExplainJSON)},
	{"explain.txt", "text/plain; charset=utf-8", "Why the modes differ, as text", explained(report.ExplainFull)},
}

// exportList is what the page makes buttons of.
func exportList() [][2]string {
	return each(exports, func(e export) [2]string { return [2]string{e.file, e.label} })
}

func methods(out io.Writer, w *work) error {
	cmp, _ := w.compared(report.CompareTargets) // nil where there is nothing to compare
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

// exported sends a result in one of its forms. What cannot be written is an error
// before the first byte is sent.
func exported(w http.ResponseWriter, r *http.Request, work *work) error {
	i := slices.IndexFunc(exports, func(e export) bool { return e.file == r.PathValue("name") })
	if i < 0 {
		http.NotFound(w, r)
		return nil
	}
	e := exports[i]
	var b bytes.Buffer
	if err := e.write(&b, work); err != nil {
		return &errEdit{err.Error()}
	}
	if r.URL.Query().Get("show") != "" && e.kind == kinds[".html"] {
		showPage(w, &b)
		return nil
	}
	title := strings.Join(strings.Fields(strings.ToLower(work.named())), "-")
	download(w, archive.FileName(title+"-"+e.file, e.file), e.kind, &b)
	return nil
}

// named is the session's title, by its date where nobody gave one.
func (w *work) named() string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.head().Title
}

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
	title := w.named()
	if res.Sheet != nil {
		title = cmp.Or(res.Sheet.Title, title)
	}
	return report.HTML(w.s.ctx, out, res, report.Paper{Title: title})
}

package web

import (
	"archive/zip"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"slices"
	"strings"

	"fromrest/pkg/archive"
	"fromrest/pkg/dataset"
	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/unit"
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
		paragraph = unit.Printed(report.Methods(res, cmp))
	}
	return map[string]any{"table": viewTable(make(&shown)), "runs": len(res.Runs), "shown": len(shown.Runs), "methods": paragraph, "method": report.Method(res)}, nil
}

// outsideTimes are the outside times of the sheet beside the logs', as check and report
// list them; the table is null where there are none.
func outsideTimes(_ *http.Request, w *work) (any, error) {
	res := w.snapshot()
	t := report.OutsideTable(res)
	if t == nil {
		return map[string]any{"table": nil}, nil
	}
	lines, note := report.OutsideWords(res)
	return map[string]any{"table": viewTable(t), "lines": list(lines), "note": note}, nil
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
	call       string // the command that writes the same, without sheet and logs
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
	{"runs.csv", "text/csv; charset=utf-8", "Runs as CSV", "runs --format csv", fromResult(report.RunsCSV(document.CSVStyle{}))},
	{"runs.json", "application/json", "Runs as JSON", "runs --format json", fromResult(report.RunsJSON)},
	{"runs.md", "text/markdown; charset=utf-8", "Runs as Markdown", "table --by run --format md", tabled(report.RunTable, markdown)},
	{"runs.html", "text/html; charset=utf-8", "Runs as HTML", "table --by run --format html", tabled(report.RunTable, fragment)},
	{"runs.xlsx", xlsxKind, "Runs as XLSX", "table --by run --format xlsx -o runs.xlsx", workbook(report.RunTable)},
	{"runs.tex", "application/x-tex", "Runs as LaTeX", "table --by run --format latex", tabled(report.RunTable, document.LaTeX)},
	{"runs.txt", "text/plain; charset=utf-8", "Runs as text", "runs", fromResult(report.RunsText)},
	{"modes.csv", "text/csv; charset=utf-8", "Modes as CSV", "table --format csv", tabled(report.ModeTable, document.CSVStyle{}.Table)},
	{"modes.json", "application/json", "Modes as JSON", "table --format json", tabled(report.ModeTable, document.JSON)},
	{"modes.md", "text/markdown; charset=utf-8", "Modes as Markdown", "table --format md", tabled(report.ModeTable, markdown)},
	{"modes.html", "text/html; charset=utf-8", "Modes as HTML", "table --format html", tabled(report.ModeTable, fragment)},
	{"modes.xlsx", xlsxKind, "Modes as XLSX", "table --format xlsx -o modes.xlsx", workbook(report.ModeTable)},
	{"modes.tex", "application/x-tex", "Modes as LaTeX", "table --format latex", tabled(report.ModeTable, document.LaTeX)},
	{"parquet.zip", "application/zip", "Data sets as Parquet", "runs --format parquet --session sets -o .", dataSets},
	{"compare.json", "application/json", "Comparison as JSON", "compare --format json", compared(report.CompareJSON, everyTarget)},
	{"compare.md", "text/markdown; charset=utf-8", "Comparison as Markdown", "compare --format md", compared(report.CompareMarkdown, report.CompareTargets)},
	{"compare.txt", "text/plain; charset=utf-8", "Comparison as text", "compare", compared(report.CompareText, report.CompareTargets)},
	{"check.txt", "text/plain; charset=utf-8", "Quality of the logs", "check", fromResult(report.CheckText)},
	{"methods.txt", "text/plain; charset=utf-8", "Methods paragraph", "table --format methods", methods},
	{"report.html", "text/html; charset=utf-8", "Report", "report -o report.html", htmlReport},
	{"site.svg", "image/svg+xml", "The site, in metres from the first start", "overlay --show site -o site.svg", sitePlan},
	{"explain.html", "text/html; charset=utf-8", "Why the modes differ", "explain --format html", explainPage},
	{"explain.json", "application/json", "Why the modes differ, as JSON", "explain --format json", explained(report.ExplainJSON)},
	{"explain.txt", "text/plain; charset=utf-8", "Why the modes differ, as text", "explain --full", explained(report.ExplainFull)},
}

// exportList is what the page makes buttons of.
func exportList() [][3]string {
	return each(exports, func(e export) [3]string { return [3]string{e.file, e.label, e.call} })
}

// dataSets are the tables of the runs for query engines, packed in one file.
func dataSets(out io.Writer, w *work) error {
	dir, err := os.MkdirTemp("", "fromrest-*")
	if err != nil {
		return err
	}
	defer func() { _ = os.RemoveAll(dir) }() // of no use any more
	if _, err := dataset.Write(dir, "sets", w.snapshot()); err != nil {
		return err
	}
	z := zip.NewWriter(out)
	if err := z.AddFS(os.DirFS(dir)); err != nil {
		return err
	}
	return z.Close()
}

// sitePlan draws the starts, ways and stops of the session.
func sitePlan(out io.Writer, w *work) error {
	res := w.snapshot()
	f, err := figure.Site(res, figure.OptionsFor(res))
	if err != nil {
		return err
	}
	f.MadeBy = session.MadeBy(res.Settings.Version, res.Settings.Model)
	_, err = out.Write(f.SVG())
	return err
}

func methods(out io.Writer, w *work) error {
	cmp, _ := w.compared(report.CompareTargets) // nil where there is nothing to compare
	_, err := io.WriteString(out, unit.Printed(report.Methods(w.snapshot(), cmp))+"\n")
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

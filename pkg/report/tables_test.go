package report

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
)

// twoModes is a session of two modes, one run of them spoilt; mode names would
// break a careless writer.
func twoModes() *session.Result {
	l := &session.Log{Path: "day.nmea", Name: "day", Clock: "utc", Quality: session.Quality{Rate: 10, SpeedNoise: .05, Source: "gnss"}}
	res := &session.Result{Logs: []*session.Log{l}, Settings: session.Settings{Version: "1", Units: "mph", Targets: []string{"0-30 mph", "1/4 mile"}}}
	for i, s := range []float64{3.5512, 3.2044, 3.2071, 3.5498, 3.5533, 3.2102} {
		r := &session.TimedRun{ID: "day#" + strconv.Itoa(i+1), Log: l, Mode: "=1+2, \"eco\"", Kind: segment.StandingStart, Counted: true, HeadingDeg: float64(90 + 180*(i%2)),
			Times: []timing.Time{{Name: "0-30 mph", From: timing.FromRest, Seconds: s, U95: .061}, {Name: "0-30 mph", From: timing.FromRollout, Seconds: s - .3, U95: .0123}}}
		if s < 3.4 {
			r.Mode = "sport_&_tow 100%"
		}
		res.Runs = append(res.Runs, r)
	}
	res.Runs[4].Counted, res.Runs[4].Excluded = false, "wheel\nspin & <slip>"
	return res
}

func TestModeTable(t *testing.T) {
	tb := ModeTable(twoModes())
	if len(tb.Columns) != 2 || tb.Columns[0].N != 2 || tb.Columns[1].N != 3 {
		t.Fatalf("columns %+v", tb.Columns)
	}
	var rest *document.Row
	for i := range tb.Rows {
		if tb.Rows[i].Section == SectionRest {
			rest = &tb.Rows[i]
		}
	}
	v, h := rest.Cells[0].Printed()
	if v[:4] != "3.55" || h == "" {
		t.Errorf("mean %s ± %s", v, h)
	}
	all := strings.Join(tb.Notes, "\n")
	for _, want := range []string{"1 ft (0.3048 m)", "Not counted: day#5", "spin & <slip>", "95 % interval"} {
		if !strings.Contains(all, want) {
			t.Errorf("notes lack %q:\n%s", want, all)
		}
	}
}

// RFC 4180: CRLF, quotes doubled, every line of the same number of fields.
func TestTableCSV(t *testing.T) {
	for _, tb := range []*document.Table{ModeTable(twoModes()), RunTable(twoModes())} {
		var b bytes.Buffer
		if err := (document.CSVStyle{}).Table(&b, tb); err != nil {
			t.Fatal(err)
		}
		for _, line := range strings.SplitAfter(strings.TrimSuffix(b.String(), "\r\n"), "\r\n") {
			if strings.Count(line, "\"")%2 == 0 && strings.Contains(strings.TrimSuffix(line, "\r\n"), "\r") {
				t.Errorf("a bare CR in %q", line)
			}
		}
		recs, err := csv.NewReader(&b).ReadAll() // refuses lines of another length
		if err != nil {
			t.Fatal(err)
		}
		if recs[0][3] != tb.Columns[0].Name || len(recs) < len(tb.Rows)+1 {
			t.Errorf("head %q, %d lines", recs[0], len(recs))
		}
	}
}

func TestTableXLSXHoldsNumbers(t *testing.T) {
	res := twoModes()
	var b bytes.Buffer
	if err := TableXLSX(&b, RunTable(res), res); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(bytes.NewReader(b.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	typ, _ := f.GetCellType("times", "H2")
	raw, _ := f.GetCellValue("times", "H2", excelize.Options{RawCellValue: true})
	shown, _ := f.GetCellValue("times", "H2")
	if x, err := strconv.ParseFloat(raw, 64); err != nil || x != 3.5512 || (typ != excelize.CellTypeNumber && typ != excelize.CellTypeUnset) || shown != "3.551" {
		t.Errorf("H2 is %q shown as %q, type %v", raw, shown, typ)
	}
	if formula, _ := f.GetCellFormula("times", "B2"); formula != "" {
		t.Errorf("a mode's name became the formula %q", formula)
	}
	struck := 0
	rows, _ := f.GetRows("times")
	for i, r := range rows {
		cell, _ := excelize.CoordinatesToCellName(1, i+1)
		id, _ := f.GetCellStyle("times", cell)
		st, err := f.GetStyle(id)
		if err != nil {
			t.Fatal(err)
		}
		if st.Font != nil && st.Font.Strike {
			struck++
			if r[0] != "day#5" {
				t.Errorf("%s is struck out", r[0])
			}
		}
	}
	if struck != 2 {
		t.Errorf("%d lines struck out, want the 2 of the run that does not count", struck)
	}
	head, _ := f.GetRows("table")
	if !strings.Contains(strings.Join(head[len(head)-1], " "), "not counted") && !strings.Contains(sprint(head), "not counted") {
		t.Errorf("no footnote on the run that does not count: %v", head)
	}
}

func sprint(rows [][]string) string {
	var s []string
	for _, r := range rows {
		s = append(s, strings.Join(r, " "))
	}
	return strings.Join(s, "\n")
}

// Where LibreOffice is at hand it opens the workbook and sees numbers as numbers.
func TestTableXLSXOpensInLibreOffice(t *testing.T) {
	office, err := exec.LookPath("soffice")
	if err != nil || testing.Short() {
		t.Skip("no LibreOffice at hand, or a short test: the workbook was only looked at by its structure")
	}
	dir := t.TempDir()
	res := twoModes()
	var b bytes.Buffer
	if err := TableXLSX(&b, ModeTable(res), res); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "t.xlsx")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(office, "-env:UserInstallation=file://"+filepath.Join(dir, "profile"), "--headless", "--convert-to", "fods", "--outdir", dir, path)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Skipf("LibreOffice does not run here: %v %s", err, out)
	}
	text, err := os.ReadFile(filepath.Join(dir, "t.fods"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`office:value-type="float" office:value="3.5512"`, `office:value-type="float" office:value="0.0123"`, `=1+2, &quot;eco&quot;`} {
		if !strings.Contains(string(text), want) {
			t.Errorf("LibreOffice does not see %s", want)
		}
	}
	if strings.Contains(string(text), "table:formula") {
		t.Error("LibreOffice sees a formula")
	}
}

// Without a TeX at hand the structure is checked: braces balanced, every row of
// the same number of cells, nothing left that TeX reads as its own.
func TestTableLaTeX(t *testing.T) {
	for _, tb := range []*document.Table{ModeTable(twoModes()), RunTable(twoModes())} {
		var b bytes.Buffer
		if err := document.LaTeX(&b, tb); err != nil {
			t.Fatal(err)
		}
		text := b.String()
		depth := 0
		for i, r := range text {
			escaped := i > 0 && text[i-1] == '\\'
			switch {
			case r == '{' && !escaped:
				depth++
			case r == '}' && !escaped:
				depth--
			case r > 126:
				t.Errorf("the character %q is not plain TeX", r)
			}
			if depth < 0 {
				t.Fatalf("a brace too many at %q", text[max(0, i-30):i+1])
			}
		}
		if depth != 0 || strings.Count(text, "$")%2 != 0 {
			t.Errorf("braces off by %d", depth)
		}
		cells, columns := 0, 0
		for _, line := range strings.Split(text, "\n") {
			if strings.HasPrefix(line, `\begin{tabular}`) {
				n := strings.Count(line, "r@")
				cells, columns = 2*n+1, columns+n
			}
			if !strings.HasSuffix(line, `\\`) {
				continue
			}
			n := strings.Count(line, "&") - strings.Count(line, `\&`) + 1
			n += strings.Count(line, `\multicolumn{2}`)
			if strings.HasPrefix(line, `\multicolumn{`+strconv.Itoa(cells)) {
				n = cells
			}
			if n != cells {
				t.Errorf("%d cells, want %d: %s", n, cells, line)
			}
		}
		if columns != len(tb.Columns) {
			t.Errorf("%d columns, want %d", columns, len(tb.Columns))
		}
		if tex, err := exec.LookPath("pdflatex"); err == nil {
			compileTeX(t, tex, text)
		}
	}
}

func compileTeX(t *testing.T, tex, body string) {
	t.Helper()
	dir := t.TempDir()
	doc := "\\documentclass{article}\\begin{document}\n" + body + "\\end{document}\n"
	if err := os.WriteFile(filepath.Join(dir, "t.tex"), []byte(doc), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(tex, "-interaction=nonstopmode", "-halt-on-error", "t.tex")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("LaTeX: %v\n%s", err, out)
	}
}

func TestTableJSONAndHTML(t *testing.T) {
	tb := RunTable(twoModes())
	var b bytes.Buffer
	if err := document.JSON(&b, tb); err != nil {
		t.Fatal(err)
	}
	var j struct {
		Schema  string
		Columns []struct{ Counted bool }
		Rows    []any
	}
	if err := json.Unmarshal(b.Bytes(), &j); err != nil {
		t.Fatal(err)
	}
	if j.Schema != "fromrest.table/1" || len(j.Columns) != 6 || j.Columns[4].Counted || len(j.Rows) != len(tb.Rows) {
		t.Errorf("%+v", j.Columns)
	}
	b.Reset()
	if err := document.HTML(&b, tb); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"<s>3.553 ± 0.061</s>", "spin &amp; &lt;slip&gt;", `scope="row"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("HTML lacks %q", want)
		}
	}
}

// The paragraph says what was really done: change what was done and it changes.
func TestMethodsFollowTheResult(t *testing.T) {
	res := twoModes()
	cmp, err := res.Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	m := Methods(res, cmp)
	for _, want := range []string{"a GNSS receiver at 10 Hz", "0.050 m/s", "Of 6 standing starts", `2 in =1+2, "eco" (1 towards 090°, 1 the other way)`,
		"day#5 (wheel\nspin", "not recorded with the logs", "the weight of 4 degrees of freedom", "is held to 5 %"} {
		if !strings.Contains(m, want) {
			t.Errorf("lacks %q:\n%s", want, m)
		}
	}
	for _, r := range res.Runs {
		r.HeadingDeg = 90
	}
	res.Runs[4].Counted = true
	wind, temp := 2.5, 291.15
	res.Sheet = &sheet.Sheet{Conditions: sheet.Conditions{Wind: &wind, Temperature: &temp}, Place: "the strip", Date: time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC),
		Vehicle: sheet.Vehicle{Name: "an invented van", Mass: 2080}}
	res.Logs[0].Quality.Smoothing = &session.Smoothing{Likely: 0.99, Delay: 0.2, Kept: []estimate.TriedFilter{{}}}
	m = Methods(res, nil)
	for _, want := range []string{"The runs were driven on 9 May 2026 (the strip) in a vehicle of 2080 kg as tested (an invented van).", "it gives some 0.20 s late; that was taken out", "all towards 090°", "since no mode was driven both ways", "Conditions as noted: 18 °C and wind 2.5 m/s."} {
		if !strings.Contains(m, want) {
			t.Errorf("lacks %q:\n%s", want, m)
		}
	}
	for _, not := range []string{"Not counted", "held to 5 %", "not recorded"} {
		if strings.Contains(m, not) {
			t.Errorf("says %q of a result without it", not)
		}
	}
}

// What compare writes as JSON can be read back as a past session, and carries
// the contract's fields.
func TestCompareJSON(t *testing.T) {
	cmp, err := twoModes().Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := CompareJSON(&b, cmp); err != nil {
		t.Fatal(err)
	}
	var v struct {
		Schema  string
		Targets []struct {
			Name, From string
			Modes      []map[string]any
			Pairs      []map[string]any
		}
		Warnings []string
	}
	if err := json.Unmarshal(b.Bytes(), &v); err != nil {
		t.Fatal(err)
	}
	tg := v.Targets[0]
	if v.Schema != "fromrest.compare/2" || tg.From != "rest" || v.Warnings == nil {
		t.Errorf("%+v", v)
	}
	for _, k := range []string{"mode", "n", "mean_s", "sd_s", "best_s", "u95_s", "two_way_mean_s"} {
		if _, ok := tg.Modes[0][k]; !ok {
			t.Errorf("a mode lacks %s", k)
		}
	}
	for _, k := range []string{"a", "b", "difference_s", "lo_s", "hi_s", "confidence", "p_adjusted", "verdict", "runs_needed"} {
		if _, ok := tg.Pairs[0][k]; !ok {
			t.Errorf("a pair lacks %s", k)
		}
	}
	past, err := compare.ReadPast(&b, "p.json")
	if err != nil {
		t.Fatal(err)
	}
	s := past.At("0-30 mph", "rollout", "")
	if s == nil || math.Abs(s.SD-cmp.Targets[1].Model.Residual) > 1e-6 || past.At("1/4 mile", "rest", "") != nil {
		t.Errorf("past scatter %+v, residual %g", s, cmp.Targets[1].Model.Residual)
	}
}

func TestCompareTextSaysItAll(t *testing.T) {
	cmp, err := twoModes().Compare(nil)
	if err != nil {
		t.Fatal(err)
	}
	for name, f := range map[string]func(*bytes.Buffer, *compare.Result) error{
		"text":     func(b *bytes.Buffer, c *compare.Result) error { return CompareText(b, c) },
		"markdown": func(b *bytes.Buffer, c *compare.Result) error { return CompareMarkdown(b, c) },
	} {
		var b bytes.Buffer
		if err := f(&b, cmp); err != nil {
			t.Fatal(err)
		}
		for _, want := range []string{"0–30 mph, from rest", "with rollout", "Verdict", "residual degree", "at most 6 in 100"} {
			if !strings.Contains(strings.ReplaceAll(b.String(), "\n", " "), want) {
				t.Errorf("%s lacks %q:\n%s", name, want, b.String())
			}
		}
	}
}

// The head of a report shows what the sheet says, and nothing it does not.
func TestReportShowsTheSheet(t *testing.T) {
	res := twoModes()
	sh, err := sheet.Parse("title = \"Van <day>\"\nplace = \"airfield\"\n[conditions]\nwind_mps = 0\ntemperature_c = 18.5\n[[mode]]\nname = \"a\"\ndescription = \"gentle\"\n", "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	res.Sheet = sh
	var b bytes.Buffer
	if err := HTML(t.Context(), &b, res, Paper{}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"<h1>Van &lt;day&gt;</h1>", "airfield · ", "<b>Conditions</b> Temperature 18.5 °C, wind 0 m/s", "<b>Modes</b> a: gentle.", "Modes compared"} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("lacks %s", want)
		}
	}
	if strings.Contains(b.String(), "grade ") || strings.Contains(b.String(), " kg") {
		t.Error("shows what the sheet does not say")
	}
}

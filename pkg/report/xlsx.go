package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// TableXLSX writes a table as a workbook: the table with its footnotes, and a
// sheet with every time of every run, one a line. Numbers are numbers, shown to
// the place that their uncertainty supports and held in full.
func TableXLSX(w io.Writer, t *Table, res *session.Result) error {
	x := &book{f: excelize.NewFile(), styles: map[string]int{}}
	defer x.f.Close()
	x.check(x.f.SetSheetName("Sheet1", "table"))
	x.table(t)
	_, err := x.f.NewSheet("times")
	x.check(err)
	x.times(res)
	if x.err != nil {
		return x.err
	}
	_, err = x.f.WriteTo(w)
	return err
}

// book is a workbook being written; the first error stays.
type book struct {
	f      *excelize.File
	styles map[string]int
	err    error
}

func (x *book) check(err error) {
	if x.err == nil {
		x.err = err
	}
}

// style returns a cell style: a number format, bold, struck out.
func (x *book) style(format string, bold, struck bool) int {
	key := fmt.Sprint(format, bold, struck)
	if s, ok := x.styles[key]; ok {
		return s
	}
	st := &excelize.Style{Font: &excelize.Font{Bold: bold, Strike: struck}}
	if format != "" {
		st.CustomNumFmt = &format
	}
	s, err := x.f.NewStyle(st)
	x.check(err)
	x.styles[key] = s
	return s
}

// set writes a value; text stays text whatever it begins with.
func (x *book) set(sheet string, col, row int, v any, style int) {
	cell, err := excelize.CoordinatesToCellName(col, row)
	x.check(err)
	if s, ok := v.(string); ok {
		x.check(x.f.SetCellStr(sheet, cell, s))
	} else {
		x.check(x.f.SetCellValue(sheet, cell, v))
	}
	x.check(x.f.SetCellStyle(sheet, cell, cell, style))
}

// places is the number format of a value with the given half-width.
func places(u95 float64) string {
	n := uncert.Places(u95, 3)
	if n == 0 {
		return "0"
	}
	return "0." + strings.Repeat("0", n)
}

func (x *book) table(t *Table) {
	const sheet = "table"
	plain, bold := x.style("", false, false), x.style("", true, false)
	x.set(sheet, 1, 1, t.Title, bold)
	row := 2
	for i, c := range t.Columns {
		x.set(sheet, 2+2*i, row, c.Name, x.style("", true, c.Struck))
		x.set(sheet, 3+2*i, row, "± 95 %", plain)
	}
	section := SectionRun
	for _, r := range t.Rows {
		row++
		if r.Section != section {
			section = r.Section
			x.set(sheet, 1, row, section, bold)
			row++
		}
		x.set(sheet, 1, row, r.Label(), plain)
		for i, c := range r.Cells {
			x.cell(sheet, 2+2*i, row, c)
		}
	}
	row++
	for i, n := range t.Notes {
		row++
		x.set(sheet, 1, row, strings.Trim(noteMark(i), "[]")+"  "+n, plain)
	}
	x.check(x.f.SetColWidth(sheet, "A", "A", 22))
	x.check(x.f.SetPanes(sheet, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 2, TopLeftCell: "B3", ActivePane: "bottomRight"}))
}

// cell writes one cell of a table and its half-width beside it; marks of
// footnotes go into a comment-free text only where the cell holds no number.
func (x *book) cell(sheet string, col, row int, c Cell) {
	if math.IsNaN(c.X) {
		if c.Text != "" {
			x.set(sheet, col, row, c.Text, x.style("", false, c.Struck))
		}
		return
	}
	format := places(c.U95)
	for _, n := range c.Notes { // a mark behind the number leaves it a number
		format += `"` + " " + strings.Trim(noteMark(n), "[]") + `"`
	}
	x.set(sheet, col, row, c.X, x.style(format, false, c.Struck))
	if c.U95 > 0 && !math.IsInf(c.U95, 0) {
		x.set(sheet, col+1, row, c.U95, x.style(places(c.U95), false, c.Struck))
	}
}

func (x *book) times(res *session.Result) {
	const sheet = "times"
	unitName, per := SpeedUnit(res.Settings.Units)
	bold := x.style("", true, false)
	for i, h := range []string{"run", "mode", "heading, deg", "counted", "excluded because", "target", "from", "time, s", "± 95 %, s",
		"trap speed, " + unitName, "± 95 %, " + unitName, "in doubt"} {
		x.set(sheet, i+1, 1, h, bold)
	}
	row := 1
	for _, r := range res.Runs {
		for _, t := range append(append([]timing.Time{}, r.Times...), r.Pulls...) {
			row++
			plain := x.style("", false, !r.Counted)
			counted := "yes"
			if !r.Counted {
				counted = "no"
			}
			for i, s := range []string{r.ID, r.Mode, "", counted, r.Excluded, t.Name, string(t.From)} {
				if s != "" {
					x.set(sheet, i+1, row, s, plain)
				}
			}
			if !math.IsNaN(r.HeadingDeg) {
				x.set(sheet, 3, row, r.HeadingDeg, x.style("0", false, !r.Counted))
			}
			x.cell(sheet, 8, row, Cell{X: t.Seconds, U95: t.U95, Struck: !r.Counted})
			if t.TrapSpeed > 0 {
				x.cell(sheet, 10, row, Cell{X: t.TrapSpeed / per, U95: t.TrapU95 / per, Struck: !r.Counted})
			}
			x.set(sheet, 12, row, t.Doubt, plain)
		}
	}
	x.check(x.f.SetColWidth(sheet, "A", "G", 14))
	x.check(x.f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}))
}

package document

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/xuri/excelize/v2"

	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Sheet is a table of a workbook with its name.
type Sheet struct {
	Name  string
	Table *Table
}

// XLSX writes tables as a workbook, each as a sheet with its footnotes. Numbers
// are numbers, shown to the place that their uncertainty supports and held in
// full.
func XLSX(w io.Writer, sheets ...Sheet) error {
	x := &book{f: excelize.NewFile(), styles: map[string]int{}}
	defer func() { _ = x.f.Close() }()
	for i, s := range sheets {
		if i == 0 {
			x.check(x.f.SetSheetName("Sheet1", s.Name))
		} else {
			_, err := x.f.NewSheet(s.Name)
			x.check(err)
		}
		if s.Table.Look == Records {
			x.records(s.Name, s.Table)
		} else {
			x.numbers(s.Name, s.Table)
		}
	}
	x.check(x.f.SetDocProps(&excelize.DocProperties{Creator: "fromrest", LastModifiedBy: "fromrest", Title: sheets[0].Table.Title,
		Created: "2000-01-01T00:00:00Z", Modified: "2000-01-01T00:00:00Z"})) // nothing in an output looks at the clock
	if x.err != nil {
		return x.err
	}
	_, err := x.f.WriteTo(w)
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

// numbers writes a table of numbers, for each column a value and its half-width.
func (x *book) numbers(sheet string, t *Table) {
	plain, bold := x.style("", false, false), x.style("", true, false)
	x.set(sheet, 1, 1, t.Title, bold)
	row := 2
	for i, c := range t.Columns {
		x.set(sheet, 2+2*i, row, c.Name, x.style("", true, c.Struck))
		x.set(sheet, 3+2*i, row, "± (95 %)", plain)
	}
	t.sections(func(section string, r Row) {
		row++
		if section != "" {
			x.set(sheet, 1, row, section, bold)
			row++
		}
		x.set(sheet, 1, row, unit.Printed(t.label(r)), plain)
		for i, c := range r.Cells {
			if !c.Empty() {
				x.cell(sheet, 2+2*i, row, c, false)
			}
		}
	})
	row++
	for i, n := range t.Notes {
		row++
		if t.marked(i) {
			n = mark(i) + "  " + n
		}
		x.set(sheet, 1, row, n, plain)
	}
	x.check(x.f.SetColWidth(sheet, "A", "A", 22))
	if n := len(t.Columns); n > 0 {
		last, err := excelize.ColumnNumberToName(1 + 2*n)
		x.check(err)
		x.check(x.f.SetColWidth(sheet, "B", last, numberWidth))
		x.printed(sheet, "$A:$A", "$1:$2")
		for i := columnsAbreast; i < n; i += columnsAbreast { // never between a number and its half-width
			cell, err := excelize.CoordinatesToCellName(2+2*i, 1)
			x.check(err)
			x.check(x.f.InsertPageBreak(sheet, cell))
		}
	}
	x.check(x.f.SetPanes(sheet, &excelize.Panes{Freeze: true, XSplit: 1, YSplit: 2, TopLeftCell: "B3", ActivePane: "bottomRight"}))
}

const (
	numberWidth    = 9  // letters, of a column of numbers
	columnsAbreast = 7  // columns with their half-widths that fit an A4 page on its side at printedScale
	printedScale   = 60 // %, at which the rows of a table fit too
	paperA4        = 9  // in the format
)

// printed has a sheet printed on A4 pages on their side, with some of its columns and rows
// on each.
func (x *book) printed(sheet string, titles ...string) {
	for i, t := range titles {
		titles[i] = sheet + "!" + t
	}
	orientation, size, scale := "landscape", paperA4, uint(printedScale)
	x.check(x.f.SetPageLayout(sheet, &excelize.PageLayoutOptions{Orientation: &orientation, Size: &size, AdjustTo: &scale}))
	x.check(x.f.SetDefinedName(&excelize.DefinedName{Name: "_xlnm.Print_Titles", Scope: sheet, RefersTo: strings.Join(titles, ",")}))
}

// records writes a table with a row for each record.
func (x *book) records(sheet string, t *Table) {
	bold := x.style("", true, false)
	x.set(sheet, 1, 1, t.Corner, bold)
	at, col := make([]int, len(t.Columns)), 2
	for i, c := range t.Columns {
		at[i] = col
		for _, h := range []string{c.Name, c.Half} {
			if h != "" {
				x.set(sheet, col, 1, h, bold)
				col++
			}
		}
	}
	for k, r := range t.Rows {
		x.set(sheet, 1, 2+k, r.Name, x.style("", false, r.Struck))
		for i, c := range r.Cells {
			if c.numeric() || !math.IsNaN(c.U95) {
				x.cell(sheet, at[i], 2+k, c, t.Columns[i].Whole)
			}
		}
	}
	x.check(x.f.SetColWidth(sheet, "A", "G", 14))
	x.printed(sheet, "$1:$1")
	x.check(x.f.SetPanes(sheet, &excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}))
}

// cell writes words, or a number with its half-width beside it. The marks of
// footnotes are in the number's format, which leaves it a number.
func (x *book) cell(sheet string, col, row int, c Cell, whole bool) {
	if !c.numeric() {
		x.set(sheet, col, row, c.Text, x.style("", false, c.Struck))
		return
	}
	format := "0"
	if !whole && !c.Whole {
		format = places(c.U95)
	}
	format += c.marks(`" `, `"`)
	x.set(sheet, col, row, c.X, x.style(format, c.Strong, c.Struck))
	if c.U95 > 0 && !math.IsInf(c.U95, 0) {
		x.set(sheet, col+1, row, c.U95, x.style(places(c.U95), false, c.Struck))
	}
}

package document

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"fromrest/pkg/uncert"
)

// Table is a table apart from its form.
type Table struct {
	Title   string
	Label   string // for who cannot see it, in HTML; the title if empty
	Corner  string // above the names of the rows
	Columns []Column
	Rows    []Row
	Notes   []string // footnotes, whole sentences or clauses
	Note    string   // a paragraph beneath it
	Look    Look
	Maker   Maker // in JSON; a footnote says it in words
}

// Maker is what made the numbers of a document: the version of the program and the
// revision of its model.
type Maker struct {
	Version string `json:"version"`
	Model   int    `json:"model"`
}

// Look is how a table is set where tables differ in style.
type Look int

// Looks of tables. What another form than the one named does with a look is that
// of Numbers.
const (
	// Numbers are set on their points, beneath the names of their columns' groups;
	// columns that do not fit beside the others follow beneath them. As HTML it is
	// a piece without style of its own.
	Numbers Look = iota
	// Page is Numbers as HTML for a page of ours, cut by whoever sets it.
	Page
	// Headline is, in a page, sections of rows with two numbers in a cell.
	Headline
	// Summary is, as text, numbers on their points with whole columns, the first
	// cut where the table is too wide.
	Summary
	// Titled is words and numbers as words under a title, indented, cut as Numbers.
	Titled
	// Whole is words and numbers as words, indented, never cut.
	Whole
	// Records is, in a workbook, a row for each record, a column with a half-width
	// only where it has the heading for one.
	Records
)

// Column is one column beside the names of the rows.
type Column struct {
	Name   string
	Group  string // stands once above the columns of one group that follow each other
	Short  string // the name beneath that of the group; Name if empty
	Half   string // heading of the half-widths, for Records
	Whole  bool   // numbers are shown without places, in Records
	Of     string // what kind of thing it shows; "mode" in JSON
	N      int    // how many it is the mean of; 1 for one alone
	Struck bool   // shown, never counted
}

// Row is one line of a table.
type Row struct {
	Section string // heading under which the row stands; rows of one section follow each other
	Name    string
	Note    string // behind the name, in a Headline
	Unit    string // of X and U95: "s", "mph", "g"; "" for words
	Struck  bool
	Strong  bool // sums up those above it
	Cells   []Cell
}

// Cell is one place of a table: a number with its half-width, or words.
type Cell struct {
	X, U95 float64 // in the row's unit; X is NaN where there is no number
	Text   string  // words, where there is no number
	Notes  []int   // indices into Table.Notes
	Mark   string  // a remark raised behind it, in a Headline
	Whole  bool    // X is a count: no places and no half-width
	Struck bool    // shown, never counted
	Strong bool    // stands out; a terminal shows it by its footnote alone
	Below  *Cell   // a second number beneath, in a Headline
}

// Number is a cell with a number and its half-width.
func Number(x, u95 float64) Cell { return Cell{X: x, U95: u95} }

// Count is a cell with how many there are of something.
func Count(n int) Cell { return Cell{X: float64(n), U95: math.NaN(), Whole: true} }

// Words is a cell with words, which may be empty.
func Words(s string) Cell { return Cell{X: math.NaN(), Text: s} }

// None is a cell in which nothing stands.
func None() Cell { return Cell{X: math.NaN(), U95: math.NaN()} }

// numeric reports whether the cell holds a number.
func (c Cell) numeric() bool { return !math.IsNaN(c.X) }

// Printed returns the number as it is shown: rounded by uncert.Format. Both are
// empty where there is no number; half is empty where the half-width is unknown.
func (c Cell) Printed() (value, half string) {
	if !c.numeric() {
		return c.Text, ""
	}
	if c.Whole {
		return strconv.FormatFloat(c.X, 'f', 0, 64), ""
	}
	return uncert.Format(c.X, c.U95)
}

// Empty reports whether the cell holds nothing.
func (c Cell) Empty() bool { return !c.numeric() && c.Text == "" }

// Unknown stands in a table of words where nothing is known.
const Unknown = "–"

// label is a row's name with its unit, unless the heading of its section says it.
func (t *Table) label(r Row) string {
	seconds := r.Unit == "s" && t.Look != Numbers && t.Look != Page // the builder says so
	if r.Unit == "" || seconds || r.Section != t.unheaded() && strings.HasSuffix(t.heading(r.Section), ", "+r.Unit) {
		return r.Name
	}
	return r.Name + ", " + r.Unit
}

// heading is that of a section, with the unit that all its rows share.
func (t *Table) heading(section string) string {
	if t.Look != Numbers && t.Look != Page {
		return section
	}
	shared := ""
	for _, r := range t.Rows {
		switch {
		case r.Section != section:
		case r.Unit == "" || shared != "" && r.Unit != shared:
			return section
		default:
			shared = r.Unit
		}
	}
	if strings.HasSuffix(section, ", "+shared) {
		return section
	}
	return section + ", " + shared
}

// unheaded is the section that stands without a heading, "" for none: the first one of
// numbers.
func (t *Table) unheaded() string {
	if len(t.Rows) > 0 && (t.Look == Numbers || t.Look == Page) {
		return t.Rows[0].Section
	}
	return ""
}

// short is the column's name where its group stands above it.
func (c Column) short() string { return cmp.Or(c.Short, c.Name) }

// TableOf begins a table of words: the headings of its columns, that of the rows'
// names first.
func TableOf(look Look, title string, head ...string) *Table {
	t := &Table{Title: title, Look: look, Corner: head[0]}
	for _, h := range head[1:] {
		t.Columns = append(t.Columns, Column{Name: h})
	}
	return t
}

// Add adds a row of words: its name and a cell for each column.
func (t *Table) Add(name string, cells ...string) {
	r := Row{Name: name}
	for _, c := range cells {
		r.Cells = append(r.Cells, Words(c))
	}
	t.Rows = append(t.Rows, r)
}

// Footnote returns the index of a footnote, adding it if it is new.
func (t *Table) Footnote(text string) int {
	if i := slices.Index(t.Notes, text); i >= 0 {
		return i
	}
	t.Notes = append(t.Notes, text)
	return len(t.Notes) - 1
}

// AddFilled adds a row, unless nothing stands in it.
func (t *Table) AddFilled(r Row) {
	if !r.Empty() {
		t.Rows = append(t.Rows, r)
	}
}

// Empty reports whether nothing stands in the row.
func (r Row) Empty() bool {
	return !slices.ContainsFunc(r.Cells, func(c Cell) bool { return !c.Empty() })
}

// WithoutEmpty drops the columns in which nothing is known, and returns the table.
func (t *Table) WithoutEmpty() *Table {
	t.keep(func(i int) bool {
		return slices.ContainsFunc(t.Rows, func(r Row) bool { return !r.Cells[i].Empty() && r.Cells[i].Text != Unknown })
	})
	return t
}

// Shared moves columns that say the same in every row into the note, each under
// the name given for it, and returns the table. The names are by column from 0.
func (t *Table) Shared(names map[int]string) *Table {
	var notes []string
	t.keep(func(i int) bool {
		if names[i] == "" || slices.ContainsFunc(t.Rows, func(r Row) bool { return r.Cells[i].Text != t.Rows[0].Cells[i].Text }) {
			return true
		}
		if len(t.Rows) > 0 && t.Rows[0].Cells[i].Text != Unknown {
			notes = append(notes, names[i]+": "+t.Rows[0].Cells[i].Text+".")
		}
		return false
	})
	t.Note = strings.Join(notes, " ")
	return t
}

// keep drops the columns that the function refuses.
func (t *Table) keep(want func(column int) bool) {
	var at []int
	for i := range t.Columns {
		if want(i) {
			at = append(at, i)
		}
	}
	t.Columns = pick(t.Columns, at)
	for k := range t.Rows {
		t.Rows[k].Cells = pick(t.Rows[k].Cells, at)
	}
}

func pick[T any](all []T, at []int) []T {
	out := make([]T, len(at))
	for k, i := range at {
		out[k] = all[i]
	}
	return out
}

// Cut returns the table with the columns from one to before another, without the
// rows that are empty there and with the footnotes used there alone; a footnote
// keeps its mark, others are "".
func (t *Table) Cut(from, to int) *Table {
	out := *t
	out.Columns, out.Rows = t.Columns[from:to], nil
	out.Notes = make([]string, len(t.Notes))
	for _, r := range t.Rows {
		r.Cells = r.Cells[from:to]
		for _, c := range r.Cells {
			for _, n := range c.Notes {
				out.Notes[n] = t.Notes[n]
			}
		}
		out.AddFilled(r)
	}
	return &out
}

// Pieces cuts the table into pieces of so many columns at most.
func (t *Table) Pieces(columns int) []*Table {
	var out []*Table
	for from := 0; from < len(t.Columns); from += columns {
		piece := t.Cut(from, min(from+columns, len(t.Columns)))
		if len(t.Columns) > columns { // a reader who hears the page tells them apart
			piece.Label = fmt.Sprintf("%s, part %d", cmp.Or(t.Label, t.Title), 1+from/columns)
		}
		out = append(out, piece)
	}
	return out
}

// sections goes through the rows with the section that begins at each, "" where
// none does. The first one of numbers stands without a heading.
func (t *Table) sections(each func(section string, r Row)) {
	last := t.unheaded()
	for _, r := range t.Rows {
		section := ""
		if r.Section != last {
			section, last = t.heading(r.Section), r.Section
		}
		each(section, r)
	}
}

// groups are the names of the columns' groups, with how many columns stand beneath
// each.
func (t *Table) groups() (names []string, spans []int) {
	for _, c := range t.Columns {
		if n := len(names); n > 0 && names[n-1] == c.Group {
			spans[n-1]++
			continue
		}
		names, spans = append(names, c.Group), append(spans, 1)
	}
	return names, spans
}

// marked reports whether a cell has the mark of footnote i. A note without one speaks of
// the whole table.
func (t *Table) marked(i int) bool {
	return slices.ContainsFunc(t.Rows, func(r Row) bool {
		return slices.ContainsFunc(r.Cells, func(c Cell) bool { return slices.Contains(c.Notes, i) })
	})
}

// mark is the mark of footnote i: a, b, ... z, aa, ab.
func mark(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('a'+(i-1)%26)) + s
	}
	return s
}

// marks are the marks of a cell, each between the given brackets.
func (c Cell) marks(before, after string) string {
	s := ""
	for _, n := range c.Notes {
		s += before + mark(n) + after
	}
	return s
}

// struckOut marks what does not count, where there is anything.
func struckOut(s string, struck bool, before, after string) string {
	if !struck || strings.TrimSpace(s) == "" {
		return s
	}
	return before + s + after
}

// stoodOut has a cell that is strong stand out, where there is anything.
func (c *Cell) stoodOut(s, before, after string) string { return struckOut(s, c.Strong, before, after) }

// digits is how many digits the widest number of a column has before and behind
// its point, and its widest half-width.
type digits struct{ whole, frac, half int }

// digits looks through a column, or through the numbers beneath.
func (t *Table) digits(col int, below bool) digits {
	var d digits
	for _, r := range t.Rows {
		c := &r.Cells[col]
		if below {
			c = c.Below
		}
		if c == nil || !c.numeric() || c.Whole {
			continue
		}
		v, h := c.Printed()
		whole, frac, _ := strings.Cut(v, ".")
		d = digits{max(d.whole, len(whole)), max(d.frac, len(frac)), max(d.half, len(h))}
	}
	return d
}

package document

import (
	"cmp"
	"encoding/csv"
	"io"
	"regexp"
	"strings"
)

// CSVStyle is how CSV is written where RFC 4180 and points are not wanted. The zero value
// is both.
type CSVStyle struct {
	Delimiter rune // between fields; a comma if 0
	Comma     bool // numbers are written with a comma in place of the point
}

// Table writes a table as CSV: a line for each row, for each column its value and its
// half-width, and last the footnotes of the row. The notes that belong to no row are
// lines of their own at the end, of the same number of fields.
func (style CSVStyle) Table(w io.Writer, t *Table) error {
	head := []string{"section", "row", "unit"}
	for _, c := range t.Columns {
		head = append(head, c.Name, c.Name+"_u95")
	}
	lines := [][]string{append(head, "notes")}
	for _, r := range t.Rows {
		line := []string{r.Section, r.Name, r.Unit}
		var notes []string
		for i, c := range r.Cells {
			v, h := c.Printed()
			line = append(line, v, h)
			for _, n := range c.Notes {
				notes = append(notes, t.Columns[i].Name+": "+t.Notes[n])
			}
		}
		lines = append(lines, append(line, strings.Join(notes, "; ")))
	}
	for i, n := range t.Notes {
		if !t.marked(i) {
			line := make([]string, len(lines[0]))
			line[0], line[len(line)-1] = "note", n
			lines = append(lines, line)
		}
	}
	return style.Lines(w, lines)
}

// decimal is a field that is a number with a point.
var decimal = regexp.MustCompile(`^-?\d+\.\d+$`)

// Lines writes lines of fields as CSV, the first of which is a head.
func (style CSVStyle) Lines(w io.Writer, lines [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF, out.Comma = true, cmp.Or(style.Delimiter, ',')
	for i, line := range lines {
		for k, field := range line {
			if style.Comma && i > 0 && decimal.MatchString(field) {
				line[k] = strings.Replace(field, ".", ",", 1)
			}
		}
	}
	return out.WriteAll(lines)
}

package document

import (
	"encoding/csv"
	"io"
	"strings"
)

// CSV writes a table as CSV (RFC 4180): a line for each row, for each column its
// value and its half-width, and last the footnotes of the row. The notes that
// belong to no row are lines of their own at the end, of the same number of
// fields.
func CSV(w io.Writer, t *Table) error {
	head := []string{"section", "row", "unit"}
	for _, c := range t.Columns {
		head = append(head, c.Name, c.Name+" ± 95 %")
	}
	lines := [][]string{append(head, "notes")}
	used := map[int]bool{}
	for _, r := range t.Rows {
		line := []string{r.Section, r.Name, r.Unit}
		var notes []string
		for i, c := range r.Cells {
			v, h := c.Printed()
			line = append(line, v, h)
			for _, n := range c.Notes {
				used[n] = true
				notes = append(notes, t.Columns[i].Name+": "+t.Notes[n])
			}
		}
		lines = append(lines, append(line, strings.Join(notes, "; ")))
	}
	for i, n := range t.Notes {
		if !used[i] {
			line := make([]string, len(lines[0]))
			line[0], line[len(line)-1] = "note", n
			lines = append(lines, line)
		}
	}
	return CSVLines(w, lines)
}

// CSVLines writes lines of fields as CSV (RFC 4180).
func CSVLines(w io.Writer, lines [][]string) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	return out.WriteAll(lines)
}

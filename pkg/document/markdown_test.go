package document

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"
)

// TestMarkdownStandsOnItsPoints checks that the points and the signs ± of a column stand
// beneath each other, in the source and without it: what is put between is as wide as a digit
// and is no space that a reader of Markdown takes away.
func TestMarkdownStandsOnItsPoints(t *testing.T) {
	w := TableOf(Numbers, "", "", "a", "b")
	row := func(name string, cells ...Cell) { w.Rows = append(w.Rows, Row{Name: name, Unit: "s", Cells: cells}) }
	noted := Number(104.2, 0.5)
	noted.Notes = []int{w.Footnote("why")}
	row("x", Number(8.9408, 0.0951), noted)
	row("a longer name", Number(14.38, 0.34), Number(7, 12))
	row("y", None(), Number(6.7056, 0.0312))
	var b bytes.Buffer
	if err := Markdown(&b, w); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSpace(b.String()), "\n")[:5]
	for _, mark := range []string{"|", ".", "±"} {
		for column := 1; column <= 2; column++ {
			at := map[int]bool{}
			for _, line := range lines {
				cells, place := strings.Split(line, "|"), 0
				for _, c := range cells[:column+1] {
					place += utf8.RuneCountInString(c) + 1
				}
				if i := strings.Index(cells[column+1], mark); i >= 0 {
					at[place+utf8.RuneCountInString(cells[column+1][:i])] = true
				}
				if mark == "|" {
					at[place] = true
				}
			}
			if len(at) != 1 {
				t.Errorf("%q stands at %v in column %d of\n%s", mark, at, column, b.String())
			}
		}
	}
}

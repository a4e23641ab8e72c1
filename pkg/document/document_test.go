package document

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf8"
)

// wordsTable is a table of words with a column in which nothing is known and one
// that says the same in every row.
func wordsTable() *Table {
	t := TableOf(Titled, "Shifts | and <gears>", "run", "at", "basis", "cost")
	t.Add("a#1", "27.7 ±0.1", "measured", Unknown)
	t.Add("a#2", "27.9 ±0.1", "measured", Unknown)
	return t
}

func TestColumnsThatSayNothing(t *testing.T) {
	w := wordsTable().Shared(map[int]string{1: "Basis"}).WithoutEmpty()
	if len(w.Columns) != 1 || w.Columns[0].Name != "at" || w.Note != "Basis: measured." || len(w.Rows[1].Cells) != 1 {
		t.Errorf("%+v", w)
	}
}

func TestCutKeepsMarks(t *testing.T) {
	w := TableOf(Numbers, "", "", "a", "b")
	row := func(name string, cells ...Cell) { w.Rows = append(w.Rows, Row{Name: name, Unit: "s", Cells: cells}) }
	first, second := Number(1, 0.1), Number(2, 0.1)
	first.Notes, second.Notes = []int{w.Footnote("one")}, []int{w.Footnote("two")}
	row("x", first, None())
	row("y", None(), second)
	p := w.Pieces(1)
	if len(p) != 2 || len(p[1].Rows) != 1 || p[1].Rows[0].Name != "y" || p[1].Notes[0] != "" || p[1].Notes[1] != "two" {
		t.Errorf("%+v", p)
	}
	if got := Fragment(p[1]); !strings.Contains(got, "<sup>b</sup> two") || strings.Contains(got, "one") {
		t.Error(got)
	}
}

func TestTextStaysWithinTheTerminal(t *testing.T) {
	w := TableOf(Titled, "Wide", "run", "one", "two", "three", "four", "five")
	w.Add(strings.Repeat("n", 30), "1.234 ±0.056", "1.234 ±0.056", "1.234 ±0.056", "1.234 ±0.056", "1.234 ±0.056")
	w.Note = strings.Repeat("word ", 40)
	var b bytes.Buffer
	if err := Text(&b, Heading{Text: "Head"}, w, List{Items: []string{w.Note}, Layout: Layout{Indent: 2}}); err != nil {
		t.Fatal(err)
	}
	for _, line := range strings.Split(b.String(), "\n") {
		if utf8.RuneCountInString(line) > TextWidth || strings.HasSuffix(line, " ") {
			t.Errorf("%q", line)
		}
	}
	if strings.Count(b.String(), "1.234") != 5 {
		t.Errorf("a column was lost:\n%s", b.String())
	}
}

func TestEveryFormEscapes(t *testing.T) {
	evil := `<b>|*_` + "`"
	w := TableOf(Numbers, evil, evil, evil)
	w.Add(evil, evil)
	w.Footnote(evil)
	doc := []Block{Paragraph{Text: evil}, Paragraph{Text: evil, Kind: Warning}, List{Items: []string{evil}}, Terms{Items: []Term{{evil, evil}}}, w}
	if got := Fragment(doc...); strings.Contains(got, "<b>") {
		t.Errorf("HTML holds markup:\n%s", got)
	}
	var b bytes.Buffer
	if err := Markdown(&b, doc...); err != nil || strings.Contains(b.String(), "<b>") || strings.Contains(b.String(), " |*") {
		t.Errorf("Markdown holds markup:\n%s", b.String())
	}
}

// terminal is a writer that knows its width.
type terminal struct {
	strings.Builder
	columns int
}

func (t *terminal) Columns() int { return t.columns }

// Tables are as wide as the terminal, running text no wider than is read well, and nothing
// is narrower than without one.
func TestTextKnowsItsTerminal(t *testing.T) {
	table := TableOf(Numbers, "", strings.Split(" abcdefghijkl", "")...)
	row := Row{Name: "0-60 mph", Unit: "s"}
	for range table.Columns {
		row.Cells = append(row.Cells, Number(8.9408, 0.0951))
	}
	table.Rows = []Row{row}
	for columns, want := range map[int]int{0: TextWidth, 40: TextWidth, 200: 200} {
		w := &terminal{columns: columns}
		if err := Text(w, Paragraph{Text: strings.Repeat("words ", 60)}, table); err != nil {
			t.Fatal(err)
		}
		widest, prose := 0, 0
		for line := range strings.Lines(w.String()) {
			n := utf8.RuneCountInString(strings.TrimRight(line, "\n"))
			if widest = max(widest, n); strings.HasPrefix(line, "words") {
				prose = max(prose, n)
			}
		}
		if widest > want || widest < want*3/4 || prose > mostProse {
			t.Errorf("%d columns: %d wide, text %d", columns, widest, prose)
		}
	}
}

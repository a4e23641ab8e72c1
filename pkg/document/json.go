package document

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"math"
)

// TableSchema names the JSON that JSON writes.
const TableSchema = "fromrest.table/1"

type jsonTable struct {
	Schema  string       `json:"schema"`
	Title   string       `json:"title"`
	Columns []jsonColumn `json:"columns"`
	Rows    []jsonRow    `json:"rows"`
	Notes   []string     `json:"notes"`
	Maker   Maker        `json:"settings"`
}

type jsonColumn struct {
	Name    string `json:"name"`
	Of      string `json:"mode"`
	N       int    `json:"n"`
	Counted bool   `json:"counted"`
}

type jsonRow struct {
	Section string     `json:"section"`
	Name    string     `json:"name"`
	Unit    string     `json:"unit"`
	Cells   []jsonCell `json:"cells"`
}

type jsonCell struct {
	Value   *float64 `json:"value" jsonschema:"nullable"`
	U95     *float64 `json:"u95" jsonschema:"nullable"`
	Printed string   `json:"printed"`
	Half    string   `json:"printed_u95"`
	Notes   []int    `json:"notes"` // indices into notes
}

// JSON writes a table as JSON of schema TableSchema: full precision beside what is
// printed.
func JSON(w io.Writer, t *Table) error {
	j := jsonTable{Schema: TableSchema, Title: t.Title, Columns: []jsonColumn{}, Rows: []jsonRow{}, Notes: append([]string{}, t.Notes...), Maker: t.Maker}
	for _, c := range t.Columns {
		j.Columns = append(j.Columns, jsonColumn{c.Name, c.Of, c.N, !c.Struck})
	}
	for _, r := range t.Rows {
		x := jsonRow{Section: r.Section, Name: r.Name, Unit: r.Unit, Cells: []jsonCell{}}
		for _, c := range r.Cells {
			v, h := c.Printed()
			x.Cells = append(x.Cells, jsonCell{Micro(c.X), Micro(c.U95), v, h, append([]int{}, c.Notes...)})
		}
		j.Rows = append(j.Rows, x)
	}
	return WriteJSON(w, j)
}

// Micro is x to a millionth, nil where it is not finite.
func Micro(x float64) *float64 { return Finite(math.Round(x*1e6) / 1e6) }

// Finite is x, nil where it is not finite: NaN never reaches JSON.
func Finite(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}

// WriteJSON writes a value as indented JSON that is not meant for a page.
func WriteJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// WriteJSONList writes a value as WriteJSON does, with the elements of a long list, one by
// one, in its empty list of that name.
func WriteJSONList[T any](w io.Writer, v any, name string, elements iter.Seq[T]) error {
	var b bytes.Buffer
	if err := WriteJSON(&b, v); err != nil {
		return err
	}
	before, after, ok := bytes.Cut(b.Bytes(), fmt.Appendf(nil, "\n  %q: []", name))
	if !ok {
		return fmt.Errorf("no empty list %q in %T", name, v)
	}
	out := bufio.NewWriter(w)
	fmt.Fprintf(out, "%s\n  %q: [", before, name)
	var one bytes.Buffer
	enc := json.NewEncoder(&one)
	enc.SetEscapeHTML(false)
	enc.SetIndent("    ", "  ")
	end := ""
	for x := range elements {
		one.Reset()
		if err := enc.Encode(x); err != nil {
			return err
		}
		if end != "" {
			_ = out.WriteByte(',') // Flush gives the error
		}
		fmt.Fprintf(out, "\n    %s", bytes.TrimRight(one.Bytes(), "\n"))
		end = "\n  "
	}
	_, err := fmt.Fprintf(out, "%s]%s", end, after)
	return cmp.Or(err, out.Flush())
}

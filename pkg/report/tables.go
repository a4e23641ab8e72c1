package report

import (
	"encoding/csv"
	"fmt"
	"html"
	"io"
	"math"
	"strings"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
)

// ModeTable is the timing table of a writer: a mode is a column, a target a row,
// each cell the mean of the counted runs with the half-width of its 95 %
// interval, over both directions where both were driven. Footnotes say which
// mode was driven one way, which cells rest on fewer runs, and which runs were
// left out and why.
func ModeTable(res *session.Result) *Table {
	t := &Table{Title: "Timing table, means of modes"}
	var starts []*session.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.StandingStart {
			starts = append(starts, r)
		}
	}
	groups := session.Groups(starts)
	counted := make([]int, len(groups))
	for i, g := range groups {
		for _, r := range g.Runs {
			if r.Counted {
				counted[i]++
			}
		}
		t.Columns = append(t.Columns, Column{Name: g.Name, Mode: g.Name, N: counted[i]})
	}
	if len(groups) == 0 {
		return t
	}
	runs := Row{Section: SectionRun, Name: "runs"}
	for i := range groups {
		runs.Cells = append(runs.Cells, Cell{X: math.NaN(), U95: math.NaN(), Text: fmt.Sprint(counted[i])})
	}
	t.Rows = append(t.Rows, runs)
	names := targetNames(res.Settings.Targets, starts)
	for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
		section := SectionRest
		if from == timing.FromRollout {
			section = SectionRollout
		}
		for _, name := range names {
			t.addMeans(Row{Section: section, Name: name, Unit: "s"}, groups, counted, session.Means(groups, name, from))
		}
	}
	t.commonNotes(res, groups)
	return t
}

// addMeans adds a row of means, unless it is empty.
func (t *Table) addMeans(row Row, groups []session.Group, counted []int, means []session.Mean) {
	some := false
	for i, m := range means {
		if m.N == 0 {
			row.Cells = append(row.Cells, none())
			continue
		}
		some = true
		c := Cell{X: m.X, U95: m.U95}
		if m.N < counted[i] {
			c.Notes = append(c.Notes, t.note(fmt.Sprintf("Mean of %s of %d: the others did not reach the target, or the time is in doubt.", plural(m.N, "run"), counted[i])))
		}
		if m.OneWay {
			c.Notes = append(c.Notes, t.note("These runs of "+groups[i].Name+" went one way only: grade and wind are in the time."))
		}
		row.Cells = append(row.Cells, c)
	}
	if some {
		t.Rows = append(t.Rows, row)
	}
}

// commonNotes adds what holds for the whole table.
func (t *Table) commonNotes(res *session.Result, groups []session.Group) {
	t.note("± is half of the 95 % interval of the mean.")
	t.note("From rest: timed from the first motion. With rollout: timed from the instant 1 ft (0.3048 m) has been covered, distances measured from there.")
	for _, g := range groups {
		for _, r := range g.Runs {
			if !r.Counted {
				t.note(fmt.Sprintf("Not counted: %s (%s), %s.", r.ID, g.Name, reason(r)))
			}
		}
	}
}

// withNotes returns a table of runs with the notes that every printed table
// carries.
func withNotes(t *Table) *Table {
	t.note("± is half of the 95 % interval.")
	t.note("From rest: timed from the first motion. With rollout: timed from the instant 1 ft (0.3048 m) has been covered, distances measured from there.")
	return t
}

// RunTable is TimingTable with the notes a table needs that stands alone.
func RunTable(res *session.Result) *Table { return withNotes(TimingTable(res)) }

// TableCSV writes a table as CSV (RFC 4180): a line for each row, for each
// column its value and its half-width, and last the footnotes of the row. The
// notes that belong to no row are lines of their own at the end, of the same
// number of fields.
func TableCSV(w io.Writer, t *Table) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	head := []string{"section", "row", "unit"}
	for _, c := range t.Columns {
		head = append(head, c.Name, c.Name+" ± 95 %")
	}
	head = append(head, "notes")
	if err := out.Write(head); err != nil {
		return err
	}
	used := map[int]bool{}
	for _, r := range t.Rows {
		rec := []string{r.Section, r.Name, r.Unit}
		var notes []string
		for i, c := range r.Cells {
			v, h := c.Printed()
			rec = append(rec, v, h)
			for _, n := range c.Notes {
				used[n] = true
				notes = append(notes, t.Columns[i].Name+": "+t.Notes[n])
			}
		}
		if err := out.Write(append(rec, strings.Join(notes, "; "))); err != nil {
			return err
		}
	}
	for i, n := range t.Notes {
		if used[i] {
			continue
		}
		rec := make([]string, len(head))
		rec[0], rec[len(rec)-1] = "note", n
		if err := out.Write(rec); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

type jsonTable struct {
	Schema  string       `json:"schema"`
	Title   string       `json:"title"`
	Columns []jsonColumn `json:"columns"`
	Rows    []jsonRow    `json:"rows"`
	Notes   []string     `json:"notes"`
}

type jsonColumn struct {
	Name    string `json:"name"`
	Mode    string `json:"mode"`
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
	Value   *float64 `json:"value"`
	U95     *float64 `json:"u95"`
	Printed string   `json:"printed"`
	Half    string   `json:"printed_u95"`
	Notes   []int    `json:"notes"` // indices into notes
}

// TableJSON writes a table as JSON: full precision beside what is printed.
func TableJSON(w io.Writer, t *Table) error {
	j := jsonTable{Schema: "fromrest.table/1", Title: t.Title, Columns: []jsonColumn{}, Rows: []jsonRow{}, Notes: append([]string{}, t.Notes...)}
	for _, c := range t.Columns {
		j.Columns = append(j.Columns, jsonColumn{c.Name, c.Mode, c.N, !c.Struck})
	}
	for _, r := range t.Rows {
		x := jsonRow{Section: r.Section, Name: r.Name, Unit: r.Unit, Cells: []jsonCell{}}
		for _, c := range r.Cells {
			v, h := c.Printed()
			x.Cells = append(x.Cells, jsonCell{number(c.X), number(c.U95), v, h, append([]int{}, c.Notes...)})
		}
		j.Rows = append(j.Rows, x)
	}
	return writeJSON(w, j)
}

// TableHTML writes a table as an HTML fragment that pastes into a page or a
// document: no style of its own.
func TableHTML(w io.Writer, t *Table) error {
	var b strings.Builder
	e := html.EscapeString
	fmt.Fprintf(&b, "<table>\n<caption>%s</caption>\n<thead><tr><td></td>", e(t.Title))
	for _, c := range t.Columns {
		fmt.Fprintf(&b, "<th scope=\"col\">%s</th>", struckHTML(e(c.Name), c.Struck))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	section := SectionRun
	for _, r := range t.Rows {
		if r.Section != section {
			section = r.Section
			fmt.Fprintf(&b, "<tr><th scope=\"rowgroup\" colspan=\"%d\">%s</th></tr>\n", len(t.Columns)+1, e(section))
		}
		fmt.Fprintf(&b, "<tr><th scope=\"row\">%s</th>", e(r.Label()))
		for _, c := range r.Cells {
			v, h := c.Printed()
			if h != "" {
				v += " ± " + h
			}
			v = struckHTML(e(v), c.Struck)
			for _, n := range c.Notes {
				v += "<sup>" + strings.Trim(noteMark(n), "[]") + "</sup>"
			}
			fmt.Fprintf(&b, "<td>%s</td>", v)
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody>\n</table>\n")
	for i, n := range t.Notes {
		fmt.Fprintf(&b, "<p><sup>%s</sup> %s</p>\n", strings.Trim(noteMark(i), "[]"), e(n))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

func struckHTML(s string, struck bool) string {
	if !struck || s == "" {
		return s
	}
	return "<s>" + s + "</s>"
}

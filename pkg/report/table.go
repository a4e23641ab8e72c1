package report

import (
	"fmt"
	"math"
	"strings"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Cell is one place of a table: a number with its half-width, or words.
type Cell struct {
	X, U95 float64 // in the row's unit; X is NaN where there is no number
	Text   string  // words, where there is no number
	Notes  []int   // indices into Table.Notes
	Struck bool    // of an excluded run: shown, never counted
}

// Printed returns the number as it is shown: rounded by uncert.Format. Both are
// empty where there is no number; half is empty where the half-width is unknown.
func (c Cell) Printed() (value, half string) {
	if math.IsNaN(c.X) {
		return c.Text, ""
	}
	return uncert.Format(c.X, c.U95)
}

// Empty reports whether the cell holds nothing.
func (c Cell) Empty() bool { return math.IsNaN(c.X) && c.Text == "" }

// Row is one line of a table.
type Row struct {
	Section string // heading under which the row stands; rows of one section follow each other
	Name    string
	Unit    string // of X and U95: "s", "mph", "g"; "" for words
	Cells   []Cell // one for each column
}

// Label is the row's name with its unit, unless its section says the unit or it
// is seconds.
func (r Row) Label() string {
	if r.Unit == "" || r.Unit == "s" || strings.HasSuffix(r.Section, ", "+r.Unit) {
		return r.Name
	}
	return r.Name + ", " + r.Unit
}

// Column is one run of a timing table, or a mean of runs.
type Column struct {
	Name   string // run ID, or what the mean is of
	Mode   string
	Struck bool
	N      int // runs in a mean, 1 for a run
}

// Table is a table apart from its form, from which text, CSV, Markdown, HTML,
// spreadsheets and LaTeX are made.
type Table struct {
	Title   string
	Columns []Column
	Rows    []Row
	Notes   []string // footnotes, whole sentences or clauses
}

// note returns the index of a footnote, adding it if it is new.
func (t *Table) note(text string) int {
	for i, n := range t.Notes {
		if n == text {
			return i
		}
	}
	t.Notes = append(t.Notes, text)
	return len(t.Notes) - 1
}

// Sections of a timing table.
const (
	SectionRun     = "run"
	SectionRest    = "from rest"
	SectionRollout = "with rollout"
	SectionTrap    = "trap speed, with rollout"
	SectionPulls   = "speed to speed"
)

// TimingTable is the table of all runs: a run is a column, a target is a row,
// from rest and then with rollout, then trap speeds and pulls. Braking runs are
// not in it, see BrakingTable.
func TimingTable(res *session.Result) *Table {
	t := &Table{Title: "Timing table"}
	var runs []*session.TimedRun
	for _, r := range res.Runs {
		if r.Kind != segment.Braking {
			runs = append(runs, r)
			t.Columns = append(t.Columns, Column{Name: r.ID, Mode: r.Mode, Struck: !r.Counted, N: 1})
		}
	}
	t.addRunRows(res, runs)
	names := targetNames(res.Settings.Targets, runs)
	for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
		section := SectionRest
		if from == timing.FromRollout {
			section = SectionRollout
		}
		for _, name := range names {
			t.addRow(Row{Section: section, Name: name, Unit: "s"}, runs, func(r *session.TimedRun) Cell {
				return t.timeCell(r, name, from)
			})
		}
	}
	unitName, per := SpeedUnit(res.Settings.Units)
	for _, name := range names {
		t.addRow(Row{Section: SectionTrap + ", " + unitName, Name: name, Unit: unitName}, runs, func(r *session.TimedRun) Cell {
			tm, ok := r.Time(name, timing.FromRollout)
			if !ok || !(tm.TrapSpeed > 0) {
				return none()
			}
			return Cell{X: tm.TrapSpeed / per, U95: tm.TrapU95 / per}
		})
	}
	for _, name := range pullNames(res.Settings.Targets, runs) {
		t.addRow(Row{Section: SectionPulls, Name: name, Unit: "s"}, runs, func(r *session.TimedRun) Cell {
			for _, p := range r.Pulls {
				if p.Name == name {
					return Cell{X: p.Seconds, U95: p.U95, Notes: t.doubt(r, p.Doubt)}
				}
			}
			return none()
		})
	}
	return t
}

// addRunRows adds what is known of each run beside its times.
func (t *Table) addRunRows(res *session.Result, runs []*session.TimedRun) {
	words := func(f func(*session.TimedRun) string) func(*session.TimedRun) Cell {
		return func(r *session.TimedRun) Cell { return Cell{X: math.NaN(), Text: f(r)} }
	}
	t.addRow(Row{Section: SectionRun, Name: "mode"}, runs, words(func(r *session.TimedRun) string { return r.Mode }))
	t.addCounted(runs)
	if res.Settings.All {
		t.addRow(Row{Section: SectionRun, Name: "kind"}, runs, words(func(r *session.TimedRun) string { return string(r.Kind) }))
	}
	t.addRow(Row{Section: SectionRun, Name: "launch"}, runs, words(func(r *session.TimedRun) string {
		return r.Launch.UTC().Format("15:04:05.00")
	}))
	t.addRow(Row{Section: SectionRun, Name: "heading"}, runs, words(func(r *session.TimedRun) string { return heading(r.HeadingDeg) }))
	unitName, per := SpeedUnit(res.Settings.Units)
	t.addRow(Row{Section: SectionRun, Name: "top speed"}, runs, words(func(r *session.TimedRun) string {
		if !(r.MaxSpeed > 0) {
			return ""
		}
		return uncert.RoundHalfUp(r.MaxSpeed/per, 0) + " " + unitName
	}))
	t.addRow(Row{Section: SectionRun, Name: "peak", Unit: "g"}, runs, func(r *session.TimedRun) Cell {
		if !(r.PeakAccel > 0) {
			return none()
		}
		return Cell{X: r.PeakAccel / unit.GravityStandard, U95: r.PeakAccelU95 / unit.GravityStandard}
	})
	t.addRow(Row{Section: SectionRun, Name: "rollout", Unit: "s"}, runs, func(r *session.TimedRun) Cell {
		if !(r.Rollout > 0) {
			return none()
		}
		return Cell{X: r.Rollout, U95: r.RolloutU95}
	})
	t.addRow(Row{Section: SectionRun, Name: "flags"}, runs, words(flagCodes))
}

// addCounted adds which runs count, with the reasons, unless all do.
func (t *Table) addCounted(runs []*session.TimedRun) {
	all := true
	for _, r := range runs {
		all = all && r.Counted
	}
	if all {
		return
	}
	t.addRow(Row{Section: SectionRun, Name: "counted"}, runs, func(r *session.TimedRun) Cell {
		c := Cell{X: math.NaN(), Text: "yes"}
		if !r.Counted {
			c.Text = "no"
			c.Notes = []int{t.note(r.ID + " is not counted: " + reason(r))}
		}
		return c
	})
}

// reason is why a run is not counted.
func reason(r *session.TimedRun) string {
	if r.Excluded == "" {
		return "no reason was given"
	}
	return r.Excluded
}

// addRow adds a row, unless no run has anything in it.
func (t *Table) addRow(row Row, runs []*session.TimedRun, cell func(*session.TimedRun) Cell) {
	some := false
	for _, r := range runs {
		c := cell(r)
		c.Struck = !r.Counted
		some = some || !c.Empty()
		row.Cells = append(row.Cells, c)
	}
	if some {
		t.Rows = append(t.Rows, row)
	}
}

func (t *Table) timeCell(r *session.TimedRun, name string, from timing.Origin) Cell {
	tm, ok := r.Time(name, from)
	if !ok || math.IsNaN(tm.Seconds) {
		return none()
	}
	return Cell{X: tm.Seconds, U95: tm.U95, Notes: t.doubt(r, tm.Doubt)}
}

// doubt gives the footnote of a time that a flag of its run touches.
func (t *Table) doubt(r *session.TimedRun, code string) []int {
	if code == "" {
		return nil
	}
	text := fmt.Sprintf("%s: %s", r.ID, code)
	for _, f := range r.Flags {
		if f.Code == code {
			text = fmt.Sprintf("%s: %s", r.ID, f.Text)
		}
	}
	return []int{t.note(text)}
}

func none() Cell { return Cell{X: math.NaN(), U95: math.NaN()} }

func flagCodes(r *session.TimedRun) string {
	s := ""
	for i, f := range r.Flags {
		if i > 0 {
			s += " "
		}
		s += f.Code
	}
	return s
}

// targetNames is every target that some run was timed to, in table order.
func targetNames(order []string, runs []*session.TimedRun) []string {
	return inOrder(order, runs, func(r *session.TimedRun) []timing.Time { return r.Times })
}

func pullNames(order []string, runs []*session.TimedRun) []string {
	return inOrder(order, runs, func(r *session.TimedRun) []timing.Time { return r.Pulls })
}

func inOrder(order []string, runs []*session.TimedRun, times func(*session.TimedRun) []timing.Time) []string {
	have := map[string]bool{}
	var found []string
	for _, r := range runs {
		for _, t := range times(r) {
			if !have[t.Name] {
				have[t.Name] = true
				found = append(found, t.Name)
			}
		}
	}
	var out []string
	for _, n := range order {
		if have[n] {
			out = append(out, n)
			have[n] = false
		}
	}
	for _, n := range found {
		if have[n] {
			out = append(out, n)
		}
	}
	return out
}

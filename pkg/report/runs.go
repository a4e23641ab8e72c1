package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// RunsText writes the timing table for a terminal, with what was flagged and
// warned of beneath it.
func RunsText(w io.Writer, res *session.Result) error {
	doc := append([]document.Block{document.Lines(each(res.Logs, func(l *session.Log) string { return logLine(l, res.Runs) }))}, runTables(res)...)
	if t := summary(res); t != nil {
		doc = append(doc, document.Heading{Text: "In short, with rollout"}, t)
	}
	if len(res.Runs) == 0 && len(res.Logs) > 0 {
		doc = append(doc, noRun)
	}
	doc = append(doc, remarks(res, halfNote+". With rollout, time and distance count from the instant 1 ft (0.3048 m) has been covered. Trap speed is the mean over the last 66 ft.")...)
	return document.Text(w, append(doc, madeBy(&res.Settings))...)
}

// RunsMarkdown writes the timing table as Markdown with its footnotes, flags
// and warnings.
func RunsMarkdown(w io.Writer, res *session.Result) error {
	doc := runTables(res)
	if len(res.Runs) == 0 {
		doc = append(doc, noRun)
	}
	doc = append(doc, remarks(res, "Times in seconds; "+halfNote+". With rollout, time and distance count from the instant 1 ft (0.3048 m) has been covered.")...)
	return document.Markdown(w, append(doc, madeBy(&res.Settings))...)
}

var noRun = document.Paragraph{Text: "No run was found."}

// runTables are the tables of a result that have any runs.
func runTables(res *session.Result) []document.Block {
	var doc []document.Block
	if t := TimingTable(res); len(t.Columns) > 0 {
		doc = append(doc, t)
	}
	if t := BrakingTable(res); len(t.Columns) > 0 {
		doc = append(doc, document.Heading{Text: t.Title}, t)
	}
	if t := WitnessTable(res); t != nil {
		doc = append(doc, document.Heading{Text: t.Title}, t)
	}
	return append(doc, outsideBlocks(res)...)
}

// remarks are what stands beneath the tables: the flags of the runs, the warnings,
// and what the numbers are.
func remarks(res *session.Result, numbers string) []document.Block {
	var flags []string
	for _, r := range res.Runs {
		for _, f := range r.Flags {
			flags = append(flags, fmt.Sprintf("%s, %s: %s", r.ID, f.Code, f.Text))
		}
	}
	doc := append(headed("Flags", flags), headed("Warnings", res.Warnings)...)
	doc = append(doc, headed("Build-up of tractive force", each(res.Learned, learnedLine))...)
	if len(res.Runs) > 0 {
		doc = append(doc, document.Paragraph{Text: numbers})
	}
	return doc
}

// learnedLine says what launches taught each other.
func learnedLine(l session.Learned) string {
	from := "its one run"
	if len(l.Runs) > 1 {
		from = "its " + plural(len(l.Runs), "run") + " together"
	}
	return fmt.Sprintf("%s: %s s (%s to %s), from %s", session.Called(l.Mode), figures(l.Tau, 2), figures(l.Low, 2), figures(l.High, 2), from)
}

// headed is a list under a heading, nothing without items.
func headed(title string, items []string) []document.Block {
	return under(document.Heading{Text: title}, document.List{Items: items})
}

// under is a list under its heading, nothing without items.
func under(h document.Heading, l document.List) []document.Block {
	if len(l.Items) == 0 {
		return nil
	}
	return []document.Block{h, l}
}

// logLine is one log in one line: what it is and what was found in it.
func logLine(l *session.Log, runs []*session.TimedRun) string {
	n := map[segment.Kind]int{}
	for _, r := range runs {
		if r.Log == l {
			n[r.Kind]++
		}
	}
	s := fmt.Sprintf("%s: %s, %s Hz, %s", l.Path, strings.ToUpper(l.Format), trimZeros(l.Quality.Rate, 1), plural(n[segment.StandingStart], "standing start"))
	if n[segment.Rolling] > 0 {
		s += ", " + plural(n[segment.Rolling], "rolling acceleration")
	}
	if n[segment.Braking] > 0 {
		s += ", " + plural(n[segment.Braking], "braking")
	}
	if note := ClockNote(l); note != "" {
		s += " (" + note + ")"
	}
	return s
}

// summary is the few targets most asked for, a run a line, which is what stays on
// the screen at the end; nil where there are not several runs.
func summary(res *session.Result) *document.Table {
	targets := headlineTargets(res, nil)
	starts := only(res.StandingStarts(), func(r *session.TimedRun) bool {
		return slices.ContainsFunc(targets, func(name string) bool { return reached(r, name) })
	})
	if len(starts) < 2 {
		return nil
	}
	t := document.TableOf(document.Summary, "", append([]string{"", "mode", "head"}, targets...)...)
	for _, r := range starts {
		row := document.Row{Name: r.ID, Cells: []document.Cell{document.Words(r.Mode), document.Words(unit.Heading(r.HeadingDeg))}}
		if !r.Counted {
			row.Name += " (no)"
		}
		for _, name := range targets {
			c, doubt := timeCell(r, name, timing.FromRollout)
			if doubt != "" && r.Counted && c.Struck {
				c = document.Words("(no)")
			}
			row.Cells = append(row.Cells, c)
		}
		t.Rows = append(t.Rows, row)
	}
	return t.WithoutEmpty()
}

// RunsCSV writes, in a style, one line for each time of each run, rounded by
// uncert.Format, with the names that the data sets have. Speeds are in the unit of the
// settings; the JSON carries full precision.
func RunsCSV(style document.CSVStyle) func(io.Writer, *session.Result) error {
	return func(w io.Writer, res *session.Result) error { return style.Lines(w, runsLines(res)) }
}

func runsLines(res *session.Result) [][]string {
	unitName, per := SpeedUnit(res.Settings.Units)
	speed := strings.ReplaceAll(unitName, "/", "")
	lines := [][]string{{"log", "mode", "run", "kind", "launch_utc", "heading_deg", "counted", "excluded",
		"flags", "target", "from", "seconds", "u95_s", "trap_speed_" + speed, "trap_u95_" + speed,
		"end_speed_" + speed, "end_u95_" + speed, "doubt", "version", "model"}}
	for _, r := range res.Runs {
		head, log := "", ""
		if !math.IsNaN(r.HeadingDeg) {
			head = uncert.RoundHalfUp(r.HeadingDeg, 1)
		}
		if r.Log != nil {
			log = r.Log.Path
		}
		for _, t := range slices.Concat(r.Times, r.Pulls) {
			line := []string{log, r.Mode, r.ID, string(r.Kind), utc(r.Launch), head, strconv.FormatBool(r.Counted), r.Excluded, flagCodes(r), t.Name, string(t.From)}
			for _, x := range [][2]float64{{t.Seconds, t.U95}, {t.TrapSpeed / per, t.TrapU95 / per}, {t.EndSpeed / per, t.EndU95 / per}} {
				value, half := "", ""
				if x[0] > 0 && !math.IsInf(x[0], 0) { // a speed of zero is unknown too
					value, half = uncert.Format(x[0], x[1])
				}
				line = append(line, value, half)
			}
			lines = append(lines, append(line, cmp.Or(t.Doubt, t.Reason), res.Settings.Version, strconv.Itoa(res.Settings.Model)))
		}
	}
	return lines
}

// TableXLSX writes a table as a workbook: the table with its footnotes, and a
// sheet with every time of every run, one a line.
func TableXLSX(w io.Writer, t *document.Table, res *session.Result) error {
	return document.XLSX(w, document.Sheet{Name: "table", Table: t}, document.Sheet{Name: "times", Table: timesTable(res)})
}

// timesTable is every time of every run, one a line.
func timesTable(res *session.Result) *document.Table {
	unitName, per := SpeedUnit(res.Settings.Units)
	speed := strings.ReplaceAll(unitName, "/", "")
	t := document.TableOf(document.Records, "", "run", "mode", "heading_deg", "counted", "excluded", "target", "from", "seconds", "trap_speed_"+speed, "doubt")
	t.Columns[1].Whole = true
	t.Columns[6].Half, t.Columns[7].Half = "u95_s", "trap_u95_"+speed
	some := func(s string) document.Cell {
		if s == "" {
			return document.None()
		}
		return document.Words(s)
	}
	for _, r := range res.Runs {
		counted := "yes"
		if !r.Counted {
			counted = "no"
		}
		for _, x := range slices.Concat(r.Times, r.Pulls) {
			row := document.Row{Name: r.ID, Struck: !r.Counted, Cells: []document.Cell{some(r.Mode), document.Number(r.HeadingDeg, math.NaN()), document.Words(counted), some(r.Excluded),
				some(x.Name), some(string(x.From)), known(x.Seconds, x.U95), known(x.TrapSpeed/per, x.TrapU95/per), document.Words(cmp.Or(x.Doubt, x.Reason))}}
			for i := range row.Cells {
				row.Cells[i].Struck = row.Struck
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// NewRuns writes for a terminal the runs that a growing log has come to show, a line each
// with what was flagged, and how the modes stand by all runs so far; nothing without any.
func NewRuns(w io.Writer, res *session.Result, runs []*session.TimedRun) error {
	if len(runs) == 0 {
		return nil
	}
	var doc []document.Block
	for _, r := range runs {
		said := said(r.Mode, unit.Heading(r.HeadingDeg))
		for _, name := range headlineTargets(res, added(res)) {
			if t, ok := r.Time(name, timing.FromRollout); ok {
				said = append(said, name+" "+plusMinus(t.Seconds, t.U95)+" s")
			}
		}
		if !r.Counted {
			said = append(said, "does not count: "+reason(r))
		}
		doc = append(doc, document.Paragraph{Text: r.ID + ": " + strings.Join(said, ", "), Layout: document.Layout{Close: true, Hang: 2}})
		for _, f := range r.Flags {
			doc = append(doc, document.Paragraph{Text: f.Code + ": " + f.Text, Layout: document.Layout{Close: true, Indent: 2, Hang: 2}})
		}
	}
	if compared, err := res.Compare(CompareTargets(res), timing.FromRollout); err == nil { // not with one mode alone
		if a := AnswerOf(compared); a != nil {
			doc = append(doc, document.List{Items: a.Verdicts, Layout: document.Layout{Close: true, Indent: 2}})
			for _, n := range a.Notes {
				doc = append(doc, document.Paragraph{Text: n, Layout: document.Layout{Close: true, Indent: 2}})
			}
		}
	}
	return document.Text(w, doc...)
}

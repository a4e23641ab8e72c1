package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/analysis"
	"fromrest/pkg/figure"
	"fromrest/pkg/segment"
	"fromrest/pkg/timing"
	"fromrest/pkg/uncert"
)

//go:embed report.html.tmpl
var pageTemplate string

//go:embed report.css
var pageStyle string

var page = template.Must(template.New("report").Parse(pageTemplate))

// HTMLOptions are what a report can say beside the result. The zero value is
// usable.
type HTMLOptions struct {
	Title string // of the session; made from its date if empty
	// Facts are of the session: vehicle, place, conditions, in order.
	Facts []Item
	// Sections stand after the headline table.
	Sections []Section
	// Targets are added to the headline table.
	Targets []string
}

// Section is a part of the report made elsewhere.
type Section struct {
	ID    string // unique in the page, a letter first
	Title string
	Body  template.HTML
}

// pageData is what the template is filled with.
type pageData struct {
	Title            string
	Style            template.CSS
	Facts            []Item
	Lead             string
	Failed, Warnings []string
	Headline         *headline
	Sections         []Section
	Overlays         []overlayView
	Tables           []tableView
	Braking          []tableView
	Runs             []runView
	Logs             []logView
	Method, Cautions []string
	Settings         []Item
	Version          string
}

type overlayView struct {
	Caption      string
	Wide, Narrow template.HTML
}

type runView struct {
	ID, Caption string
	Struck      bool
	Excluded    string
	Flags       []segment.Flag
	Figures     []template.HTML
}

type logView struct {
	Path, Mode, SHA256 string
	Bytes              int64
	Items              []Item
	Expected           []ExpectedLine
	Problems, Advice   []string
}

// HTML writes the whole result as one self-contained page: no network, no
// scripts, figures inlined. File names and modes are escaped.
func HTML(w io.Writer, res *analysis.Result, o HTMLOptions) error {
	d := pageData{
		Title: o.Title, Style: template.CSS(figure.CSS() + pageStyle), Facts: o.Facts, Sections: o.Sections,
		Warnings: res.Warnings, Headline: newHeadline(res, o.Targets), Method: Method(res), Cautions: Cautions(),
		Version: res.Settings.Version, Settings: settingsItems(res),
	}
	if d.Title == "" {
		d.Title = sessionTitle(res)
	}
	d.Lead = lead(res)
	for _, f := range res.Failed {
		d.Failed = append(d.Failed, f.Path+": "+cause(f))
	}
	var err error
	if d.Overlays, err = overlays(res); err != nil {
		return err
	}
	d.Tables = tableViews(TimingTable(res))
	d.Braking = tableViews(BrakingTable(res))
	for i, r := range res.Runs {
		v, err := newRunView(r, i, res, o.Targets)
		if err != nil {
			return err
		}
		d.Runs = append(d.Runs, v)
	}
	for _, l := range res.Logs {
		d.Logs = append(d.Logs, logView{Path: l.Path, Mode: l.Mode, SHA256: l.SHA256, Bytes: l.Bytes,
			Items: QualityItems(l, res.Settings.Units), Expected: ExpectedLines(l), Problems: ProblemLines(l), Advice: l.Advice})
	}
	return page.Execute(w, &d)
}

// sessionTitle names a report by the date of its first log.
func sessionTitle(res *analysis.Result) string {
	for _, l := range res.Logs {
		if !l.Undated && l.Clock != "elapsed" && l.Start.Year() > 1980 {
			return "Standing starts, " + l.Start.UTC().Format("2 January 2006")
		}
	}
	return "Standing starts"
}

// lead is the report's first sentence.
func lead(res *analysis.Result) string {
	counted := 0
	for _, r := range res.Runs {
		if r.Counted {
			counted++
		}
	}
	s := fmt.Sprintf("%s in %s", plural(len(res.Runs), "run"), plural(len(res.Logs), "log"))
	if n := len(res.Runs) - counted; n > 0 {
		s += fmt.Sprintf(", %d of them not counted", n)
	}
	return s + "."
}

func settingsItems(res *analysis.Result) []Item {
	s := res.Settings
	unitName, _ := SpeedUnit(s.Units)
	items := []Item{{"speeds in", unitName}, {"rollout", trimZeros(s.Rollout, 4) + " m"},
		{"targets", strings.Join(s.Targets, ", ")}}
	if s.All {
		items = append(items, Item{"listed", "also short runs, rolling pulls and brakings"})
	}
	return append(items, Item{"made with", "fromrest " + s.Version})
}

func overlays(res *analysis.Result) ([]overlayView, error) {
	var starts []*analysis.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.StandingStart && r.Trace.Len() > 1 {
			starts = append(starts, r)
		}
	}
	if len(starts) < 2 {
		return nil, nil
	}
	var out []overlayView
	for _, by := range []figure.Against{figure.ByTime, figure.ByDistance} {
		v := overlayView{}
		for _, size := range []figure.Size{figure.Wide, figure.Narrow} {
			f, err := figure.Overlay(starts, by, figure.Options{Units: res.Settings.Units, Size: size})
			if err != nil {
				return nil, err
			}
			id, to := "overlay-"+string(by)+"-wide", &v.Wide
			if size == figure.Narrow {
				id, to = "overlay-"+string(by)+"-narrow", &v.Narrow
			}
			*to = template.HTML(f.InlineSVG(id))
			v.Caption = f.Title + "."
		}
		out = append(out, v)
	}
	return out, nil
}

func newRunView(r *analysis.TimedRun, i int, res *analysis.Result, targets []string) (runView, error) {
	v := runView{ID: r.ID, Struck: !r.Counted, Excluded: reason(r), Flags: r.Flags}
	parts := []string{}
	if r.Mode != "" {
		parts = append(parts, r.Mode)
	}
	if r.Kind != segment.StandingStart {
		parts = append(parts, strings.ReplaceAll(string(r.Kind), "-", " "))
	}
	launch := "launch " + Instant(r)
	if r.Log == nil || ClockNote(r.Log) == "" {
		launch += " UTC"
	}
	if r.LaunchSD > 0 {
		launch += " " + half(uncert.Z95*r.LaunchSD)
	}
	parts = append(parts, launch)
	if h := heading(r.HeadingDeg); h != "" {
		parts = append(parts, "heading "+h)
	}
	v.Caption = strings.Join(parts, ", ")
	o := figure.Options{Units: res.Settings.Units, Size: figure.Narrow, Targets: targets}
	if r.Trace.Len() < 2 || r.Kind == segment.Braking {
		return v, nil
	}
	speed, err := figure.SpeedTime(r, o)
	if err != nil {
		return v, err
	}
	accel, err := figure.AccelSpeed(r, o)
	if err != nil {
		return v, err
	}
	v.Figures = []template.HTML{
		template.HTML(speed.InlineSVG(fmt.Sprintf("run-%d-speed", i+1))),
		template.HTML(accel.InlineSVG(fmt.Sprintf("run-%d-acceleration", i+1))),
	}
	return v, nil
}

// tableView is a timing table cut to a width that fits a page, cells ready to
// print.
type tableView struct {
	Logs    []logSpan
	Columns []runHead
	Rows    []rowView
	Notes   []noteView
}

// logSpan is the name of a log above its runs' columns.
type logSpan struct {
	Name string
	Span int
}

// runHead is a run's number above its column.
type runHead struct {
	Number string
	Struck bool
}

type rowView struct {
	Section, Name string // Section only on the first row of one
	Words         bool
	Cells         []cellView
}

type cellView struct {
	Pad, Value, Half string // padded with figure spaces to align on the point
	Notes            []string
	Struck           bool
}

type noteView struct{ Mark, Text string }

// tableColumns is how many runs stand side by side in the report.
const tableColumns = 6

func tableViews(t *Table) []tableView {
	var out []tableView
	for from := 0; from < len(t.Columns); from += tableColumns {
		to := min(from+tableColumns, len(t.Columns))
		v := tableView{}
		for _, c := range t.Columns[from:to] {
			log, number := splitID(c.Name)
			if n := len(v.Logs); n > 0 && v.Logs[n-1].Name == log {
				v.Logs[n-1].Span++
			} else {
				v.Logs = append(v.Logs, logSpan{log, 1})
			}
			v.Columns = append(v.Columns, runHead{number, c.Struck})
		}
		section := SectionRun
		used := map[int]bool{}
		for _, r := range t.Rows {
			row := rowView{Name: r.Label(), Words: r.Unit == ""}
			for _, c := range r.Cells[from:to] {
				cv := cellView{Struck: c.Struck}
				cv.Value, cv.Half = c.Printed()
				for _, n := range c.Notes {
					cv.Notes = append(cv.Notes, strings.Trim(noteMark(n), "[]"))
					used[n] = true
				}
				row.Cells = append(row.Cells, cv)
			}
			if emptyCells(row.Cells) {
				continue
			}
			if r.Section != section {
				section = r.Section
				row.Section = section
			}
			v.Rows = append(v.Rows, row)
		}
		alignRows(v.Rows, to-from)
		for i, n := range t.Notes {
			if used[i] {
				v.Notes = append(v.Notes, noteView{strings.Trim(noteMark(i), "[]"), n})
			}
		}
		out = append(out, v)
	}
	return out
}

func emptyCells(cells []cellView) bool {
	for _, c := range cells {
		if c.Value != "" {
			return false
		}
	}
	return true
}

// alignRows pads the numbers of each column with figure spaces, so that their
// points stand beneath each other in digits of one width.
func alignRows(rows []rowView, columns int) {
	for col := range columns {
		var at []*cellView
		for i := range rows {
			if !rows[i].Words && rows[i].Cells[col].Value != "" {
				at = append(at, &rows[i].Cells[col])
			}
		}
		alignPoint(at)
	}
}

const figureSpace = "\u2007"

func alignPoint(cells []*cellView) {
	whole, frac, half := 0, 0, 0
	for _, c := range cells {
		a, b, _ := strings.Cut(c.Value, ".")
		whole, frac, half = max(whole, len(a)), max(frac, len(b)), max(half, utf8.RuneCountInString(c.Half))
	}
	for _, c := range cells {
		a, b, dot := strings.Cut(c.Value, ".")
		c.Pad = strings.Repeat(figureSpace, whole-len(a))
		if frac > 0 && !dot {
			c.Value += "\u2008" // as wide as a point
		}
		c.Value += strings.Repeat(figureSpace, frac-len(b))
		if c.Half != "" {
			c.Half += strings.Repeat(figureSpace, half-utf8.RuneCountInString(c.Half))
		}
	}
}

// headlineTargets are the targets of the headline table that some run reached.
func headlineTargets(res *analysis.Result, more []string) []string {
	want := []string{"0-30 mph", "0-60 mph", "1/4 mile"}
	if res.Settings.Units == "kmh" {
		want = []string{"60 ft", "0-100 km/h", "1/4 mile"}
	}
	var out []string
	for _, name := range append(want, more...) {
		for _, r := range res.Runs {
			if _, ok := r.Time(name, timing.FromRollout); ok {
				out = append(out, name)
				break
			}
		}
	}
	return out
}

// headline is the table at the top: each group's runs and their mean.
type headline struct {
	Targets []string
	Groups  []headlineGroup
}

type headlineGroup struct {
	Name string
	Rows []headlineRow
}

type headlineRow struct {
	Name, Note string
	Mean       bool
	Struck     bool
	Cells      []headlineCell
}

type headlineCell struct{ Rollout, Rest cellView }

func newHeadline(res *analysis.Result, more []string) *headline {
	h := &headline{Targets: headlineTargets(res, more)}
	if len(h.Targets) == 0 {
		return nil
	}
	var starts []*analysis.TimedRun
	for _, r := range res.Runs {
		if r.Kind == segment.StandingStart {
			starts = append(starts, r)
		}
	}
	groups := Groups(starts)
	var all []means
	for _, t := range h.Targets {
		all = append(all, means{Means(groups, t, timing.FromRollout), Means(groups, t, timing.FromRest)})
	}
	for i, g := range groups {
		hg := headlineGroup{Name: g.Name}
		for _, r := range g.Runs {
			row := headlineRow{Name: r.ID, Note: heading(r.HeadingDeg), Struck: !r.Counted}
			if !r.Counted {
				row.Note = reason(r)
			}
			for _, t := range h.Targets {
				row.Cells = append(row.Cells, headlineCell{
					timeView(r, t, timing.FromRollout), timeView(r, t, timing.FromRest)})
			}
			hg.Rows = append(hg.Rows, row)
		}
		if row, ok := meanRow(i, all); ok {
			hg.Rows = append(hg.Rows, row)
		}
		h.Groups = append(h.Groups, hg)
	}
	h.align()
	return h
}

func timeView(r *analysis.TimedRun, target string, from timing.Origin) cellView {
	t, ok := r.Time(target, from)
	if !ok || math.IsNaN(t.Seconds) {
		return cellView{}
	}
	v, h := Cell{X: t.Seconds, U95: t.U95}.Printed()
	return cellView{Value: v, Half: h, Struck: !r.Counted}
}

// means are, for each target, the means of all groups from both origins.
type means struct{ rollout, rest []Mean }

// meanRow is the mean of a group's counted runs, if there are two or more.
func meanRow(group int, all []means) (headlineRow, bool) {
	row := headlineRow{Name: "mean", Mean: true}
	var first Mean
	for _, m := range all {
		var c headlineCell
		for _, v := range []struct {
			m  Mean
			to *cellView
		}{{m.rollout[group], &c.Rollout}, {m.rest[group], &c.Rest}} {
			if v.m.N < 2 {
				continue
			}
			v.to.Value, v.to.Half = Cell{X: v.m.X, U95: v.m.U95}.Printed()
			if first.N == 0 {
				first = v.m
			}
			if v.m.N != first.N {
				v.to.Notes = []string{fmt.Sprintf("n = %d", v.m.N)}
			}
		}
		row.Cells = append(row.Cells, c)
	}
	row.Note = fmt.Sprintf("n = %d", first.N)
	switch {
	case first.TwoWay:
		row.Name = "two-way mean"
	case first.OneWay:
		row.Note += ", one way only"
	}
	return row, first.N > 1
}

// align lines each target's numbers up on their points.
func (h *headline) align() {
	for i := range h.Targets {
		var roll, rest []*cellView
		for g := range h.Groups {
			for r := range h.Groups[g].Rows {
				c := &h.Groups[g].Rows[r].Cells[i]
				if c.Rollout.Value != "" {
					roll = append(roll, &c.Rollout)
				}
				if c.Rest.Value != "" {
					rest = append(rest, &c.Rest)
				}
			}
		}
		alignPoint(roll)
		alignPoint(rest)
	}
}

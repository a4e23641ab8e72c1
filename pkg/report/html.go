package report

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"fromrest/pkg/figure"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
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
	NoFigures        string // why single runs are not drawn
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
func HTML(w io.Writer, res *session.Result, o HTMLOptions) error {
	d := pageData{
		Title: o.Title, Style: template.CSS(figure.CSS() + pageStyle), Facts: o.Facts, Sections: o.Sections,
		Warnings: res.Warnings, Headline: newHeadline(res, o.Targets), Method: Method(res), Cautions: Cautions(),
		Version: res.Settings.Version, Settings: settingsItems(res),
	}
	d.Facts = append(d.Facts[:len(d.Facts):len(d.Facts)], SheetFacts(res.Sheet)...)
	if d.Title == "" && res.Sheet != nil {
		d.Title = res.Sheet.Title
	}
	if d.Title == "" {
		d.Title = sessionTitle(res)
	}
	d.Lead = lead(res)
	for _, f := range res.Failed {
		d.Failed = append(d.Failed, f.Path+": "+cause(f))
	}
	sec, some, err := compared(res, o.Targets)
	if err != nil {
		return err
	}
	if some {
		d.Sections = append([]Section{sec}, o.Sections...)
	}
	draw := len(res.Runs) <= mostFigures
	if !draw {
		d.NoFigures = fmt.Sprintf("With %d runs their traces are not drawn here: a page of so many figures opens in no browser. fromrest overlay draws those that matter, chosen with --only.", len(res.Runs))
	} else if d.Overlays, err = overlays(res); err != nil {
		return err
	}
	d.Tables = tableViews(TimingTable(res))
	d.Braking = tableViews(BrakingTable(res))
	for i, r := range res.Runs {
		v, err := newRunView(r, i, res, o.Targets, draw)
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

// mostFigures is up to how many runs are drawn: each takes about 0.1 MB.
const mostFigures = 300

// sessionTitle names a report by the date of its first log.
func sessionTitle(res *session.Result) string {
	for _, l := range res.Logs {
		if !l.Undated && l.Clock != "elapsed" && l.Start.Year() > 1980 {
			return "Standing starts, " + l.Start.UTC().Format("2 January 2006")
		}
	}
	return "Standing starts"
}

// lead is the report's first sentence.
func lead(res *session.Result) string {
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

func settingsItems(res *session.Result) []Item {
	s := res.Settings
	unitName, _ := SpeedUnit(s.Units)
	items := []Item{{"speeds in", unitName}, {"rollout", trimZeros(s.Rollout, 4) + " m"},
		{"targets", strings.Join(s.Targets, ", ")}}
	if s.All {
		items = append(items, Item{"listed", "also short runs, rolling pulls and brakings"})
	}
	return append(items, Item{"made with", "fromrest " + s.Version})
}

func overlays(res *session.Result) ([]overlayView, error) {
	var starts []*session.TimedRun
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

func newRunView(r *session.TimedRun, i int, res *session.Result, targets []string, draw bool) (runView, error) {
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
	if !draw || r.Trace.Len() < 2 || r.Kind == segment.Braking {
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

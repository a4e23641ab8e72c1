package report

import (
	"cmp"
	"context"
	_ "embed"
	"fmt"
	"html"
	"html/template"
	"io"
	"path/filepath"
	"strings"
	"time"

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

//go:embed report.html.tmpl
var pageTemplate string

//go:embed report.css
var pageStyle string

// pages holds the template "report" of a session's page and "section" of a page
// with one section alone.
var pages = template.Must(template.New("").Parse(pageTemplate))

// Section is a part of the report made elsewhere.
type Section struct {
	ID    string // unique in the page, a letter first
	Title string
	Body  template.HTML
	// Columns sets it in two columns where it is printed.
	Columns bool
}

// section makes a section of blocks.
func section(id, title string, doc ...document.Block) Section {
	return Section{ID: id, Title: title, Body: fragment(doc...)}
}

// fragment is a piece of a page; names in it are escaped.
func fragment(doc ...document.Block) template.HTML {
	return template.HTML(document.Fragment(doc...))
}

// pageHead is what every page begins with.
type pageHead struct {
	Title, Lead string
	Style       template.CSS
	Facts       []document.Term
}

func newPageHead(title, lead string) pageHead {
	return pageHead{Title: title, Lead: lead, Style: template.CSS(figure.CSS() + pageStyle)}
}

// sectionPage writes one section as a page of its own; by is what made it.
func sectionPage(w io.Writer, title, lead string, s Section, by string) error {
	return pages.ExecuteTemplate(w, "section", struct {
		pageHead
		Section Section
		MadeBy  string
	}{newPageHead(title, lead), s, by})
}

// pageData is what the template is filled with.
type pageData struct {
	pageHead
	Failed, Warnings []string
	Verdict          *Section // nil where nothing is compared
	Headline         template.HTML
	Sections         []Section
	Overlays         []template.HTML
	NoFigures        string // why single runs are not drawn
	Tables, Braking  []template.HTML
	Runs             []runView
	Logs             []logView
	Method, Cautions []string
	Settings         []document.Term
}

type runView struct {
	ID, Caption string
	Struck      bool
	Excluded    string
	Flags       []segment.Flag
	Figures     []template.HTML
}

type logView struct {
	*session.Log
	File             string // the last element of its path
	Items            []document.Term
	Problems, Advice []string
}

// HTML writes the whole result as one self-contained page: no network, no
// scripts, figures inlined. File names and modes are escaped. The title is that of the
// sheet or made of the date where none is given.
func HTML(ctx context.Context, w io.Writer, res *session.Result, title string) error {
	if title == "" && res.Sheet != nil {
		title = res.Sheet.Title
	}
	if len(res.Logs) <= JudgedMost {
		res.Judge()
	}
	targets := added(res)
	d := pageData{
		pageHead: newPageHead(cmp.Or(title, sessionTitle(res)), lead(res)), Warnings: res.Warnings,
		Method: Method(res), Cautions: Cautions(), Settings: settingsItems(res),
		Failed: each(res.Failed, func(f *session.InputError) string { return filepath.Base(f.Path) + ": " + cause(f) }),
		Logs: each(res.Logs, func(l *session.Log) logView {
			v := logView{l, filepath.Base(l.Path), QualityItems(l, res.Settings.Units), problemLines(l), nil}
			if len(res.Logs) <= JudgedMost {
				v.Advice = worth(l).Advice
			}
			return v
		}),
		Tables: pieces(TimingTable(res)), Braking: pieces(BrakingTable(res)),
	}
	d.Facts = sheetFacts(res.Sheet)
	if t := headlineTable(res, targets); t != nil {
		d.Headline = fragment(t)
	}
	verdict, compared, err := comparedSections(res, targets)
	if err != nil {
		return err
	}
	d.Verdict = verdict
	explained, err := explainedSections(ctx, res)
	if err != nil {
		return err
	}
	if compared != nil {
		d.Sections = append(d.Sections, *compared)
	}
	d.Sections = append(d.Sections, explained...)
	for i := range d.Sections {
		d.Sections[i].Columns = true
	}
	if t := WitnessTable(res); t != nil {
		s := Section{ID: "witnesses", Title: t.Title}
		for _, p := range pieces(t) {
			s.Body += p
		}
		d.Sections = append(d.Sections, s)
	}
	draw := len(res.Runs) <= mostFigures
	if !draw {
		d.NoFigures = fmt.Sprintf("With %d runs their traces are not drawn here: a page of so many figures opens in no browser. fromrest overlay draws those that matter, chosen with --only.", len(res.Runs))
	} else if d.Overlays, err = overlays(res); err != nil {
		return err
	}
	for i, r := range res.Runs {
		v, err := newRunView(r, i, res, targets, draw)
		if err != nil {
			return err
		}
		d.Runs = append(d.Runs, v)
	}
	return pages.ExecuteTemplate(w, "report", &d)
}

// tableColumns is how many runs stand side by side in the report.
const tableColumns = 7

// pieces are a table of runs in pieces that fit a page.
func pieces(t *document.Table) []template.HTML {
	t.Look = document.Page
	return each(t.Pieces(tableColumns), func(p *document.Table) template.HTML { return fragment(p) })
}

// twoWidths draws a figure for a page: one for wide and one for slim windows, of
// which the style shows one, with its title as a caption where that is wanted.
func twoWidths(wide, slim string, captioned bool, o figure.Options, draw func(figure.Options) (*figure.Figure, error)) (document.Markup, error) {
	s := "<figure>"
	for _, v := range []struct {
		class, id string
		size      figure.Size
	}{{"wide", wide, figure.Wide}, {"slim", slim, figure.Narrow}} {
		o.Size = v.size
		f, err := draw(o)
		if err != nil {
			return "", err
		}
		s += fmt.Sprintf("<div class=%q>%s</div>", v.class, f.InlineSVG(v.id))
		if captioned && v.class == "slim" {
			s += "<figcaption>" + html.EscapeString(f.Title+".") + "</figcaption>"
		}
	}
	return document.Markup(s + "</figure>\n"), nil
}

// mostFigures is up to how many runs are drawn: each takes about 0.1 MB.
const mostFigures = 300

// JudgedMost is up to how many logs a report judges each: what one log would be
// worth is of no interest in a season's, and costs more than all else.
const JudgedMost = 60

// worth is what times from a log are worth, nothing where nobody knows.
func worth(l *session.Log) session.Judgement {
	if l.Worth == nil {
		return session.Judgement{}
	}
	return l.Worth()
}

// sessionTitle names a report by the date of its first log.
func sessionTitle(res *session.Result) string {
	for _, l := range res.Logs {
		if dated(l) && l.Start.Year() > 1980 {
			return "Standing starts, " + l.Start.UTC().Format("2 January 2006")
		}
	}
	return "Standing starts"
}

// lead is the report's first sentence.
func lead(res *session.Result) string {
	s := fmt.Sprintf("%s in %s", plural(len(res.Runs), "run"), plural(len(res.Logs), "log"))
	if n := len(only(res.Runs, notCounted)); n > 0 {
		s += fmt.Sprintf(", %d of them not counted", n)
	}
	return s + "."
}

// settingsItems are the settings that a result was made with.
func settingsItems(res *session.Result) []document.Term {
	s := res.Settings
	unitName, _ := SpeedUnit(s.Units)
	length, perLength := DistanceUnit(s.Units)
	listed := document.Term{Name: "listed"}
	if s.All {
		listed.Text = "also short runs, rolling pulls and brakings"
	}
	items := []document.Term{{Name: "speeds in", Text: unitName}, {Name: "rollout", Text: trimZeros(s.Rollout/perLength, 4) + " " + length},
		{Name: "targets", Text: strings.Join(s.Targets, ", ")}}
	return append(append(items, filled(listed)...), document.Term{Name: "made with", Text: s.MadeBy()})
}

// overlays are all runs in one figure, against time and against distance.
func overlays(res *session.Result) ([]template.HTML, error) {
	starts := only(res.StandingStarts(), func(r *session.TimedRun) bool { return r.Trace.Len() > 1 })
	if len(starts) < 2 {
		return nil, nil
	}
	var out []template.HTML
	for _, by := range []figure.Against{figure.ByTime, figure.ByDistance} {
		id := "overlay-" + string(by)
		f, err := twoWidths(id+"-wide", id+"-narrow", true, figure.OptionsFor(res), func(o figure.Options) (*figure.Figure, error) {
			return figure.Overlay(starts, figure.OfSpeed, by, o)
		})
		if err != nil {
			return nil, err
		}
		out = append(out, template.HTML(f))
	}
	return out, nil
}

// newRunView is what a page says of one run.
func newRunView(r *session.TimedRun, i int, res *session.Result, targets []string, draw bool) (runView, error) {
	v := runView{ID: r.ID, Struck: !r.Counted, Excluded: reason(r), Flags: r.Flags}
	kind, launch, head := "", "launch "+Instant(r), heading(r.HeadingDeg)
	if r.Kind != segment.StandingStart {
		kind = strings.ReplaceAll(string(r.Kind), "-", " ")
	}
	if r.Log == nil || dated(r.Log) {
		launch += " UTC"
	}
	if r.LaunchSD > 0 {
		launch += " " + half(uncert.Z95*r.LaunchSD)
	}
	if head != "" {
		head = "heading " + head
	}
	v.Caption = strings.Join(said(r.Mode, kind, launch, head), ", ")
	if !draw || r.Trace.Len() < 2 || r.Kind == segment.Braking {
		return v, nil
	}
	o := figure.OptionsFor(res)
	o.Size, o.Targets = figure.Narrow, targets
	for _, d := range []struct {
		id   string
		draw func(*session.TimedRun, figure.Options) (*figure.Figure, error)
	}{{"speed", figure.SpeedTime}, {"acceleration", figure.AccelSpeed}} {
		f, err := d.draw(r, o)
		if err != nil {
			return v, err
		}
		v.Figures = append(v.Figures, template.HTML(f.InlineSVG(fmt.Sprintf("run-%d-%s", i+1, d.id))))
	}
	return v, nil
}

// sheetFacts is what a session sheet says of the session, for the head of a
// report: only what was given.
func sheetFacts(sh *sheet.Sheet) []document.Term {
	if sh == nil {
		return nil
	}
	c, date, mass := &sh.Conditions, "", ""
	if !sh.Date.IsZero() {
		date = sh.Date.Format(time.DateOnly)
	}
	if sh.Vehicle.Mass > 0 {
		mass = trimZeros(sh.Vehicle.Mass, 0) + " kg as tested"
	}
	out := []document.Term{{Name: "date", Text: date}, {Name: "place", Text: sh.Place}, {Name: "vehicle", Text: sh.Vehicle.Name}, {Name: "mass", Text: mass}}
	for _, t := range conditionTerms(c) {
		switch {
		case t.Name == "wind" && c.Gust != nil:
			t.Text += ", gusts " + trimZeros(*c.Gust, 1) + " m/s"
		case t.Name == "grade" && c.GradeHeading != nil:
			t.Text += " rising towards " + heading(*c.GradeHeading)
		}
		out = append(out, t)
	}
	for _, m := range sh.Modes {
		out = append(out, document.Term{Name: "mode " + m.Name, Text: m.Description})
	}
	return filled(append(out, document.Term{Name: "notes", Text: sh.Notes})...)
}

// conditionTerms are the surface, the air, the wind and the grade that a sheet
// gives, of each only what was given.
func conditionTerms(c *sheet.Conditions) []document.Term {
	out := filled(document.Term{Name: "surface", Text: c.Surface})
	plain, percent := func(x float64) float64 { return x }, func(x float64) float64 { return 100 * x }
	for _, q := range []struct {
		name   string
		x      *float64
		in     func(float64) float64 // the unit that is shown
		places int
		unit   string
	}{
		{"temperature", c.Temperature, func(x float64) float64 { return x - unit.ZeroCelsius }, 1, "°C"},
		{"air pressure", c.Pressure, func(x float64) float64 { return x / 100 }, 1, "hPa"},
		{"humidity", c.Humidity, percent, 0, "%"}, {"wind", c.Wind, plain, 1, "m/s"}, {"grade", c.Grade, percent, 2, "%"},
	} {
		if q.x == nil {
			continue
		}
		text := trimZeros(q.in(*q.x), q.places) + " " + q.unit
		if q.name == "wind" && c.WindFrom != nil {
			text += " from " + heading(*c.WindFrom)
		}
		out = append(out, document.Term{Name: q.name, Text: text})
	}
	return out
}

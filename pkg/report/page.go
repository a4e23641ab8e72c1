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

	"fromrest/pkg/document"
	"fromrest/pkg/figure"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

//go:embed report.html.tmpl
var pageTemplate string

//go:embed report.css
var pageStyle string

// pages holds the template "report" of a session's page and "section" of a page
// with one section alone.
var pages = template.Must(template.New("").Funcs(template.FuncMap{"printed": unit.Printed}).Parse(pageTemplate))

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
	Front            frontPage
	Each             template.HTML // every run at the targets, in a short report
	Sections         []Section
	NoFigures        string // why single runs are not drawn
	Tables, Braking  []template.HTML
	Runs             []runView
	Logs             []logView
	Shared           []document.Term // what is true of every log
	Files            template.HTML   // the logs in a table, in place of Logs
	Methods          string
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

// Extent is how much of a session its report holds.
type Extent int

// Extents of a report.
const (
	Usual Extent = iota // what the session found, run by run, and how
	Short               // the answer, why in brief, and how it was measured
	Full                // besides the usual, all of the explanation and of what is known of each log
)

// Paper is how a report is wanted. The zero value is the usual one under the sheet's title.
type Paper struct {
	Title  string // that of the sheet, or made of the date, if empty
	Extent Extent
	// Quickest has the first page mark the quickest mode where the comparison tells it.
	Quickest bool
}

// HTML writes a result as one self-contained page: no network, no scripts, figures
// inlined. File names and modes are escaped.
func HTML(ctx context.Context, w io.Writer, res *session.Result, want Paper) error {
	title := want.Title
	if title == "" && res.Sheet != nil {
		title = res.Sheet.Title
	}
	if want.Extent == Full && len(res.Logs) <= JudgedMost {
		res.Judge()
	}
	targets := added(res)
	d := pageData{
		pageHead: newPageHead(cmp.Or(title, TitleOf(res)), headLine(res)), Warnings: res.Warnings,
		Cautions: Cautions(), Settings: settingsItems(res),
		Failed: each(res.Failed, func(f *session.InputError) string { return filepath.Base(f.Path) + ": " + f.Cause() }),
	}
	if err := d.answer(ctx, res, targets, want); err != nil {
		return err
	}
	if want.Extent == Short {
		if t := headlineTable(res, targets); t != nil {
			d.Each = fragment(t)
		}
		d.Files, d.Method = fragment(filesTable(res)), sourceNotes(res)
		return pages.ExecuteTemplate(w, "report", &d)
	}
	d.Tables, d.Braking, d.Method = pieces(TimingTable(res)), pieces(BrakingTable(res)), sourceNotes(res)
	if want.Extent == Full {
		d.Method = Method(res)
	}
	d.logs(res, want.Extent)
	if err := d.runs(res, targets); err != nil {
		return err
	}
	return pages.ExecuteTemplate(w, "report", &d)
}

// answer fills in what the session found: the first page, and what lies behind.
func (d *pageData) answer(ctx context.Context, res *session.Result, targets []string, want Paper) (err error) {
	compared, _ := res.Compare(headlineTargets(res, targets), timing.FromRollout, timing.FromRest) // not with one mode alone
	if d.Front, err = newFrontPage(res, FrontOf(res, compared), want.Quickest); err != nil {
		return err
	}
	if compared != nil && len(compared.Targets) > 0 && want.Extent != Short {
		s, err := CompareSection(res, compared)
		if err != nil {
			return err
		}
		d.Sections = append(d.Sections, s)
	}
	d.Methods = Methods(res, compared)
	if why, err := explainedSection(ctx, res, want.Extent); err != nil {
		return err
	} else if why != nil {
		d.Sections = append(d.Sections, *why)
	}
	if t := WitnessTable(res); t != nil {
		s := Section{ID: "witnesses", Title: t.Title}
		for _, p := range pieces(t) {
			s.Body += p
		}
		d.Sections = append(d.Sections, s)
	}
	if doc := outsideBlocks(res); doc != nil {
		d.Sections = append(d.Sections, section("outside", "Outside times", doc[1:]...))
	}
	if len(res.Runs) > mostFigures {
		d.NoFigures = fmt.Sprintf("With %d runs their traces are not drawn here: a page of so many figures opens in no browser. fromrest overlay draws those that matter, chosen with --only.", len(res.Runs))
	}
	return nil
}

// runs fills in each run with its figures.
func (d *pageData) runs(res *session.Result, targets []string) error {
	for i, r := range res.Runs {
		v, err := newRunView(r, i, res, targets, d.NoFigures == "")
		if err != nil {
			return err
		}
		d.Runs = append(d.Runs, v)
	}
	return nil
}

// tableColumns is how many runs stand side by side in the report.
const tableColumns = 7

// pieces are a table of runs in pieces that fit a page.
func pieces(t *document.Table) []template.HTML {
	t.Look = document.Page
	return each(t.Pieces(tableColumns), func(p *document.Table) template.HTML { return fragment(p) })
}

// firstPageHigh is how high the main figure is at the width of a page, so that all of the
// first sheet has room on A4 and on Letter.
const firstPageHigh = 255

// twoWidths draws a figure for a page: one for wide and one for slim windows, of
// which the style shows one, with its title and its note as a caption.
func twoWidths(wide, slim string, o figure.Options, draw func(figure.Options) (*figure.Figure, error)) (document.Markup, error) {
	s, caption := "<figure>", ""
	for _, v := range []struct {
		class, id string
		size      figure.Size
	}{{"wide", wide, figure.Size{W: figure.Wide.W, H: firstPageHigh}}, {"slim", slim, figure.Narrow}} {
		o.Size = v.size
		f, err := draw(o)
		if err != nil {
			return "", err
		}
		s += fmt.Sprintf("<div class=%q>%s</div>", v.class, f.InlineSVG(v.id))
		caption = strings.Join(said(f.Title+".", f.Note), " ")
	}
	return document.Markup(s + "<figcaption>" + html.EscapeString(caption) + "</figcaption></figure>\n"), nil
}

// card draws a figure for a card of a page, at the one width that cards have.
func card(id string, o figure.Options, draw func(figure.Options) (*figure.Figure, error)) (document.Markup, error) {
	o.Size = figure.Narrow
	f, err := draw(o)
	if err != nil {
		return "", err
	}
	return document.Markup(fmt.Sprintf("<figure>%s</figure>\n", f.InlineSVG(id))), nil
}

// cards are parts that stand side by side where there is room.
func cards(all ...[]document.Block) []document.Block {
	if len(all) == 0 {
		return nil
	}
	doc := []document.Block{document.Markup("<div class=\"cards\">")}
	for _, c := range all {
		doc = append(append(append(doc, document.Markup("<article>")), c...), document.Markup("</article>\n"))
	}
	return append(doc, document.Markup("</div>\n"))
}

// mostFigures is up to how many runs are drawn: each takes about 0.1 MB.
const mostFigures = 300

// TitleOf is what a session without a title is called: by the date of its first log.
func TitleOf(res *session.Result) string {
	for _, l := range res.Logs {
		if dated(l) && l.Start.Year() > 1980 {
			return "Standing starts, " + shownIn(l.Start, res.Settings.Zone).Format("2 January 2006")
		}
	}
	return "Standing starts"
}

// settingsItems are the settings that a result was made with.
func settingsItems(res *session.Result) []document.Term {
	s := res.Settings
	unitName, _ := SpeedUnit(s.Units)
	length, perLength := DistanceUnit(s.Units)
	listed := document.Term{Name: "listed"}
	if s.All {
		listed.Text = "also short runs, rolling accelerations and braking runs"
	}
	items := []document.Term{{Name: "speeds in", Text: unitName}, {Name: "rollout", Text: trimZeros(s.Rollout/perLength, 4) + " " + length},
		{Name: "targets", Text: strings.Join(s.Targets, ", ")}}
	return append(append(items, filled(listed)...), document.Term{Name: "made with", Text: s.MadeBy()})
}

// newRunView is what a page says of one run.
func newRunView(r *session.TimedRun, i int, res *session.Result, targets []string, draw bool) (runView, error) {
	v := runView{ID: r.ID, Struck: !r.Counted, Excluded: reason(r), Flags: r.Flags}
	kind, launch, head := "", "launch "+Instant(r, res.Settings.Zone), unit.Heading(r.HeadingDeg)
	if r.Kind != segment.StandingStart {
		kind = strings.ReplaceAll(string(r.Kind), "-", " ")
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

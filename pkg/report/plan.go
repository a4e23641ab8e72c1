package report

import (
	"cmp"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/tomltext"
	"fromrest/pkg/uncert"
)

// PlanMarkdown writes a plan as a run sheet to print: what it can find, the run
// list with blanks to fill in, the cautions.
func PlanMarkdown(w io.Writer, p *compare.Plan) error {
	doc := []document.Block{document.Heading{Text: "Run sheet", Level: 1},
		document.Lines{"Date ________  Place ________________  Vehicle ________________  Driver ____________",
			"Tyre pressures cold ____ / ____  Load and fuel ________________  Logger and rate ________________"},
		document.List{Items: PlanLines(p)}, findsTable(p),
		planTable(p, "%d", "time", "wind", "temp.", "pressure", "remarks"),
		document.Heading{Text: "Cautions", Level: 2}, document.List{Items: Cautions()}, madeBy(plannedBy(p))}
	return document.Markdown(w, doc...)
}

// planTable is the run list, the numbers of the runs in a format, with columns to
// fill in.
func planTable(p *compare.Plan, number string, blank ...string) *document.Table {
	t := document.TableOf(document.Whole, "", append([]string{"run", "mode", "direction"}, blank...)...)
	for _, r := range p.Runs {
		t.Add(fmt.Sprintf(number, r.Order), append([]string{r.Mode, wayName(p, r.Way)}, make([]string, len(blank))...)...)
	}
	return t
}

// PlanLines says in whole sentences what a plan is and what it can find.
func PlanLines(p *compare.Plan) []string {
	o := &p.Options
	lines := []string{foundLine(p)}
	if o.Smallest > 0 {
		lines = append(lines, smallestLine(p))
	}
	lines = append(lines, fmt.Sprintf("How far runs scatter is taken from %s.", o.Scatter.From))
	if o.Ways == 2 {
		lines = append(lines, "Turn round after every run: out and back alternate, each mode is driven equally often each way, and every mode as early as late, so that grade, wind and drift do not pass for a mode.")
	} else {
		lines = append(lines, "All runs go one way: the differences hold for that direction, with its grade and wind. Every mode is driven as early as late.")
	}
	return append(lines, "Keep to the order. A spoiled run is repeated at the end of the list and noted; nothing is crossed out of the log. What the comparison says before the last run needs a surer difference than after it; to stop where it says decided keeps its promise.")
}

// foundLine is the answer of a plan in a sentence.
func foundLine(p *compare.Plan) string {
	o := &p.Options
	s := fmt.Sprintf("%s of each of %d modes, %d in all, ", plural(p.PerMode, "run"), len(o.Modes), len(p.Runs))
	if math.IsInf(p.Detectable, 0) {
		return s + "find no difference, however large: the order cannot show one or the runs are too few."
	}
	return s + fmt.Sprintf("find a difference of %s s between any two in %s of 100 sessions, if runs scatter by %s s.",
		figures(p.Detectable, 2), uncert.RoundHalfUp(100*o.Power, 0), trimZeros(o.Scatter.SD, 3))
}

// smallestLine is what becomes of the smallest difference that matters.
func smallestLine(p *compare.Plan) string {
	o := &p.Options
	s := fmt.Sprintf("A difference of %s s is found in %s of 100 sessions, and modes that do not differ are found equal within it in %s.",
		trimZeros(o.Smallest, 3), uncert.RoundHalfUp(100*p.Power, 0), uncert.RoundHalfUp(100*p.Equal, 0))
	switch {
	case p.Needed < 0:
		s += fmt.Sprintf(" No practical number of runs finds it in %s.", uncert.RoundHalfUp(100*o.Power, 0))
	case p.Needed != p.PerMode:
		s += fmt.Sprintf(" To find it in %s takes %d runs of each mode.", uncert.RoundHalfUp(100*o.Power, 0), p.Needed)
	}
	return s
}

// findsTable is what other numbers of runs find.
func findsTable(p *compare.Plan) *document.Table {
	o := &p.Options
	found := fmt.Sprintf("found in %s of 100, s", uncert.RoundHalfUp(100*o.Power, 0))
	columns := []string{"runs of each", found}
	if o.Smallest > 0 {
		ms := trimZeros(o.Smallest, 3) + " s"
		columns = append(columns, ms+" found", "equal within "+ms)
	}
	t := document.TableOf(document.Whole, "", columns...)
	t.Label = "What numbers of runs find"
	for _, r := range p.Rows {
		row := []string{"none"}
		if !math.IsInf(r.Detectable, 0) {
			row[0] = figures(r.Detectable, 2)
		}
		if o.Smallest > 0 {
			row = append(row, uncert.RoundHalfUp(100*r.Power, 0), uncert.RoundHalfUp(100*r.Equal, 0))
		}
		t.Add(fmt.Sprint(r.Runs), row...)
	}
	return t
}

func wayName(p *compare.Plan, way int) string {
	if p.Options.Ways == 1 {
		return "same"
	}
	if way == 1 {
		return "out"
	}
	return "back"
}

// PlanText writes a plan for a terminal.
func PlanText(w io.Writer, p *compare.Plan) error {
	var doc []document.Block
	for _, l := range PlanLines(p) {
		doc = append(doc, document.Paragraph{Text: l, Layout: document.Layout{Close: true}})
	}
	doc = append(append(doc, findsTable(p), planTable(p, "%3d")), headed("Cautions", Cautions())...)
	return document.Text(w, append(doc, madeBy(plannedBy(p)))...)
}

// plannedBy is what makes a plan: its chances are those of the comparison.
func plannedBy(p *compare.Plan) *session.Settings {
	return &session.Settings{Version: p.Options.Version, Model: session.ModelRevision}
}

type jsonPlan struct {
	Schema      string           `json:"schema"`
	Modes       []string         `json:"modes"`
	PerMode     int              `json:"runs_per_mode"`
	Directions  int              `json:"directions"`
	Smallest    *float64         `json:"smallest_s" jsonschema:"nullable"` // null where none was stated
	Scatter     float64          `json:"scatter_s"`
	ScatterFrom string           `json:"scatter_from"`
	Wanted      float64          `json:"wanted_power"`
	Power       *float64         `json:"power" jsonschema:"nullable"`
	Detectable  *float64         `json:"detectable_s" jsonschema:"nullable"` // null where nothing can be found
	Equal       *float64         `json:"equal_power" jsonschema:"nullable"`
	Needed      *int             `json:"runs_needed" jsonschema:"nullable"`
	Finds       []jsonFinds      `json:"finds"`
	Runs        []jsonPlannedRun `json:"runs"`
	Cautions    []string         `json:"cautions"`
	Settings    document.Maker   `json:"settings"`
}

type jsonFinds struct {
	Runs       int      `json:"runs_per_mode"`
	Detectable *float64 `json:"detectable_s" jsonschema:"nullable"`
	Power      *float64 `json:"power" jsonschema:"nullable"`
	Equal      *float64 `json:"equal_power" jsonschema:"nullable"`
}

type jsonPlannedRun struct {
	Order     int    `json:"order"`
	Mode      string `json:"mode"`
	Direction int    `json:"direction"`
}

// PlanJSON writes a plan as JSON.
func PlanJSON(w io.Writer, p *compare.Plan) error {
	o := &p.Options
	stated := func(x float64) *float64 {
		if o.Smallest == 0 {
			return nil
		}
		return number(x)
	}
	j := jsonPlan{Schema: "fromrest.plan/2", Modes: o.Modes, PerMode: p.PerMode, Directions: o.Ways, Smallest: positive(o.Smallest),
		Scatter: o.Scatter.SD, ScatterFrom: o.Scatter.From, Wanted: o.Power, Power: stated(p.Power), Detectable: number(p.Detectable), Equal: stated(p.Equal),
		Cautions: Cautions(), Settings: made(plannedBy(p)),
		Finds: each(p.Rows, func(r compare.PlanRow) jsonFinds {
			return jsonFinds{r.Runs, number(r.Detectable), stated(r.Power), stated(r.Equal)}
		}),
		Runs: each(p.Runs, func(r compare.PlannedRun) jsonPlannedRun { return jsonPlannedRun{r.Order, r.Mode, r.Way} })}
	if p.Needed > 0 && o.Smallest > 0 {
		j.Needed = &p.Needed
	}
	return document.WriteJSON(w, j)
}

// PlanSheet writes a plan as a session sheet: the order, the target that decides and
// the scatter that was counted on.
func PlanSheet(w io.Writer, p *compare.Plan) error {
	o := &p.Options
	var b strings.Builder
	fmt.Fprintf(&b, "# Session sheet with its plan, made by %s.\n# The rest is filled in by: fromrest sheet --sheet SHEET LOG...\n\n[plan]\n", plannedBy(p).MadeBy())
	b.WriteString("# The modes in the order to drive them; the standing starts of the logs take them in turn.\norder = [")
	for i, r := range p.Runs {
		if i > 0 {
			b.WriteString(", ")
		}
		b.WriteString(tomltext.Quote(r.Mode))
	}
	fmt.Fprintf(&b, "]\nruns = %d # of each mode\n", p.PerMode)
	if o.Target != "" {
		fmt.Fprintf(&b, "target = %s # that decides\n", tomltext.Quote(o.Target))
	}
	if o.From != "" {
		fmt.Fprintf(&b, "from = %s\n", tomltext.Quote(o.From))
	}
	if o.Smallest > 0 {
		fmt.Fprintf(&b, "smallest_s = %s # smallest difference that matters\n", trimZeros(o.Smallest, 3))
	}
	b.WriteString("final = false # true once no more runs will be driven\n")
	if o.Past {
		fmt.Fprintf(&b, "\n[[past]]\ntarget = %s\nfrom = %s\nscatter_s = %.4f\ndegrees_of_freedom = %g\nvehicle = %s\n", tomltext.Quote(cmp.Or(o.Target, "0-60 mph")),
			tomltext.Quote(cmp.Or(o.From, "rollout")), o.Scatter.SD, o.Scatter.DF, tomltext.Quote(o.Scatter.Vehicle))
	}
	for _, m := range o.Modes {
		fmt.Fprintf(&b, "\n[[mode]]\nname = %s\n", tomltext.Quote(m))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

var planPage = template.Must(template.New("plan").Funcs(template.FuncMap{"way": wayName}).Parse(`<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Run sheet</title>
<style>
@page{size:A4;margin:14mm}
body{font:11pt/1.4 system-ui,"Liberation Sans",Arial,sans-serif;color:#111;background:#fff;max-width:52rem;margin:1rem auto;padding:0 1rem}
h1{font-size:1.5rem;margin:0 0 .4rem;border-top:3px solid #111;padding-top:.4rem}
h2{font-size:1.1rem;margin:1.2rem 0 .3rem}
dl{display:grid;grid-template-columns:repeat(auto-fit,minmax(14rem,1fr));gap:.5rem 1.2rem;margin:.6rem 0}
dl div{display:flex;gap:.4rem;align-items:flex-end}
dd{margin:0;flex:1;border-bottom:1px solid #555;min-height:1.3rem}
.scroll{overflow-x:auto}
table{border-collapse:collapse;width:100%}
th,td{border:1px solid #777;padding:.3rem .4rem;text-align:left;height:1.7rem}
th{font-weight:650}
td.n{text-align:right}
td.remarks{width:30%}
td.mode{font-weight:650}
tr{break-inside:avoid}
thead{display:table-header-group}
ul{margin:.3rem 0;padding-left:1.2rem}
@media print{body{margin:0;padding:0;max-width:none}}
</style>
</head>
<body>
<main>
<h1>Run sheet</h1>
<dl><div><dt>Date</dt><dd></dd></div><div><dt>Place</dt><dd></dd></div><div><dt>Vehicle</dt><dd></dd></div><div><dt>Driver</dt><dd></dd></div>
<div><dt>Passenger, laptop</dt><dd></dd></div><div><dt>Logger and rate</dt><dd></dd></div><div><dt>Surface</dt><dd></dd></div><div><dt>Load and fuel</dt><dd></dd></div>
<div><dt>Tyre pressures, cold</dt><dd></dd></div><div><dt>Tyre pressures, after</dt><dd></dd></div></dl>
<ul>{{range .Lines}}<li>{{.}}</li>{{end}}</ul>
{{.Finds}}
<section class="scroll" tabindex="0" aria-label="Run list"><table>
<thead><tr><th scope="col">run</th><th scope="col">mode</th><th scope="col">direction</th><th scope="col">time</th><th scope="col">wind, from</th><th scope="col">temperature</th><th scope="col">air pressure</th><th scope="col">remarks</th></tr></thead>
<tbody>{{$p := .Plan}}{{range .Plan.Runs}}
<tr><td class="n">{{.Order}}</td><td class="mode">{{.Mode}}</td><td>{{way $p .Way}}</td><td></td><td></td><td></td><td></td><td class="remarks"></td></tr>{{end}}
</tbody></table></section>
<h2>Cautions</h2>
<ul>{{range .Cautions}}<li>{{.}}</li>{{end}}</ul>
<p>{{.MadeBy}}</p>
</main>
</body>
</html>
`))

// PlanHTML writes a plan as a run sheet to print.
func PlanHTML(w io.Writer, p *compare.Plan) error {
	var b strings.Builder
	if err := document.HTML(&b, findsTable(p)); err != nil {
		return err
	}
	finds := template.HTML(b.String()) // of our own table, escaped there
	return planPage.Execute(w, struct {
		Plan            *compare.Plan
		Lines, Cautions []string
		Finds           template.HTML
		MadeBy          string
	}{p, PlanLines(p), Cautions(), finds, plannedBy(p).MadeBy()})
}

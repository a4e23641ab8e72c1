package report

import (
	"fmt"
	"html/template"
	"io"
	"math"

	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/uncert"
)

// PlanMarkdown writes a plan as a run sheet to print: what it can find, the run
// list with blanks to fill in, the cautions.
func PlanMarkdown(w io.Writer, p *compare.Plan) error {
	doc := []document.Block{document.Heading{Text: "Run sheet", Level: 1},
		document.Lines{"Date ________  Place ________________  Vehicle ________________  Driver ____________",
			"Tyre pressures cold ____ / ____  Load and fuel ________________  Logger and rate ________________"},
		document.List{Items: PlanLines(p)},
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
	lines := []string{fmt.Sprintf("%s of each of %d modes, %d in all.", plural(p.PerMode, "run"), len(o.Modes), len(p.Runs))}
	if o.Ways == 2 {
		lines = append(lines, "Turn round after every run: out and back alternate, each mode is driven equally often each way, and every mode as early as late, so that grade, wind and drift do not pass for a mode.")
	} else {
		lines = append(lines, "All runs go one way: the differences hold for that direction, with its grade and wind. Every mode is driven as early as late.")
	}
	ms := trimZeros(o.Smallest, 3)
	if math.IsNaN(p.Power) {
		lines = append(lines, "How far runs scatter was not given, so what this plan can find is not known.")
	} else {
		lines = append(lines, fmt.Sprintf("If runs scatter by %s s, a true difference of %s s between two modes is found %s times in 100; one of %s s is found %s times in 100.",
			trimZeros(o.Scatter, 3), ms, uncert.RoundHalfUp(100*p.Power, 0), figures(p.Detectable, 2), uncert.RoundHalfUp(100*o.Power, 0)))
	}
	switch {
	case math.IsNaN(p.Power):
	case p.Needed < 0:
		lines = append(lines, fmt.Sprintf("No practical number of runs finds %s s that often.", ms))
	case p.Needed > p.PerMode:
		lines = append(lines, fmt.Sprintf("To find %s s that often takes %d runs of each mode.", ms, p.Needed))
	}
	return append(lines, "Keep to the order. A spoiled run is repeated at the end of the list and noted; nothing is crossed out of the log.")
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
	doc = append(append(doc, planTable(p, "%3d")), headed("Cautions", Cautions())...)
	return document.Text(w, append(doc, madeBy(plannedBy(p)))...)
}

// plannedBy is what makes a plan: its chances are those of the comparison.
func plannedBy(p *compare.Plan) *session.Settings {
	return &session.Settings{Version: p.Options.Version, Model: session.ModelRevision}
}

type jsonPlan struct {
	Schema     string           `json:"schema"`
	Modes      []string         `json:"modes"`
	PerMode    int              `json:"runs_per_mode"`
	Directions int              `json:"directions"`
	Smallest   float64          `json:"smallest_s"`
	Scatter    *float64         `json:"scatter_s"`
	Power      *float64         `json:"power"`
	Wanted     float64          `json:"wanted_power"`
	Detectable *float64         `json:"detectable_s"`
	Needed     *int             `json:"runs_needed"`
	Runs       []jsonPlannedRun `json:"runs"`
	Cautions   []string         `json:"cautions"`
	Settings   document.Maker   `json:"settings"`
}

type jsonPlannedRun struct {
	Order     int    `json:"order"`
	Mode      string `json:"mode"`
	Direction int    `json:"direction"`
}

// PlanJSON writes a plan as JSON.
func PlanJSON(w io.Writer, p *compare.Plan) error {
	o := &p.Options
	j := jsonPlan{Schema: "fromrest.plan/1", Modes: o.Modes, PerMode: p.PerMode, Directions: o.Ways, Smallest: o.Smallest,
		Scatter: positive(o.Scatter), Power: number(p.Power), Wanted: o.Power, Detectable: number(p.Detectable), Cautions: Cautions(), Settings: made(plannedBy(p)),
		Runs: each(p.Runs, func(r compare.PlannedRun) jsonPlannedRun { return jsonPlannedRun{r.Order, r.Mode, r.Way} })}
	if p.Needed > 0 {
		j.Needed = &p.Needed
	}
	return document.WriteJSON(w, j)
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
td.mode{font-weight:650}
tr{break-inside:avoid}
thead{display:table-header-group}
ul{margin:.3rem 0;padding-left:1.2rem}
@media print{body{margin:0;padding:0;max-width:none}}
</style>
</head>
<body>
<h1>Run sheet</h1>
<dl><div><dt>Date</dt><dd></dd></div><div><dt>Place</dt><dd></dd></div><div><dt>Vehicle</dt><dd></dd></div><div><dt>Driver</dt><dd></dd></div>
<div><dt>Passenger, laptop</dt><dd></dd></div><div><dt>Logger and rate</dt><dd></dd></div><div><dt>Surface</dt><dd></dd></div><div><dt>Load and fuel</dt><dd></dd></div>
<div><dt>Tyre pressures, cold</dt><dd></dd></div><div><dt>Tyre pressures, after</dt><dd></dd></div></dl>
<ul>{{range .Lines}}<li>{{.}}</li>{{end}}</ul>
<div class="scroll" tabindex="0" role="region" aria-label="Run list"><table>
<thead><tr><th scope="col">run</th><th scope="col">mode</th><th scope="col">direction</th><th scope="col">time</th><th scope="col">wind, from</th><th scope="col">temperature</th><th scope="col">air pressure</th><th scope="col">remarks</th></tr></thead>
<tbody>{{$p := .Plan}}{{range .Plan.Runs}}
<tr><td class="n">{{.Order}}</td><td class="mode">{{.Mode}}</td><td>{{way $p .Way}}</td><td></td><td></td><td></td><td></td><td style="width:30%"></td></tr>{{end}}
</tbody></table></div>
<h2>Cautions</h2>
<ul>{{range .Cautions}}<li>{{.}}</li>{{end}}</ul>
<p>{{.MadeBy}}</p>
</body>
</html>
`))

// PlanHTML writes a plan as a run sheet to print.
func PlanHTML(w io.Writer, p *compare.Plan) error {
	return planPage.Execute(w, struct {
		Plan            *compare.Plan
		Lines, Cautions []string
		MadeBy          string
	}{p, PlanLines(p), Cautions(), plannedBy(p).MadeBy()})
}

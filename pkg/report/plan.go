package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"fromrest/pkg/document"
	"fromrest/pkg/session"
	"fromrest/pkg/session/compare"
	"fromrest/pkg/sheet"
	"fromrest/pkg/tomltext"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Plan is a plan of runs with what a day in the field needs besides.
type Plan struct {
	*compare.Plan
	Rooms []session.Room // the straight that each mode needs
	Day   sheet.Plan     // what the sheet says of the straight and of cooling down
	Units string         // that distances are shown in: "mph" or "kmh"
	Paper Paperwork      // that its card is printed on, "" for A4
}

// Paperwork is a size of paper.
type Paperwork string

// The sizes that a card fits on.
const (
	A4     Paperwork = "a4"
	Letter Paperwork = "letter"
)

// RoomLines says how long the straight must be, and how long to wait between starts.
func RoomLines(p *Plan) []string {
	u := unit.ShownIn(p.Units)
	shown := func(m float64) string { return uncert.RoundHalfUp(m/u.DistancePer, 0) + " " + u.Distance }
	var out []string
	if why := noRoom(p); why != "" {
		out = append(out, "Straight needed: not known; "+why+".", "The site's rules come first.")
		return append(out, coolLines(p)...)
	}
	for i := range p.Rooms {
		r := &p.Rooms[i]
		if r.Unknown != "" {
			out = append(out, fmt.Sprintf("Straight for %s: not known; %s.", r.Mode, r.Unknown))
			continue
		}
		by := "its own stops"
		if r.Entered {
			by = "the sheet"
		}
		s := fmt.Sprintf("Straight for %s: %s, which is %s to the end of %s, %s to stop by %s", r.Mode, p.straight(r.Need()), shown(r.Distance), unit.Printed(r.Target), shown(r.Stop), by)
		switch {
		case r.U95 > 0:
			s += fmt.Sprintf(", ±%s for the next run by %s", shown(r.U95), plural(r.Runs, "run"))
		case math.IsNaN(r.U95):
			s += ", of one run, which cannot show how far the next will differ"
		}
		s += fmt.Sprintf(", and a margin of %s.", shown(r.Margin))
		if p.tooShort(r) {
			s += fmt.Sprintf(" The straight of %s is too short for it: choose a nearer target or another site.", shown(p.Day.Straight))
		}
		out = append(out, s)
	}
	if len(p.Rooms) > 0 {
		out = append(out, "Nothing is shortened for want of room: the site's rules come first, and a straight that is longer is better.")
	}
	return append(out, coolLines(p)...)
}

// noRoom is why no mode's straight is known, "" where one is or none was asked for.
func noRoom(p *Plan) string {
	if len(p.Rooms) == 0 || slices.ContainsFunc(p.Rooms, func(r session.Room) bool { return r.Unknown == "" }) {
		return ""
	}
	return p.Rooms[0].Unknown
}

// straight prints a straight of so many m that is needed, rounded up.
func (p *Plan) straight(need float64) string {
	u := unit.ShownIn(p.Units)
	return uncert.RoundHalfUp(math.Ceil(need/u.DistancePer), 0) + " " + u.Distance
}

// tooShort reports whether the straight of the sheet is too short for a mode.
func (p *Plan) tooShort(r *session.Room) bool {
	return p.Day.Straight > 0 && p.Day.Straight < r.Need()
}

// coolLines say how long to wait between starts, nothing where the sheet asks for nothing.
func coolLines(p *Plan) []string {
	c := p.Day.CoolDown
	if c == 0 {
		return nil
	}
	return []string{fmt.Sprintf("From one start to the next at least %s pass, as the sheet asks: the runs take at least %s.", span(c), span(c*float64(len(p.Runs)-1)))}
}

// span is a time in minutes, or in hours and minutes.
func span(seconds float64) string {
	m := int(math.Ceil(seconds / 60))
	if m < 60 {
		return fmt.Sprintf("%d min", m)
	}
	return fmt.Sprintf("%d h %02d min", m/60, m%60)
}

// PlanMarkdown writes a plan as a run sheet to print: what it can find, the run
// list with blanks to fill in, the cautions.
func PlanMarkdown(w io.Writer, p *Plan) error {
	doc := []document.Block{document.Heading{Text: "Run sheet", Level: 1},
		document.Lines{"Date ________  Place ________________  Vehicle ________________  Driver ____________",
			"Tyre pressures cold ____ / ____  Load and fuel ________________  Logger and rate ________________"},
		document.List{Items: append(PlanLines(p), RoomLines(p)...)}, findsTable(p),
		planTable(p, "%d", "time", "wind", "temp.", "pressure", "remarks"),
		document.Heading{Text: "Cautions", Level: 2}, document.List{Items: Cautions()}, madeBy(plannedBy(p))}
	return document.Markdown(w, doc...)
}

// planTable is the run list, the numbers of the runs in a format, with columns to
// fill in.
func planTable(p *Plan, number string, blank ...string) *document.Table {
	t := document.TableOf(document.Whole, "", append([]string{"run", "mode", "direction"}, blank...)...)
	for _, r := range p.Runs {
		t.Add(fmt.Sprintf(number, r.Order), append([]string{r.Mode, wayName(p, r.Way)}, make([]string, len(blank))...)...)
	}
	return t
}

// PlanLines says in whole sentences what a plan is and what it can find.
func PlanLines(p *Plan) []string {
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
func foundLine(p *Plan) string {
	o := &p.Options
	s := fmt.Sprintf("%s of each of %d modes, %d in all, ", plural(p.PerMode, "run"), len(o.Modes), len(p.Runs))
	if math.IsInf(p.Detectable, 0) {
		return s + "find no difference, however large: the order cannot show one or the runs are too few."
	}
	return s + fmt.Sprintf("find a difference of %s s between any two in %s of 100 sessions, if runs scatter by %s s.",
		figures(p.Detectable, 2), uncert.RoundHalfUp(100*o.Power, 0), trimZeros(o.Scatter.SD, 3))
}

// smallestLine is what becomes of the smallest difference that matters.
func smallestLine(p *Plan) string {
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
func findsTable(p *Plan) *document.Table {
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

func wayName(p *Plan, way int) string {
	if p.Options.Ways == 1 {
		return "same"
	}
	if way == 1 {
		return "out"
	}
	return "back"
}

// PlanText writes a plan for a terminal.
func PlanText(w io.Writer, p *Plan) error {
	var doc []document.Block
	for _, l := range PlanLines(p) {
		doc = append(doc, document.Paragraph{Text: l, Layout: document.Layout{Close: true}})
	}
	doc = append(append(doc, findsTable(p), planTable(p, "%3d")), headed("Room", RoomLines(p))...)
	doc = append(doc, headed("Cautions", Cautions())...)
	return document.Text(w, append(doc, madeBy(plannedBy(p)))...)
}

// plannedBy is what makes a plan: its chances are those of the comparison.
func plannedBy(p *Plan) *session.Settings {
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
	Room        []jsonRoom       `json:"room"`
	CoolDown    *float64         `json:"cool_down_s,omitempty"`
	Cautions    []string         `json:"cautions"`
	Settings    document.Maker   `json:"settings"`
}

// jsonRoom is the straight that a mode needs; its numbers are missing where it is not known.
type jsonRoom struct {
	Mode     string   `json:"mode"`
	Target   string   `json:"target,omitempty"`
	Distance *float64 `json:"distance_m,omitempty"` // to the end of the target
	Stop     *float64 `json:"stop_m,omitempty"`     // from there
	Entered  bool     `json:"entered,omitempty"`    // stop_m is the tester's
	Margin   *float64 `json:"margin_m,omitempty"`
	U95      *float64 `json:"u95_m,omitempty"` // for the next run
	Need     *float64 `json:"need_m,omitempty"`
	Runs     int      `json:"runs,omitempty"`
	Unknown  string   `json:"unknown,omitempty"` // why
}

func roomJSON(r session.Room) jsonRoom {
	if r.Unknown != "" {
		return jsonRoom{Mode: r.Mode, Unknown: r.Unknown}
	}
	return jsonRoom{r.Mode, r.Target, number(r.Distance), number(r.Stop), r.Entered, number(r.Margin), number(r.U95), number(r.Need()), r.Runs, ""}
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
func PlanJSON(w io.Writer, p *Plan) error {
	o := &p.Options
	stated := func(x float64) *float64 {
		if o.Smallest == 0 {
			return nil
		}
		return number(x)
	}
	j := jsonPlan{Schema: "fromrest.plan/2", Modes: o.Modes, PerMode: p.PerMode, Directions: o.Ways, Smallest: positive(o.Smallest),
		Scatter: o.Scatter.SD, ScatterFrom: o.Scatter.From, Wanted: o.Power, Power: stated(p.Power), Detectable: number(p.Detectable), Equal: stated(p.Equal),
		Room: each(p.Rooms, roomJSON), CoolDown: positive(p.Day.CoolDown), Cautions: Cautions(), Settings: made(plannedBy(p)),
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
func PlanSheet(w io.Writer, p *Plan) error {
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
	for _, x := range []struct {
		key string
		v   float64
	}{{"straight_m", p.Day.Straight}, {"stopping_m", p.Day.Stopping}, {"margin_m", p.Day.Margin}, {"cool_down_s", p.Day.CoolDown}} {
		if x.v > 0 {
			fmt.Fprintf(&b, "%s = %g\n", x.key, x.v)
		}
	}
	b.WriteString("final = false # true once no more runs will be driven\n")
	if o.Past {
		fmt.Fprintf(&b, "\n[[past]]\ntarget = %s\nfrom = %s\nscatter_s = %.4f\ndegrees_of_freedom = %g\nvehicle = %s\n", tomltext.Quote(cmp.Or(o.Target, "0-60 mph")),
			tomltext.Quote(cmp.Or(o.From, "rollout")), o.Scatter.SD, o.Scatter.DF, tomltext.Quote(o.Scatter.Vehicle))
	}
	for _, m := range o.Modes {
		fmt.Fprintf(&b, "\n[[mode]]\nname = %s\n", tomltext.Quote(m))
	}
	b.WriteString("\n# The rows of the run card: put in what was noted, such as tyre_pressure_kpa = 230, motor_c = 88,\n# head_wind_mps = -1.5, charge_percent = 80, remark = \"\", and spoiled = \"why\" for a run that does not count.\n")
	for _, r := range p.Runs {
		fmt.Fprintf(&b, "[[card]]\nrun = %d # %s, %s\n", r.Order, r.Mode, wayName(p, r.Way))
	}
	_, err := io.WriteString(w, b.String())
	return err
}

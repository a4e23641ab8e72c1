package report

import (
	"fmt"
	"html"
	"math"
	"strings"
	"unicode/utf8"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
)

// grid is a small table of words, with a title above it and a note beneath.
type grid struct {
	Title string
	Head  []string
	Rows  [][]string
	Note  string
}

// text sets a grid for a terminal.
func (g *grid) text() string {
	var b strings.Builder
	b.WriteString("\n  " + g.Title + "\n")
	for _, l := range g.lines() {
		b.WriteString(strings.TrimRight("  "+l, " ") + "\n")
	}
	if g.Note != "" {
		b.WriteString(wrapAfter("  ", g.Note, TextWidth, "  ") + "\n")
	}
	return b.String()
}

// lines are the head and the rows with their columns aligned; columns that do not
// fit beside the others follow beneath, with the first one again.
func (g *grid) lines() []string {
	columns := make([][]string, len(g.Head))
	widths := make([]int, len(g.Head))
	for i, h := range g.Head {
		columns[i] = []string{h}
		for _, r := range g.Rows {
			columns[i] = append(columns[i], r[i])
		}
		for _, c := range columns[i] {
			widths[i] = max(widths[i], utf8.RuneCountInString(c))
		}
	}
	const room = TextWidth - 2
	var out []string
	for from := 1; from < len(columns); {
		block, used := [][]string{columns[0]}, widths[0]
		to := from
		for ; to < len(columns) && (to == from || used+columnGap+widths[to] <= room); to++ {
			block, used = append(block, columns[to]), used+columnGap+widths[to]
		}
		if from > 1 {
			out = append(out, "")
		}
		out = append(out, strings.Split(strings.TrimSuffix(sideBySide(block, room), "\n"), "\n")...)
		from = to
	}
	return out
}

// withoutEmpty drops the columns in which nothing is known.
func (g grid) withoutEmpty() grid {
	out := grid{Title: g.Title, Note: g.Note, Rows: make([][]string, len(g.Rows))}
	for i, h := range g.Head {
		any := false
		for _, r := range g.Rows {
			any = any || r[i] != unknownCell
		}
		if !any {
			continue
		}
		out.Head = append(out.Head, h)
		for k, r := range g.Rows {
			out.Rows[k] = append(out.Rows[k], r[i])
		}
	}
	return out
}

// unknownCell stands where nothing is known.
const unknownCell = "–"

// markdown sets a grid as a pipe table.
func (g *grid) markdown() string {
	var b strings.Builder
	b.WriteString("\n" + g.Title + "\n\n")
	line := func(cells []string) {
		for _, c := range cells {
			b.WriteString("| " + escapeMarkdown(c) + " ")
		}
		b.WriteString("|\n")
	}
	line(g.Head)
	b.WriteString(strings.Repeat("| --- ", len(g.Head)) + "|\n")
	for _, r := range g.Rows {
		line(r)
	}
	if g.Note != "" {
		b.WriteString("\n" + g.Note + "\n")
	}
	return b.String()
}

// html sets a grid as a table that may be scrolled sideways.
func (g *grid) html() string {
	var b strings.Builder
	esc := html.EscapeString
	fmt.Fprintf(&b, "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"%s\">\n<table class=\"timing\"><caption>%s</caption>\n<thead><tr>", esc(g.Title), esc(g.Title))
	for _, h := range g.Head {
		fmt.Fprintf(&b, "<th scope=\"col\">%s</th>", esc(h))
	}
	b.WriteString("</tr></thead>\n<tbody>\n")
	for _, r := range g.Rows {
		fmt.Fprintf(&b, "<tr><th scope=\"row\">%s</th>", esc(r[0]))
		for _, c := range r[1:] {
			fmt.Fprintf(&b, "<td>%s</td>", esc(c))
		}
		b.WriteString("</tr>\n")
	}
	b.WriteString("</tbody></table></div>\n")
	if g.Note != "" {
		fmt.Fprintf(&b, "<p>%s</p>\n", esc(g.Note))
	}
	return b.String()
}

// withHalf prints a value with its half-width to three places at most.
func withHalf(v uncert.Value, per float64, sign bool) string {
	if math.IsNaN(v.X) {
		return unknownCell
	}
	x, h := uncert.Format(v.X/per, v.U95()/per)
	if half := v.U95() / per; half > 0 && half < finestHalf {
		x, h = uncert.RoundHalfUp(v.X/per, 3), uncert.RoundHalfUp(math.Max(half, 0.001), 3)
	}
	if sign && !strings.HasPrefix(x, "-") && strings.Trim(x, "0.") != "" {
		x = "+" + x
	}
	if h == "" {
		return x
	}
	return x + " ±" + h
}

// finestHalf is the half-width below which a third place is all that is shown.
const finestHalf = 0.01

// conditionGrids are the conditions of the runs, and for each of a few targets
// what they cost in seconds beside the measured and the corrected time.
func conditionGrids(e *explain.Explanation) []grid {
	if len(e.Conditions) == 0 {
		return nil
	}
	road := grid{Title: "Road and wind along each run", Head: []string{"run", "head", "grade, %", "from", "head wind, m/s", "from"}}
	for i := range e.Conditions {
		c := &e.Conditions[i]
		road.Rows = append(road.Rows, []string{c.Run.ID, heading(c.Run.HeadingDeg), withHalf(c.Grade, 0.01, true),
			from(c.GradeFrom, c.GradeBasis()), withHalf(c.HeadWind, 1, true), from(c.HeadWindFrom, c.HeadWindBasis())})
	}
	out := []grid{road.sharedInto(map[int]string{3: "Grade", 5: "Head wind"})}
	for _, t := range explain.Targets {
		if g := effectGrid(e, t.Name); len(g.Rows) > 0 {
			out = append(out, g)
		}
	}
	if len(out) > 1 {
		out[len(out)-1].Note = "Seconds, + where it made the run slower. Measured times are the headline; effects are modelled with thrust as a function of speed. " +
			"Corrected: on the level, in still air, in air of 25 °C and 99 kPa, as far as each is known (– is not)."
	}
	return out
}

// sharedInto moves columns that say the same in every row into the note, each under
// its name.
func (g grid) sharedInto(names map[int]string) grid {
	out := grid{Title: g.Title, Rows: make([][]string, len(g.Rows))}
	var notes []string
	for i, h := range g.Head {
		same := names[i] != ""
		for _, r := range g.Rows {
			same = same && r[i] == g.Rows[0][i]
		}
		if same {
			if g.Rows[0][i] != unknownCell {
				notes = append(notes, names[i]+": "+g.Rows[0][i]+".")
			}
			continue
		}
		out.Head = append(out.Head, h)
		for k, r := range g.Rows {
			out.Rows[k] = append(out.Rows[k], r[i])
		}
	}
	out.Note = strings.Join(notes, " ")
	return out
}

func effectGrid(e *explain.Explanation, target string) grid {
	g := grid{Title: target + " with rollout, s (measured; corrected time and effects modelled)", Head: []string{"run", "measured", "corrected", "grade", "wind", "air", "power"}}
	for i := range e.Conditions {
		c := &e.Conditions[i]
		for _, f := range c.Effects {
			if f.Name == target && f.From == timing.FromRollout {
				g.Rows = append(g.Rows, []string{c.Run.ID, withHalf(f.Headline, 1, false), withHalf(f.Corrected, 1, false),
					withHalf(f.Grade, 1, true), withHalf(f.HeadWind, 1, true), withHalf(f.Air, 1, true), withHalf(f.Power, 1, true)})
			}
		}
	}
	return g.withoutEmpty()
}

// from says where a value comes from and what it rests on.
func from(source string, b explain.Basis) string {
	if source == "" {
		return unknownCell
	}
	return source + ", " + string(b)
}

// profileGrid is every clause of the published procedures held against the
// session.
func profileGrid(e *explain.Explanation) grid {
	g := grid{Title: "Published procedures, clause by clause", Head: []string{"procedure", "limit", "here", "verdict", "source"},
		Note: "Being inside does not make a test conform: surface, instruments and averaging have clauses of their own. The source says how well a clause was read."}
	for _, p := range air.Profiles() {
		for _, f := range e.Profiles[p.Name] {
			g.Rows = append(g.Rows, []string{p.Name, f.Clause.Text(), findingValue(f), string(f.Verdict), string(f.Clause.Read)})
		}
	}
	return g
}

// findingValue prints what a clause was held against, in the clause's unit.
func findingValue(f air.Finding) string {
	per, v := 1.0, f.Value
	switch f.Clause.Quantity {
	case air.Grade, air.Humidity, air.InitialSpeed:
		per = 0.01
	case air.Temperature:
		v.X -= unit.ZeroCelsius
	}
	if v.U == 0 && !math.IsNaN(v.X) {
		return trimZeros(v.X/per, 3)
	}
	return withHalf(v, per, false)
}

// profileText is the procedures for a terminal, each with its clauses beneath.
func profileText(e *explain.Explanation) string {
	g := profileGrid(e)
	for i := range g.Rows {
		g.Rows[i] = g.Rows[i][1:]
	}
	g.Head = g.Head[1:]
	lines := g.lines()
	var b strings.Builder
	b.WriteString("    " + lines[0] + "\n")
	at := 1
	for _, p := range air.Profiles() {
		b.WriteString(wrapAfter("  ", profileHead(e, p), TextWidth, "  ") + "\n")
		for range e.Profiles[p.Name] {
			b.WriteString("    " + lines[at] + "\n")
			at++
		}
	}
	return b.String() + wrapAfter("  ", g.Note, TextWidth, "  ") + "\n"
}

func profileHead(e *explain.Explanation, p air.Profile) string {
	return fmt.Sprintf("%s, %s: %s (%s)", p.Name, p.About, air.Overall(e.Profiles[p.Name]), p.Source)
}

// airLines say what the air was and what that rests on.
func airLines(e *explain.Explanation) []string {
	a := e.Air
	if a.Basis == "" {
		return []string{fmt.Sprintf("not known: temperature_c, pressure_hpa and humidity_percent would give it (%.4g kg/m³ is assumed for drag)", e.Density)}
	}
	from := a.From
	if a.Basis == explain.Measured {
		from = "measured, " + from
	}
	s := fmt.Sprintf("density %s kg/m³, density altitude %s m (%s)", withHalf(a.Density, 1, false), withHalf(a.Altitude, 1, false), from)
	p := "engine power: " + a.PowerFrom
	if !math.IsNaN(a.PowerFactor.X) {
		p = fmt.Sprintf("engine power in air of 25 °C and 99 kPa over power here %s (%s)", withHalf(a.PowerFactor, 1, false), a.PowerFrom)
	}
	return []string{s, p}
}

// conditionsText writes the conditions for a terminal or, where head is not
// empty, as Markdown.
func conditionsText(b *strings.Builder, e *explain.Explanation, head, item string) {
	set := func(g grid) {
		if head == "" {
			b.WriteString(g.text())
		} else {
			b.WriteString(g.markdown())
		}
	}
	title := func(s string) { b.WriteString("\n" + head + s + "\n") }
	if gs := conditionGrids(e); len(gs) > 0 {
		title("Conditions, run by run")
		for _, g := range gs {
			set(g)
		}
	}
	title("Air")
	for _, s := range airLines(e) {
		b.WriteString(wrapAfter(item, s, TextWidth, strings.Repeat(" ", len(item)+2)) + "\n")
	}
	title("Published conditions")
	if head == "" {
		b.WriteString(profileText(e))
		return
	}
	for _, p := range air.Profiles() {
		b.WriteString(item + profileHead(e, p) + "\n")
	}
	set(profileGrid(e))
}

// conditionsHTML is the same for the report.
func conditionsHTML(e *explain.Explanation) string {
	var b strings.Builder
	if gs := conditionGrids(e); len(gs) > 0 {
		b.WriteString("<h3>Conditions, run by run</h3>\n")
		for _, g := range gs {
			b.WriteString(g.html())
		}
	}
	b.WriteString("<h3>Air</h3>\n")
	list(&b, airLines(e))
	b.WriteString("<h3>Published conditions</h3>\n")
	var lines []string
	for _, p := range air.Profiles() {
		lines = append(lines, profileHead(e, p))
	}
	list(&b, lines)
	g := profileGrid(e)
	b.WriteString(g.html())
	return b.String()
}

package figure

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/session/compare"
	"fromrest/pkg/unit"
)

// ErrNoMode is returned where no mode has a counted run.
var ErrNoMode = errors.New("no mode to draw")

// Dots and intervals share a row: the interval lies above its runs.
const (
	meanAbove = 0.16 // of a row
	runBelow  = 0.22
)

// ModeDots draws a comparison at one target: a row for each mode with the mean,
// its 95 % interval and each run's time. Discs went the first way, rings the
// other; a cross is a run that does not count.
func ModeDots(t *compare.Target, o Options) (*Figure, error) {
	if len(t.Modes) == 0 {
		return nil, ErrNoMode
	}
	origin := "from rest"
	if t.From == "rollout" {
		origin = "with rollout"
	}
	size := Size{o.size().W, vg.Length(54 + 28*len(t.Modes))}
	f := &Figure{Title: unit.Printed(t.Name) + ", " + origin, Size: size, XTitle: "time, s", Desc: dotsInWords(t)}
	first := math.NaN() // the heading of the first counted run that has one
	if i := slices.IndexFunc(t.Runs, func(r compare.Run) bool { return r.Counted && !math.IsNaN(r.Heading) }); i >= 0 {
		first = t.Runs[i].Heading
	}
	f.Note = dotsNote(t, first)
	var names []string
	for _, m := range t.Modes {
		names = append(names, m.Name)
	}
	lines := o.lineup(nil, names...)
	f.Plot = func(th *Theme) *plot.Plot {
		p := o.newPlot(th)
		rows := &modeRows{theme: th, n: len(t.Modes)}
		var ticks plot.ConstantTicks
		for i, m := range t.Modes {
			y, color := float64(len(t.Modes)-i), th.Series(lines.series(m.Name))
			ticks = append(ticks, plot.Tick{Value: y, Label: shorten(m.Name, 16)})
			rows.means = append(rows.means, rowMean{y, m.Mean, m.U95, color})
			for _, r := range t.Runs {
				if r.Mode != m.Name || !finite(r.Seconds) {
					continue
				}
				kind := disc
				switch {
				case !r.Counted:
					kind = cross
				case opposite(r.Heading, first):
					kind = ring
				}
				rows.runs = append(rows.runs, rowRun{y, r.Seconds, kind, color})
			}
		}
		p.Y.Tick.Marker = ticks
		p.Y.Min, p.Y.Max = 0.5, float64(len(t.Modes))+0.5
		p.X.Min, p.X.Max = rows.extent()
		p.Add(rows)
		return p
	}
	return f, nil
}

// dotsNote explains the marks that there are.
func dotsNote(t *compare.Target, first float64) string {
	has := func(want func(r compare.Run) bool) bool { return slices.ContainsFunc(t.Runs, want) }
	note := "Bar: mean with its 95 % interval. Beneath it, ● a run"
	if has(func(r compare.Run) bool { return r.Counted && opposite(r.Heading, first) }) {
		note += " one way, ○ a run the other way"
	}
	if has(func(r compare.Run) bool { return !r.Counted }) {
		note += ", × a run that does not count"
	}
	return note + "."
}

// opposite reports whether two headings in degrees point opposite ways.
func opposite(a, b float64) bool { return math.Cos((a-b)*math.Pi/180) < 0 }

func shorten(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

func dotsInWords(t *compare.Target) string {
	var parts []string
	for _, m := range t.Modes {
		parts = append(parts, fmt.Sprintf("%s %s s from %d counted", m.Name, withHalf(m.Mean, m.U95, " s ± "), m.N))
	}
	return "Mean time of each mode with its 95 % interval, and each run: " + strings.Join(parts, "; ") + "."
}

type dotKind int

const (
	disc dotKind = iota
	ring
	cross
)

type rowMean struct {
	y, x, half float64
	color      Paint
}

type rowRun struct {
	y, x  float64
	kind  dotKind
	color Paint
}

// modeRows draws the rows of ModeDots.
type modeRows struct {
	theme *Theme
	n     int
	means []rowMean
	runs  []rowRun
}

// extent is the axis that shows every interval and run with a little room.
func (m *modeRows) extent() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, r := range m.means {
		h := r.half
		if !finite(h) {
			h = 0
		}
		lo, hi = math.Min(lo, r.x-h), math.Max(hi, r.x+h)
	}
	for _, r := range m.runs {
		lo, hi = math.Min(lo, r.x), math.Max(hi, r.x)
	}
	room := 0.05 * (hi - lo)
	if !(room > 0) {
		room = 0.05 * math.Abs(hi)
	}
	return lo - room, hi + room
}

// Plot implements plot.Plotter.
func (m *modeRows) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	for _, r := range m.runs {
		m.dot(c, vg.Point{X: tx(r.x), Y: ty(r.y - runBelow)}, r)
	}
	for _, r := range m.means {
		y, x := ty(r.y+meanAbove), tx(r.x)
		line := draw.LineStyle{Color: r.color, Width: 1.8}
		if finite(r.half) && r.half > 0 {
			a, b := tx(r.x-r.half), tx(r.x+r.half)
			c.StrokeLine2(line, a, y, b, y)
			line.Width = 1.2
			c.StrokeLine2(line, a, y-3, a, y+3)
			c.StrokeLine2(line, b, y-3, b, y+3)
		}
		fillDisc(c, vg.Point{X: x, Y: y}, 3.4, r.color)
	}
}

func (m *modeRows) dot(c draw.Canvas, at vg.Point, r rowRun) {
	const radius = 2.4
	switch r.kind {
	case cross:
		st := draw.LineStyle{Color: m.theme.Soft(), Width: 1}
		c.StrokeLine2(st, at.X-radius, at.Y-radius, at.X+radius, at.Y+radius)
		c.StrokeLine2(st, at.X-radius, at.Y+radius, at.X+radius, at.Y-radius)
	case ring:
		fillDisc(c, at, radius, r.color)
		fillDisc(c, at, radius-1, m.theme.Paper())
	default:
		fillDisc(c, at, radius, r.color)
	}
}

func fillDisc(c draw.Canvas, at vg.Point, r vg.Length, p color.Color) {
	var path vg.Path
	path.Move(vg.Point{X: at.X + r, Y: at.Y})
	path.Arc(at, r, 0, 2*math.Pi)
	path.Close()
	c.SetColor(p)
	c.Fill(path)
}

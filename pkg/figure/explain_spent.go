package figure

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/session/explain"
)

// spentNames are the parts of a difference in time, short enough for an axis.
var spentNames = map[string]string{explain.SpentLaunch: "launch", explain.SpentGrip: "grip", explain.SpentEngine: "engine", explain.SpentSpeeds: "limit not told",
	explain.SpentShifts: "shifts", explain.SpentConditions: "grade, wind", explain.SpentLeft: "left over"}

// SpentNote explains the marks of Spent.
const SpentNote = "Bars: one part of the difference after another, each with its 95 % interval. ○: what the sheet predicts."

// Spent draws where the time went between two modes: a step for each part from where the
// one before ended, its 95 % interval at the end, and all of it beneath. A ring is where the
// sheet's data put the end of the step.
func Spent(s *explain.Spent, o Options) *Figure {
	size := Size{o.size().W, vg.Length(60 + 18*(len(s.Parts)+1))}
	f := &Figure{Title: fmt.Sprintf("Where %s and %s part, from rest to %s", s.A, s.B, s.Target.Name[2:]), Size: size,
		XTitle: fmt.Sprintf("time of %s less that of %s, s", s.A, s.B)}
	f.Note = SpentNote
	steps := &spentSteps{}
	begin, row := 0.0, float64(len(s.Parts)+1)
	var ticks plot.ConstantTicks
	var words []string
	for _, p := range s.Parts {
		end := begin + p.Seconds.X
		half := 0.0
		if p.Seconds.U > 0 && !math.IsNaN(p.Seconds.U) {
			half = p.Seconds.U95()
		}
		steps.all = append(steps.all, spentStep{row, begin, end, half, begin + p.Predicted.X})
		name := spentNames[p.What]
		if p.What == explain.SpentSpeeds {
			name = fmt.Sprintf("%.0f to %.0f %s", p.From/o.shown().SpeedPer, p.To/o.shown().SpeedPer, o.shown().Speed)
		}
		ticks = append(ticks, plot.Tick{Value: row, Label: name})
		words = append(words, fmt.Sprintf("%s %+.2f s", name, p.Seconds.X))
		begin, row = end, row-1
	}
	steps.all = append(steps.all, spentStep{row, 0, s.Measured.X, s.Measured.U95(), s.Predicted.X})
	ticks = append(ticks, plot.Tick{Value: row, Label: "in all"})
	f.Desc = fmt.Sprintf("%s in all %+.2f s: %s.", f.XTitle, s.Measured.X, strings.Join(words, "; "))
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		drawn := *steps
		drawn.theme = t
		p.Y.Tick.Marker = ticks
		p.Y.Min, p.Y.Max = 0.5, float64(len(steps.all))+0.5
		p.X.Min, p.X.Max = drawn.extent()
		p.Add(&drawn)
		return p
	}
	return f
}

// spentStep is one bar: from begin to end, with what the end may be off by and where the
// sheet puts it, NaN where it does not.
type spentStep struct{ y, begin, end, half, sheet float64 }

// spentSteps draws the bars of Spent.
type spentSteps struct {
	theme *Theme
	all   []spentStep
}

// extent is the axis that shows every bar, interval and ring, and zero.
func (s *spentSteps) extent() (lo, hi float64) {
	for _, b := range s.all {
		for _, x := range []float64{b.begin, b.end - b.half, b.end + b.half, b.sheet} {
			if finite(x) {
				lo, hi = math.Min(lo, x), math.Max(hi, x)
			}
		}
	}
	room := math.Max(0.05*(hi-lo), 0.01)
	return lo - room, hi + room
}

// Plot implements plot.Plotter.
func (s *spentSteps) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	const thick = vg.Length(8)
	zero := draw.LineStyle{Color: s.theme.Soft(), Width: 0.8}
	c.StrokeLine2(zero, tx(0), c.Min.Y, tx(0), c.Max.Y)
	for i, b := range s.all {
		y, paint := ty(b.y), s.theme.Ink().Fade(0.45)
		if i == len(s.all)-1 {
			paint = s.theme.Ink().Fade(0.75)
		}
		x0, x1 := tx(b.begin), tx(b.end)
		c.FillPolygon(paint, []vg.Point{{X: x0, Y: y - thick/2}, {X: x1, Y: y - thick/2}, {X: x1, Y: y + thick/2}, {X: x0, Y: y + thick/2}})
		line := draw.LineStyle{Color: s.theme.Ink(), Width: 1.1}
		if b.half > 0 {
			lo, hi := tx(b.end-b.half), tx(b.end+b.half)
			c.StrokeLine2(line, lo, y, hi, y)
			c.StrokeLine2(line, lo, y-3, lo, y+3)
			c.StrokeLine2(line, hi, y-3, hi, y+3)
		}
		if finite(b.sheet) {
			at := vg.Point{X: tx(b.sheet), Y: y}
			fillDisc(c, at, 3.2, s.theme.Ink())
			fillDisc(c, at, 2.1, s.theme.Paper())
		}
		if i+1 < len(s.all)-1 {
			c.StrokeLine2(zero, x1, y-thick/2, x1, ty(s.all[i+1].y)+thick/2)
		}
	}
}

package figure

import (
	"fmt"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/analysis"
)

// TractiveForce draws a mode's force at the wheels against speed in each gear,
// with the grip limit and the road load. The prediction must have a Train.
func TractiveForce(p *analysis.Prediction, o Options) *Figure {
	tr := p.Train
	name, per := o.speedUnit()
	top := tr.TopSpeed()
	f := &Figure{Title: "Force at the wheels in each gear, mode " + p.Mode, Size: o.size(),
		XTitle: "speed, " + name, YTitle: "force at the wheels, kN"}
	for g := range tr.Gears {
		f.Key = append(f.Key, KeyEntry{g, fmt.Sprintf("gear %d", g+1)})
	}
	f.Desc = fmt.Sprintf("Tractive force against speed in %d gears, with the road load", len(tr.Gears))
	if p.Grip != nil {
		f.Desc += fmt.Sprintf(" and the grip limit of %.1f kN", tr.Grip/1000)
	}
	f.Desc += "."
	f.Plot = func(t *Theme) *plot.Plot {
		pl := NewPlot(t)
		pl.X.Tick.Marker = o.ticksAcross()
		pl.X.Min, pl.X.Max, pl.Y.Min, pl.Y.Max = 0, top/per*1.02, 0, 0
		var avoid []*Curve
		const n = 300
		for g := range tr.Gears {
			c := &Curve{Style: t.Line(g)}
			end := tr.RoadSpeed(g, tr.Engine.Limit)
			for i := range n + 1 {
				v := end * float64(i) / n
				c.X, c.Y = append(c.X, v/per), append(c.Y, tr.Force(g, v*(1-1e-12))/1000)
				pl.Y.Max = math.Max(pl.Y.Max, c.Y[i])
			}
			pl.Add(fixed{c})
			avoid = append(avoid, c)
		}
		soft := draw.LineStyle{Color: t.Ink(), Width: 1}
		load := &Curve{Style: soft}
		for i := range n + 1 {
			v := top * 1.02 * float64(i) / n
			load.X, load.Y = append(load.X, v/per), append(load.Y, tr.RoadLoad(v)/1000)
		}
		pl.Add(fixed{load})
		avoid = append(avoid, load)
		marks := []Mark{{X: load.X[n*7/10], Y: load.Y[n*7/10], Text: "road load"}}
		if p.Grip != nil {
			y := tr.Grip / 1000
			pl.Y.Max = math.Max(pl.Y.Max, y)
			c := &Curve{X: []float64{0, pl.X.Max}, Y: []float64{y, y}, Style: soft}
			c.Style.Dashes = dashes[1]
			pl.Add(fixed{c})
			avoid = append(avoid, c)
			marks = append(marks, Mark{X: pl.X.Max * 0.7, Y: y, Text: "grip limit", Above: true})
		}
		pl.Y.Max = niceTop(pl.Y.Max*1.06, 6)
		pl.Add(&Marks{Points: marks, Avoid: avoid, Theme: t, Color: t.Ink()})
		return pl
	}
	return f
}

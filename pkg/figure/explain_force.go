package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/session/explain"
)

// TractiveForce draws a mode's force at the wheels against speed in each gear, all in
// the mode's line, with the grip limit and the road load, and over them the measured force with its
// 95 % band; measured may be nil. The prediction must have a Train.
//
// Rings are the shifts the sheet predicts, upright lines those the traces show, at
// the mean of their speeds; shifts, in m/s, may be nil. The grip limit is drawn as
// force at the wheels, so that it compares with the curves: what the tyres pass and
// what the rotating parts take while they do.
func TractiveForce(p *explain.Prediction, measured *explain.ModeForce, shifts []float64, o Options) *Figure {
	tr := p.Train
	per, series := o.shown().SpeedPer, o.lineup(nil, p.Mode).series(p.Mode)
	top := tr.TopSpeed()
	f := &Figure{Title: "Force at the wheels in each gear, mode " + p.Mode, Size: o.size(),
		XTitle: o.speedTitle(), YTitle: "force at the wheels, kN"}
	f.Desc = fmt.Sprintf("Tractive force against speed in %d gears, with the road load", len(tr.Gears))
	if p.Grip != nil {
		f.Desc += fmt.Sprintf(" and the grip limit of %.1f kN", tr.Grip/1000)
	}
	bands := forceStretches(measured, per)
	if len(bands) > 0 {
		f.Desc += fmt.Sprintf("; measured in %d runs, as a band", measured.Runs)
	}
	f.Desc += "."
	f.Plot = func(t *Theme) *plot.Plot {
		pl := o.newPlot(t)
		pl.X.Max = top / per * 1.02
		var avoid []*Curve
		var marks []Mark
		add := func(c *Curve) {
			pl.Add(c)
			avoid = append(avoid, c)
		}
		for g := range tr.Gears {
			from, end := 0.0, tr.RoadSpeed(g, tr.Engine.Limit)
			if g != max(0, tr.StartGear-1) { // only there the engine is held up
				from = min(end, tr.RoadSpeed(g, tr.EngineSpeed(g, 0)))
			}
			c := sampled(from, end, per, t.Line(series), func(v float64) float64 { return tr.Force(g, v*(1-1e-12)) })
			pl.Y.Max = math.Max(pl.Y.Max, maximum(c.Y))
			add(c)
			top := slices.Index(c.Y, maximum(c.Y))
			marks = append(marks, Mark{X: c.X[top], Y: c.Y[top], Text: fmt.Sprintf("gear %d", g+1), Above: true})
		}
		for _, b := range bands {
			b.Color = t.Ink().Fade(0.28)
			pl.Add(b)
			mid := &Curve{X: b.X, Style: draw.LineStyle{Color: t.Ink(), Width: LineWidth}}
			for i, y := range b.Hi {
				pl.Y.Max = math.Max(pl.Y.Max, y)
				mid.Y = append(mid.Y, (b.Lo[i]+y)/2)
			}
			add(mid)
			avoid = append(avoid, &Curve{X: b.X, Y: b.Hi}, &Curve{X: b.X, Y: b.Lo})
		}
		soft := draw.LineStyle{Color: t.Ink(), Width: 1}
		load := sampled(0, top*1.02, per, soft, tr.RoadLoad)
		add(load)
		marks = append(marks, load.mark(0.7, Mark{Text: "road load"}))
		if n := len(bands); n > 0 {
			b := bands[n-1]
			i := len(b.X) * 3 / 4
			marks = append(marks, Mark{X: b.X[i], Y: b.Hi[i], Text: "measured, 95 %", Above: true})
		}
		if p.Grip != nil {
			c := gripCurve(p, top*1.02, per)
			pl.Y.Max = math.Max(pl.Y.Max, maximum(c.Y))
			c.Style = soft
			c.Style.Dashes = dashes[1]
			add(c)
			marks = append(marks, c.mark(0.7, Mark{Text: "grip limit", Above: true}))
		}
		if p.Run != nil {
			for _, s := range p.Run.Shifts {
				marks = append(marks, Mark{X: s.Speed / per, Y: tr.Force(s.From-1, s.Speed*(1-1e-9)) / 1000, Text: fmt.Sprintf("shift %d to %d", s.From, s.To), Above: true, Open: true})
			}
		}
		pl.Y.Max = niceTop(pl.Y.Max*1.06, 6)
		for i, v := range shifts {
			add(straight(v/per, 0, v/per, pl.Y.Max, draw.LineStyle{Color: t.Soft(), Width: 0.7, Dashes: dashes[2]}))
			if i == 0 {
				marks = append(marks, Mark{X: v / per, Y: pl.Y.Max * 0.08, Text: "shift seen"})
			}
		}
		pl.Add(&Marks{Points: marks, Avoid: avoid, Theme: t, Color: t.Ink()})
		return pl
	}
	return f
}

// gripCurve is the force at the wheels in kN at which the tyres pass all they can,
// in the gear that the run is in at each speed.
func gripCurve(p *explain.Prediction, top, per float64) *Curve {
	tr := p.Train
	gear := max(0, tr.StartGear-1)
	return sampled(0, top, per, draw.LineStyle{}, func(v float64) float64 {
		for gear+1 < len(tr.Gears) && v > tr.UpshiftSpeed(gear) {
			gear++
		}
		return tr.Grip + (tr.Factor(gear)-1)*math.Max(0, tr.Grip-tr.RoadLoad(v))
	})
}

// mark is a point of a curve a share of the way along it.
func (l *Curve) mark(along float64, m Mark) Mark {
	i := int(along*float64(len(l.X)-1) + 1e-9)
	m.X, m.Y = l.X[i], l.Y[i]
	return m
}

// forceGap is the gap in speed, in m/s, over which a band is not drawn: assumed,
// three of the steps that the measured force is given in.
const forceGap = 1.6

// forceStretches are the bands of the measured force in kN against speed, apart
// where thrust was interrupted; none without the mass.
func forceStretches(m *explain.ModeForce, per float64) []*Band {
	if m == nil {
		return nil
	}
	var out []*Band
	var b *Band
	last := math.Inf(-1)
	for _, p := range m.Points {
		if p.InShift || math.IsNaN(p.Force.X) || math.IsNaN(p.Force.U) {
			b = nil
			continue
		}
		if b == nil || p.Speed-last > forceGap {
			b = &Band{}
			out = append(out, b)
		}
		last = p.Speed
		b.X = append(b.X, p.Speed/per)
		b.Lo, b.Hi = append(b.Lo, (p.Force.X-p.Force.U95())/1000), append(b.Hi, (p.Force.X+p.Force.U95())/1000)
	}
	return slices.DeleteFunc(out, func(b *Band) bool { return len(b.X) < 2 })
}

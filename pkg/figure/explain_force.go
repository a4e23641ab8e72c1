package figure

import (
	"fmt"
	"math"

	"fromrest/pkg/session/explain"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"
)

// TractiveForce draws a mode's force at the wheels against speed in each gear,
// with the grip limit and the road load, and over them the measured force with its
// 95 % band; measured may be nil. The prediction must have a Train.
//
// Rings are the shifts the sheet predicts, upright lines those the traces show, at
// the mean of their speeds; shifts, in m/s, may be nil. The grip limit is drawn as
// force at the wheels, so that it compares with the curves: what the tyres pass and
// what the rotating parts take while they do.
func TractiveForce(p *explain.Prediction, measured *explain.ModeForce, shifts []float64, o Options) *Figure {
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
	bands := forceStretches(measured, per)
	if len(bands) > 0 {
		f.Desc += fmt.Sprintf("; measured in %d runs, as a band", measured.Runs)
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
			from, end := 0.0, tr.RoadSpeed(g, tr.Engine.Limit)
			if g != max(0, tr.StartGear-1) { // only there the engine is held up
				from = min(end, tr.RoadSpeed(g, tr.EngineSpeed(g, 0)))
			}
			for i := range n + 1 {
				v := from + (end-from)*float64(i)/n
				c.X, c.Y = append(c.X, v/per), append(c.Y, tr.Force(g, v*(1-1e-12))/1000)
				pl.Y.Max = math.Max(pl.Y.Max, c.Y[i])
			}
			pl.Add(fixed{c})
			avoid = append(avoid, c)
		}
		for _, b := range bands {
			b.Color = t.Ink().Fade(0.28)
			pl.Add(fixed{b})
			mid := &Curve{X: b.X, Style: draw.LineStyle{Color: t.Ink(), Width: LineWidth}}
			for i, y := range b.Hi {
				pl.Y.Max = math.Max(pl.Y.Max, y)
				mid.Y = append(mid.Y, (b.Lo[i]+y)/2)
			}
			pl.Add(fixed{mid})
			avoid = append(avoid, mid, &Curve{X: b.X, Y: b.Hi}, &Curve{X: b.X, Y: b.Lo})
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
		if n := len(bands); n > 0 {
			b := bands[n-1]
			i := len(b.X) * 3 / 4
			marks = append(marks, Mark{X: b.X[i], Y: b.Hi[i], Text: "measured, 95 %", Above: true})
		}
		if p.Grip != nil {
			c := gripCurve(p, top*1.02, per)
			for _, y := range c.Y {
				pl.Y.Max = math.Max(pl.Y.Max, y)
			}
			c.Style = soft
			c.Style.Dashes = dashes[1]
			pl.Add(fixed{c})
			avoid = append(avoid, c)
			i := len(c.X) * 7 / 10
			marks = append(marks, Mark{X: c.X[i], Y: c.Y[i], Text: "grip limit", Above: true})
		}
		if p.Run != nil {
			for _, s := range p.Run.Shifts {
				marks = append(marks, Mark{X: s.Speed / per, Y: tr.Force(s.From-1, s.Speed*(1-1e-9)) / 1000, Text: fmt.Sprintf("shift %d to %d", s.From, s.To), Above: true, Open: true})
			}
		}
		pl.Y.Max = niceTop(pl.Y.Max*1.06, 6)
		for i, v := range shifts {
			c := &Curve{X: []float64{v / per, v / per}, Y: []float64{0, pl.Y.Max}, Style: draw.LineStyle{Color: t.Soft(), Width: 0.7, Dashes: dashes[2]}}
			pl.Add(fixed{c})
			avoid = append(avoid, c)
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
	tr, c := p.Train, &Curve{}
	gear := max(0, tr.StartGear-1)
	const n = 300
	for i := range n + 1 {
		v := top * float64(i) / n
		for gear+1 < len(tr.Gears) && v > tr.UpshiftSpeed(gear) {
			gear++
		}
		y := tr.Grip + (tr.Factor(gear)-1)*math.Max(0, tr.Grip-tr.RoadLoad(v))
		c.X, c.Y = append(c.X, v/per), append(c.Y, y/1000)
	}
	return c
}

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
		if b == nil || p.Speed-last > 1.6 {
			b = &Band{}
			out = append(out, b)
		}
		last = p.Speed
		b.X = append(b.X, p.Speed/per)
		b.Lo, b.Hi = append(b.Lo, (p.Force.X-p.Force.U95())/1000), append(b.Hi, (p.Force.X+p.Force.U95())/1000)
	}
	kept := out[:0]
	for _, b := range out {
		if len(b.X) > 1 {
			kept = append(kept, b)
		}
	}
	return kept
}

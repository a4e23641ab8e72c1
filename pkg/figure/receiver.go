package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
)

// ReceiverNote explains the marks of Receiver.
const ReceiverNote = "Dots: speeds of the starts less the estimate; band: 95 of 100 normal errors. Lines: the firmest stops, counted from the last speed that moves."

// Receiver draws a log at close quarters: above, what its speeds under way are off the
// estimate, against speed; beneath, the ends of its stops. It is nil where the log shows
// neither.
func Receiver(l *session.Log, o Options) *Figure {
	p := l.Portrait
	if p == nil || len(p.Off) == 0 && len(p.Stops) == 0 {
		return nil
	}
	size := o.size()
	parts := []*Figure{}
	if len(p.Off) > 0 {
		parts = append(parts, residuals(p, o))
	}
	if len(p.Stops) > 0 {
		parts = append(parts, tails(p, o))
	}
	f := &Figure{Title: l.Name + ": the receiver at close quarters", Note: ReceiverNote, Size: Size{size.W, size.H * vg.Length(float64(len(parts)+1)/2)}}
	for _, part := range parts {
		f.Desc += part.Desc + " "
	}
	f.Draw = func(c draw.Canvas, t *Theme) {
		h := (c.Max.Y - c.Min.Y) / vg.Length(len(parts))
		for i, part := range parts {
			at := c
			at.Max.Y = c.Max.Y - h*vg.Length(i)
			at.Min.Y = at.Max.Y - h
			part.drawOn(at, t, false)
		}
	}
	return f
}

// residuals are the speeds less the estimate, against speed.
func residuals(p *session.Portrait, o Options) *Figure {
	shown := o.shown()
	f := &Figure{Size: o.size(), XTitle: o.speedTitle(), YTitle: "speed less the estimate, " + shown.Speed}
	f.Desc = fmt.Sprintf("%d speeds of %d starts less the estimate.", p.N, p.Starts)
	if p.Scatter > 0 {
		f.Desc = fmt.Sprintf("%d speeds of %d starts scatter by %s m/s about the estimate.", p.N, p.Starts, uncert.RoundHalfUp(p.Scatter, 3))
	}
	x, y := scaledTo(p.OffV, shown.SpeedPer), scaledTo(p.Off, shown.SpeedPer)
	f.Plot = func(t *Theme) *plot.Plot {
		pl := o.newPlot(t)
		_, fastest := extent(x)
		lo, hi := extent(y)
		half := math.Max(math.Max(-lo, hi), 1e-3)
		pl.X.Min, pl.X.Max = 0, niceTop(fastest, 8)
		pl.Y.Min, pl.Y.Max = -1.05*half, 1.05*half
		if p.Scatter > 0 {
			b := uncert.Z95 * p.Scatter / shown.SpeedPer
			pl.Add(&Band{X: []float64{0, pl.X.Max}, Lo: []float64{-b, -b}, Hi: []float64{b, b}, Color: t.Series(0).Fade(0.15)})
		}
		pl.Add(straight(0, 0, pl.X.Max, 0, draw.LineStyle{Color: t.Soft(), Width: 0.6}), &Dots{X: x, Y: y, Color: t.Ink().Fade(0.5), Radius: 1.1})
		return pl
	}
	return f
}

// tailTop is the speed in m/s below which stops are drawn: their tails are what matters.
const tailTop = 3

// tails are the ends of stops.
func tails(p *session.Portrait, o Options) *Figure {
	shown := o.shown()
	f := &Figure{Size: o.size(), XTitle: "time since the last speed that moves, s", YTitle: "speed at stops, " + shown.Speed, Desc: fmt.Sprintf("The ends of %d stops.", len(p.Stops))}
	f.Plot = func(t *Theme) *plot.Plot {
		pl := o.newPlot(t)
		pl.Y.Min = 0
		from, top, to := 0.0, 0.0, 0.0
		for _, s := range p.Stops {
			i := slices.IndexFunc(s.V, func(v float64) bool { return v <= tailTop })
			x, v := s.T[i:], scaledTo(s.V[i:], shown.SpeedPer)
			top, from, to = math.Max(top, maximum(v)), math.Min(from, x[0]), math.Max(to, x[len(x)-1])
			pl.Add(&Curve{X: x, Y: v, Style: draw.LineStyle{Color: t.Series(0).Fade(0.6), Width: 0.8}}, &Dots{X: x, Y: v, Color: t.Series(0), Radius: 1.2})
		}
		pl.X.Min, pl.X.Max, pl.Y.Max = from, to, niceTop(top, 6)
		pl.Add(&Upright{X: 0, Style: draw.LineStyle{Color: t.Soft(), Width: 0.6}})
		return pl
	}
	return f
}

// scaledTo is a column over a unit.
func scaledTo(col []float64, per float64) []float64 {
	out := make([]float64, len(col))
	for i, x := range col {
		out[i] = x / per
	}
	return out
}

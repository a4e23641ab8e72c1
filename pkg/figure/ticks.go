package figure

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"
)

// Ticks places ticks at round numbers: steps of 1, 2 or 5 times a power of ten,
// at most Most of them.
type Ticks struct{ Most int }

// Ticks implements plot.Ticker.
func (k Ticks) Ticks(lo, hi float64) []plot.Tick {
	if !(hi > lo) || math.IsInf(hi-lo, 0) {
		return nil
	}
	step := niceStep(hi-lo, max(k.Most, 2))
	places := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	var ticks []plot.Tick
	for n := math.Ceil(lo/step - 1e-9); n*step <= hi+1e-9*step; n++ {
		v := n * step
		label := strconv.FormatFloat(v, 'f', places, 64)
		if n == 0 {
			v, label = 0, "0" // never "-0" or "0.0"
		}
		ticks = append(ticks, plot.Tick{Value: v, Label: strings.Replace(label, "-", "−", 1)})
	}
	return ticks
}

// niceStep is the smallest round step that puts at most n ticks into a span.
func niceStep(span float64, n int) float64 {
	raw := span / float64(n)
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	for _, m := range []float64{1, 2, 5, 10} {
		if m*power >= raw*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// niceTop is the end of an axis that begins at zero: hi, rounded up to a tick
// where that wastes little.
func niceTop(hi float64, most int) float64 {
	step := niceStep(hi, most)
	top := math.Ceil(hi/step-1e-9) * step
	if top > hi*1.12 {
		return hi * 1.04
	}
	return top
}

// gridLines draws the grid at the major ticks.
type gridLines struct{ draw.LineStyle }

// Plot implements plot.Plotter.
func (g *gridLines) Plot(c draw.Canvas, p *plot.Plot) {
	_, y := p.Transforms(&c)
	for _, t := range p.X.Tick.Marker.Ticks(p.X.Min, p.X.Max) {
		if !t.IsMinor() {
			(&Upright{t.Value, g.LineStyle}).Plot(c, p)
		}
	}
	for _, t := range p.Y.Tick.Marker.Ticks(p.Y.Min, p.Y.Max) {
		if at := y(t.Value); !t.IsMinor() && c.ContainsY(at) {
			c.StrokeLine2(g.LineStyle, c.Min.X, at, c.Max.X, at)
		}
	}
}

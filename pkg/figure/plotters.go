package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// tolerance is how far a simplified line may lie from the real one; a tenth of a
// point cannot be seen and leaves a few hundred points of thousands.
const tolerance = vg.Length(0.08)

// Curve is a line through points, broken where a coordinate is not finite.
type Curve struct {
	X, Y  []float64
	Style draw.LineStyle
}

// Plot implements plot.Plotter.
func (l *Curve) Plot(c draw.Canvas, p *plot.Plot) {
	for _, pts := range pieces(c, p, l.X, l.Y) {
		c.StrokeLines(l.Style, c.ClipLinesXY(simplify(pts, tolerance))...)
	}
}

// DataRange implements plot.DataRanger.
func (l *Curve) DataRange() (xmin, xmax, ymin, ymax float64) { return rangeOf(l.X, l.Y) }

// Band is the area between two curves over the same X.
type Band struct {
	X, Lo, Hi []float64
	Color     color.Color
}

// Plot implements plot.Plotter.
func (b *Band) Plot(c draw.Canvas, p *plot.Plot) {
	mid := make([]float64, len(b.X))
	for i := range mid {
		mid[i] = b.Lo[i] + b.Hi[i] // finite where both are
	}
	for _, s := range spans(b.X, mid) {
		lo := simplify(project(c, p, b.X[s[0]:s[1]], b.Lo[s[0]:s[1]]), tolerance)
		hi := simplify(project(c, p, b.X[s[0]:s[1]], b.Hi[s[0]:s[1]]), tolerance)
		for i := len(hi) - 1; i >= 0; i-- {
			lo = append(lo, hi[i])
		}
		if poly := c.ClipPolygonXY(lo); len(poly) > 2 {
			c.FillPolygon(b.Color, poly)
		}
	}
}

// Dots are samples, drawn as one path however many there are.
type Dots struct {
	X, Y   []float64
	Color  color.Color
	Radius vg.Length
}

// mostDots is how many dots are drawn at most: beyond it they merge into a grey
// band and only make the file larger.
const mostDots = 600

// Plot implements plot.Plotter.
func (d *Dots) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	inside := 0
	for i := range d.X {
		if finite(d.X[i], d.Y[i]) && c.Contains(vg.Point{X: tx(d.X[i]), Y: ty(d.Y[i])}) {
			inside++
		}
	}
	every := max(1, (inside+mostDots-1)/mostDots)
	var path vg.Path
	n := 0
	for i := range d.X {
		at := vg.Point{X: tx(d.X[i]), Y: ty(d.Y[i])}
		if !finite(d.X[i], d.Y[i]) || !c.Contains(at) {
			continue
		}
		if n++; (n-1)%every != 0 {
			continue
		}
		for k := range 6 {
			s, co := math.Sincos(float64(k) * math.Pi / 3)
			corner := vg.Point{X: at.X + d.Radius*vg.Length(co), Y: at.Y + d.Radius*vg.Length(s)}
			if k == 0 {
				path.Move(corner)
			} else {
				path.Line(corner)
			}
		}
		path.Close()
	}
	if len(path) > 0 {
		c.SetColor(d.Color)
		c.Fill(path)
	}
}

// Upright is a vertical line across the plot.
type Upright struct {
	X     float64
	Style draw.LineStyle
}

// Plot implements plot.Plotter.
func (u *Upright) Plot(c draw.Canvas, p *plot.Plot) {
	tx, _ := p.Transforms(&c)
	if x := tx(u.X); c.ContainsX(x) {
		c.StrokeLine2(u.Style, x, c.Min.Y, x, c.Max.Y)
	}
}

// pieces are the runs of finite points on the canvas.
func pieces(c draw.Canvas, p *plot.Plot, x, y []float64) [][]vg.Point {
	var out [][]vg.Point
	for _, s := range spans(x, y) {
		out = append(out, project(c, p, x[s[0]:s[1]], y[s[0]:s[1]]))
	}
	return out
}

func project(c draw.Canvas, p *plot.Plot, x, y []float64) []vg.Point {
	tx, ty := p.Transforms(&c)
	pts := make([]vg.Point, len(x))
	for i := range x {
		pts[i] = vg.Point{X: tx(x[i]), Y: ty(y[i])}
	}
	return pts
}

// spans are the index ranges over which both columns are finite.
func spans(x, y []float64) [][2]int {
	var out [][2]int
	begin := -1
	for i := range x {
		switch ok := finite(x[i], y[i]); {
		case ok && begin < 0:
			begin = i
		case !ok && begin >= 0:
			out = append(out, [2]int{begin, i})
			begin = -1
		}
	}
	if begin >= 0 {
		out = append(out, [2]int{begin, len(x)})
	}
	return out
}

func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

func rangeOf(x, y []float64) (xmin, xmax, ymin, ymax float64) {
	xmin, ymin, xmax, ymax = math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)
	for i := range x {
		if finite(x[i], y[i]) {
			xmin, xmax = math.Min(xmin, x[i]), math.Max(xmax, x[i])
			ymin, ymax = math.Min(ymin, y[i]), math.Max(ymax, y[i])
		}
	}
	return xmin, xmax, ymin, ymax
}

// simplify leaves out points that lie within tol of the line through their kept
// neighbours (Douglas and Peucker 1973).
func simplify(pts []vg.Point, tol vg.Length) []vg.Point {
	if len(pts) < 3 {
		return pts
	}
	keep := make([]bool, len(pts))
	keep[0], keep[len(pts)-1] = true, true
	stack := [][2]int{{0, len(pts) - 1}}
	for len(stack) > 0 {
		a, b := stack[len(stack)-1][0], stack[len(stack)-1][1]
		stack = stack[:len(stack)-1]
		far, worst := -1, tol
		for i := a + 1; i < b; i++ {
			if d := distance(pts[i], pts[a], pts[b]); d > worst {
				far, worst = i, d
			}
		}
		if far > 0 {
			keep[far] = true
			stack = append(stack, [2]int{a, far}, [2]int{far, b})
		}
	}
	out := pts[:0:0]
	for i, k := range keep {
		if k {
			out = append(out, pts[i])
		}
	}
	return out
}

// distance is that of p from the segment ab.
func distance(p, a, b vg.Point) vg.Length {
	d, e := b.Sub(a), p.Sub(a)
	n := d.Dot(d)
	if n == 0 {
		return vg.Length(math.Hypot(float64(e.X), float64(e.Y)))
	}
	t := math.Max(0, math.Min(1, float64(d.Dot(e)/n)))
	return vg.Length(math.Hypot(float64(e.X)-t*float64(d.X), float64(e.Y)-t*float64(d.Y)))
}

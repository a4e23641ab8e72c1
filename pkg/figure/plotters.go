package figure

import (
	"image/color"
	"math"
	"slices"

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

// straight is a line between two points.
func straight(x1, y1, x2, y2 float64, style draw.LineStyle) *Curve {
	return &Curve{X: []float64{x1, x2}, Y: []float64{y1, y2}, Style: style}
}

// sampled is the curve of f(v) in kilo-units at even steps of v, which is drawn in
// units of per.
func sampled(from, to, per float64, style draw.LineStyle, f func(v float64) float64) *Curve {
	c := &Curve{Style: style}
	for i := range sampledSteps + 1 {
		v := from + (to-from)*float64(i)/sampledSteps
		c.X, c.Y = append(c.X, v/per), append(c.Y, f(v)/1000)
	}
	return c
}

// sampledSteps is fine enough for any curve of a vehicle's at the width of a page:
// common practice.
const sampledSteps = 300

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
		slices.Reverse(hi)
		if poly := c.ClipPolygonXY(append(lo, hi...)); len(poly) > 2 {
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
	inside := slices.DeleteFunc(slices.Concat(pieces(c, p, d.X, d.Y)...), func(at vg.Point) bool { return !c.Contains(at) })
	every := max(1, (len(inside)+mostDots-1)/mostDots)
	var path vg.Path
	for i := 0; i < len(inside); i += every {
		at := inside[i]
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

// extent is the range of the finite values, empty (+Inf, -Inf) where there is none.
func extent(x []float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, v := range x {
		if finite(v) {
			lo, hi = math.Min(lo, v), math.Max(hi, v)
		}
	}
	return lo, hi
}

func maximum(x []float64) float64 {
	_, hi := extent(x)
	return hi
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

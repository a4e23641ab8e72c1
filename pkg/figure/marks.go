package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Mark is a labelled point of a curve.
type Mark struct {
	X, Y  float64
	Text  string // "" for a dot alone
	Above bool   // prefer a place above and to the left of the curve
	Open  bool   // a ring in place of a dot
}

// Marks draws labelled points so that no label lies on another, on a curve or
// outside the plot. A label that has no place is left out; its point stays.
type Marks struct {
	Points []Mark
	Avoid  []*Curve
	Theme  *Theme
	Color  Paint
}

// Plot implements plot.Plotter.
func (m *Marks) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	st := m.Theme.Text(NoteSize, m.Theme.Ink())
	var lines [][]vg.Point
	for _, a := range m.Avoid {
		lines = append(lines, pieces(c, p, a.X, a.Y)...)
	}
	var taken []vg.Rectangle
	for _, k := range m.Points { // points first: no label may cover one
		taken = append(taken, box(tx(k.X)-2.6, ty(k.Y)-2.6, 5.2, 5.2))
	}
	for _, k := range m.Points {
		at := vg.Point{X: tx(k.X), Y: ty(k.Y)}
		if !finite(k.X, k.Y) || !c.Contains(at) {
			continue
		}
		m.dot(c, at, k)
		if k.Text == "" {
			continue
		}
		w, h := st.Width(k.Text), st.FontExtents().Ascent
		if r, leader, ok := place(c.Rectangle, at, w, h, k.Above, taken, lines); ok {
			taken = append(taken, r)
			if leader {
				near := vg.Point{X: max(r.Min.X, min(at.X, r.Max.X)), Y: max(r.Min.Y, min(at.Y, r.Max.Y))}
				c.StrokeLine2(draw.LineStyle{Color: m.Theme.Soft(), Width: 0.4}, at.X, at.Y, near.X, near.Y)
				m.dot(c, at, k)
			}
			c.FillText(baseline(st), vg.Point{X: r.Min.X, Y: r.Min.Y + 1}, k.Text)
		}
	}
}

func (m *Marks) dot(c draw.Canvas, at vg.Point, k Mark) {
	radius := vg.Length(2.1)
	if k.Text == "" {
		radius = 1.3
	}
	fillDisc(c, at, radius+0.7, m.Theme.Paper())
	fillDisc(c, at, radius, m.Color)
	if k.Open {
		fillDisc(c, at, radius-0.9, m.Theme.Paper())
	}
}

// place finds room for a label of the given size near a point: the nearest free
// place, trying the preferred side first. It reports whether the label is far
// enough to need a leader.
func place(area vg.Rectangle, at vg.Point, w, h vg.Length, above bool, taken []vg.Rectangle, lines [][]vg.Point) (r vg.Rectangle, leader, ok bool) {
	// Directions as factors of the label's size and of the distance.
	type dir struct{ fx, fy, dx, dy vg.Length }
	below := []dir{{0, -0.5, 1, -0.2}, {0, -1, 0.7, -0.6}, {-0.5, -1, 0, -1}, {-1, -1, -0.7, -0.6}}
	over := []dir{{-1, -0.5, -1, 0.2}, {-1, 0, -0.7, 0.6}, {-0.5, 0, 0, 1}, {0, 0, 0.7, 0.6}}
	first, then := below, over
	if above {
		first, then = over, below
	}
	for _, dirs := range [][]dir{first, then} {
		for _, d := range []vg.Length{5, 9, 14, 20, 28} {
			for _, k := range dirs {
				r := box(at.X+k.fx*w+k.dx*d, at.Y+k.fy*h+k.dy*d, w, h)
				if free(area, r, taken, lines) {
					return r, d > 9, true
				}
			}
		}
	}
	return r, false, false
}

func free(area, r vg.Rectangle, taken []vg.Rectangle, lines [][]vg.Point) bool {
	if r.Min.X < area.Min.X+1 || r.Max.X > area.Max.X+6 || r.Min.Y < area.Min.Y+1 || r.Max.Y > area.Max.Y {
		return false
	}
	for _, t := range taken {
		if r.Min.X < t.Max.X+2 && t.Min.X < r.Max.X+2 && r.Min.Y < t.Max.Y && t.Min.Y < r.Max.Y {
			return false
		}
	}
	grown := box(r.Min.X-1.5, r.Min.Y-1.5, r.Max.X-r.Min.X+3, r.Max.Y-r.Min.Y+3)
	for _, l := range lines {
		for i := 1; i < len(l); i++ {
			if crosses(l[i-1], l[i], grown) {
				return false
			}
		}
	}
	return true
}

// crosses reports whether a segment meets a rectangle (Liang and Barsky 1984).
func crosses(a, b vg.Point, r vg.Rectangle) bool {
	t0, t1 := 0.0, 1.0
	clip := func(d, lo, hi vg.Length) bool {
		if d == 0 {
			return lo <= 0 && hi >= 0
		}
		u, v := float64(lo/d), float64(hi/d)
		if u > v {
			u, v = v, u
		}
		t0, t1 = math.Max(t0, u), math.Min(t1, v)
		return t0 <= t1
	}
	return clip(b.X-a.X, r.Min.X-a.X, r.Max.X-a.X) && clip(b.Y-a.Y, r.Min.Y-a.Y, r.Max.Y-a.Y)
}

func box(x, y, w, h vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: x, Y: y}, Max: vg.Point{X: x + w, Y: y + h}}
}

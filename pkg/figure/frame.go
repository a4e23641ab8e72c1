package figure

import (
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Range is a part of an axis in the units of its title.
type Range struct{ Lo, Hi float64 }

// Frame is what somebody wants of a figure beside what it shows. The zero value wants
// nothing.
type Frame struct {
	Title string // in place of the figure's own
	X, Y  *Range // axes, nil for those that show everything
	// Height is that of the whole figure in points, 0 for its own, which grows with the key.
	Height vg.Length
}

// Framed has a figure drawn as wanted, and returns it.
func (f *Figure) Framed(w Frame) *Figure {
	if w.Title != "" {
		f.Title = w.Title
	}
	if w.Height > 0 {
		f.Size.H, f.fixed = w.Height, true
	}
	if whole := f.Plot; whole != nil && (w.X != nil || w.Y != nil) {
		f.Plot = func(t *Theme) *plot.Plot {
			p := whole(t)
			if w.X != nil {
				p.X.Min, p.X.Max = w.X.Lo, w.X.Hi
			}
			if w.Y != nil {
				p.Y.Min, p.Y.Max = w.Y.Lo, w.Y.Hi
			}
			return p
		}
	}
	return f
}

// HeightFor is the height that goes with a width: that of Narrow up to a column's, else
// that of Wide, in proportion.
func HeightFor(w vg.Length) vg.Length {
	of := Wide
	if w < (Narrow.W+Wide.W)/2 {
		of = Narrow
	}
	return w * of.H / of.W
}

// laidOut is the figure's size with room for all lines of its title, its note and its key.
func (f *Figure) laidOut(t *Theme, titled bool) Size {
	s := f.Size
	if f.fixed {
		return s
	}
	if title := titleStyle(t); titled {
		s.H += titleLine * vg.Length(len(fold(f.Title, title.Width, s.W-2*margin))-1)
	}
	if f.Note != "" && titled {
		s.H += noteLine*vg.Length(len(fold(f.Note, t.Text(NoteSize, t.Soft()).Width, s.W-2*margin))) + 3
	}
	if len(f.Key) == 0 {
		return s
	}
	scratch := f.belowTitle(draw.New(newSVG(s.W, s.H, false)), t, titled)
	if f.named(scratch, t) != nil {
		return s
	}
	n := layKey(t, f.Key, scratch.Max.X-scratch.Min.X)
	s.H += keyLine * vg.Length(n[len(n)-1].line)
	return s
}

const (
	keySample = vg.Length(20)
	keySpace  = vg.Length(12)
	keyLine   = vg.Length(11.5)
)

// keyPlace is where an entry of a key stands: its line, from 0, and how far in.
type keyPlace struct {
	line int
	x    vg.Length
	text string
}

// layKey lays a key out in as many lines as it needs within a width.
func layKey(t *Theme, key []KeyEntry, width vg.Length) []keyPlace {
	st := t.Text(LabelSize, t.Ink())
	var out []keyPlace
	x, line := vg.Length(0), 0
	for _, k := range key {
		text := fold(k.Text, st.Width, width-keySample-4)[0]
		w := keySample + 4 + st.Width(text)
		if x > 0 && x+w > width {
			x, line = 0, line+1
		}
		out = append(out, keyPlace{line, x, text})
		x += w + keySpace
	}
	return out
}

// drawKey draws the key and returns where the rest begins.
func drawKey(c draw.Canvas, t *Theme, key []KeyEntry) vg.Length {
	if len(key) == 0 {
		return c.Max.Y
	}
	st := t.Text(LabelSize, t.Ink())
	top := c.Max.Y - st.FontExtents().Ascent
	y := top
	for i, k := range layKey(t, key, c.Max.X-c.Min.X) {
		x := c.Min.X + k.x
		y = top - keyLine*vg.Length(k.line)
		sty := t.Weighed(key[i].Series, key[i].Weight)
		sty.Width *= 1.15
		c.StrokeLine2(sty, x, y+2.8, x+keySample, y+2.8)
		c.FillText(baseline(st), vg.Point{X: x + keySample + 4, Y: y}, k.text)
	}
	return y - 7
}

// End is the end of the line that an entry of the key names, in the units of the axes.
type End struct{ X, Y float64 }

// name is the name of a line where it stands.
type name struct {
	at    vg.Point // its left end, on the baseline
	text  string
	color Paint
}

// named are the names of the lines at their ends, which then need no key; nil where they do
// not fit there: several lines of one colour, or ends too near to each other.
func (f *Figure) named(c draw.Canvas, t *Theme) []name {
	if len(f.Key) < 2 || len(f.Ends) != len(f.Key) || f.Plot == nil {
		return nil
	}
	area := f.plotArea(c)
	room := f.endRoom(t)
	if room > (area.Max.X-area.Min.X)/4 {
		return nil
	}
	area.Max.X -= room
	p := f.Plot(t)
	data := p.DataCanvas(area)
	tx, ty := p.Transforms(&data)
	height := t.Text(LabelSize, t.Ink()).FontExtents().Ascent
	var out []name
	for i, e := range f.Ends {
		x, y := tx(e.X), ty(e.Y)
		if !finite(e.X, e.Y) || f.Key[i].Weight > 0 || !data.ContainsX(x) || !data.ContainsY(y) {
			return nil
		}
		n := name{vg.Point{X: x + f.endGap(), Y: y - height/2 + 0.8}, f.Key[i].Text, t.Series(f.Key[i].Series)}
		for _, o := range out {
			if math.Abs(float64(o.at.Y-n.at.Y)) < float64(height+2.5) {
				return nil
			}
		}
		out = append(out, n)
	}
	return out
}

// endRoom is the room that the names at the ends of lines take beside the plot.
func (f *Figure) endRoom(t *Theme) vg.Length {
	st := t.Text(LabelSize, t.Ink())
	w := vg.Length(0)
	for _, k := range f.Key {
		w = max(w, st.Width(k.Text))
	}
	return w + f.endGap()
}

// endGap is how far from the end of a line its name stands.
func (f *Figure) endGap() vg.Length {
	if f.endMarked {
		return 4 + endRadius
	}
	return 4
}

package figure

import (
	"fmt"
	"html"
	"image"
	"image/color"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
)

// typeface asks for the face that text was measured in, then for faces of the
// same widths.
const typeface = `"Liberation Sans",Arial,Helvetica,sans-serif`

// svgCanvas is a vg.Canvas that writes SVG with colours by role: as CSS
// variables where the drawing goes into a page, as plain colours in a file.
// Coordinates are turned upside down as they are written, so the output has no
// mirrored groups around its text.
type svgCanvas struct {
	b     strings.Builder
	w, h  vg.Length
	page  bool // write CSS variables
	stack []strokeState
}

// strokeState is what a canvas draws with.
type strokeState struct {
	color  color.Color
	width  vg.Length
	dashes []vg.Length
	offset vg.Length
}

func newSVG(w, h vg.Length, page bool) *svgCanvas {
	return &svgCanvas{w: w, h: h, page: page, stack: []strokeState{{color: color.Black, width: 1}}}
}

func (c *svgCanvas) top() *strokeState { return &c.stack[len(c.stack)-1] }

func (c *svgCanvas) Size() (w, h vg.Length)   { return c.w, c.h }
func (c *svgCanvas) SetLineWidth(w vg.Length) { c.top().width = w }
func (c *svgCanvas) SetColor(clr color.Color) { c.top().color = clr }
func (c *svgCanvas) Push()                    { c.stack = append(c.stack, *c.top()) }
func (c *svgCanvas) Pop()                     { c.stack = c.stack[:len(c.stack)-1] }
func (c *svgCanvas) SetLineDash(d []vg.Length, o vg.Length) {
	c.top().dashes, c.top().offset = d, o
}

// No figure turns, moves or scales its canvas, or holds a picture.
const notDrawn = "figure: an SVG of a turned, moved or scaled drawing, or of a picture"

func (c *svgCanvas) Rotate(float64)                      { panic(notDrawn) }
func (c *svgCanvas) Translate(vg.Point)                  { panic(notDrawn) }
func (c *svgCanvas) Scale(_, _ float64)                  { panic(notDrawn) }
func (c *svgCanvas) DrawImage(vg.Rectangle, image.Image) { panic(notDrawn) }

// at is a point of the drawing in SVG's coordinates, as text.
func (c *svgCanvas) at(p vg.Point) (x, y string) {
	return num(p.X.Points()), num(c.h.Points() - p.Y.Points())
}

func (c *svgCanvas) Stroke(p vg.Path) {
	if c.top().width <= 0 {
		return
	}
	fmt.Fprintf(&c.b, `<path d="%s" fill="none" stroke-width="%s" stroke-linejoin="round" %s`,
		c.path(p), num(c.top().width.Points()), c.paint("stroke"))
	if d := c.top().dashes; len(d) > 0 {
		var list []string
		for _, l := range d {
			list = append(list, num(l.Points()))
		}
		fmt.Fprintf(&c.b, ` stroke-dasharray="%s"`, strings.Join(list, " "))
		if c.top().offset != 0 {
			fmt.Fprintf(&c.b, ` stroke-dashoffset="%s"`, num(c.top().offset.Points()))
		}
	}
	c.b.WriteString("/>\n")
}

func (c *svgCanvas) Fill(p vg.Path) {
	fmt.Fprintf(&c.b, `<path d="%s" %s/>`+"\n", c.path(p), c.paint("fill"))
}

func (c *svgCanvas) FillString(f font.Face, pt vg.Point, s string) {
	if f.Font.Size == 0 || s == "" {
		return
	}
	x, y := c.at(pt)
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" font-size="%s"`, x, y, num(f.Font.Size.Points()))
	if f.Font.Weight > 0 {
		c.b.WriteString(` font-weight="bold"`)
	}
	// In whatever face, text takes the room it was given.
	fmt.Fprintf(&c.b, ` textLength="%s" lengthAdjust="spacingAndGlyphs" %s>%s</text>`+"\n", num(f.Width(s).Points()), c.paint("fill"), html.EscapeString(clean(s)))
}

// plain is a colour with its opacity.
func plain(clr color.Color) color.NRGBA {
	if p, ok := clr.(Paint); ok {
		return p.Value
	}
	if clr == nil {
		return color.NRGBA{A: 255}
	}
	return color.NRGBAModel.Convert(clr).(color.NRGBA)
}

// paint is a fill or stroke attribute with its opacity.
func (c *svgCanvas) paint(what string) string {
	p, ok := c.top().color.(Paint)
	n := plain(c.top().color)
	s := fmt.Sprintf(`%s="#%02x%02x%02x"`, what, n.R, n.G, n.B)
	if ok && c.page {
		s = fmt.Sprintf(`style="%s:var(--fig-%s,#%02x%02x%02x)"`, what, p.Role, n.R, n.G, n.B)
	}
	if n.A < 255 {
		s += fmt.Sprintf(` %s-opacity="%s"`, what, num(float64(n.A)/255))
	}
	return s
}

func (c *svgCanvas) path(p vg.Path) string {
	var b strings.Builder
	pt := func(cmd string, q vg.Point) {
		x, y := c.at(q)
		b.WriteString(cmd + x + " " + y)
	}
	for _, e := range p {
		switch e.Type {
		case vg.MoveComp:
			pt("M", e.Pos)
		case vg.LineComp:
			pt("L", e.Pos)
		case vg.ArcComp:
			c.arc(&b, e)
		case vg.CloseComp:
			b.WriteString("Z")
		}
	}
	return b.String()
}

// arc draws an arc as pieces of at most a quarter turn, which also makes a full
// circle possible.
func (c *svgCanvas) arc(b *strings.Builder, e vg.PathComp) {
	n := int(math.Ceil(math.Abs(e.Angle)/(math.Pi/2) - 1e-9))
	r := num(e.Radius.Points())
	sweep := "0" // the axis points down in SVG
	if e.Angle < 0 {
		sweep = "1"
	}
	for i := 0; i <= n; i++ {
		a := e.Start
		if n > 0 {
			a += e.Angle * float64(i) / float64(n)
		}
		s, co := math.Sincos(a)
		x, y := c.at(vg.Point{X: e.Pos.X + e.Radius*vg.Length(co), Y: e.Pos.Y + e.Radius*vg.Length(s)})
		switch {
		case i == 0 && b.Len() == 0:
			b.WriteString("M" + x + " " + y)
		case i == 0:
			b.WriteString("L" + x + " " + y)
		default:
			b.WriteString("A" + r + " " + r + " 0 0 " + sweep + " " + x + " " + y)
		}
	}
}

// num prints a length to a hundredth of a point.
func num(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return "0"
	}
	s := strconv.FormatFloat(x, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" || s == "" {
		return "0"
	}
	return s
}

// clean drops what XML does not allow in a text.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		if r < 0x20 && r != '\t' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "?"))
}

package figure

import (
	"bytes"
	"cmp"
	"fmt"
	"image"
	"image/color"
	"math"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	stdfont "golang.org/x/image/font"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// PDF is the figure as a page of its own size, light on white, with the letters of its
// typeface that it uses.
func (f *Figure) PDF() ([]byte, error) {
	size := f.laidOut(Light(), true)
	c := newPDF(size.W, size.H)
	c.doc.SetTitle(f.Title, true)
	c.doc.SetSubject(f.Desc, true)
	maker := cmp.Or(f.MadeBy, "fromrest")
	c.doc.SetCreator(maker, true)
	c.doc.SetProducer(maker, true)
	f.drawOn(draw.New(&glyphCanvas{CanvasSizer: c}), Light(), true)
	var b bytes.Buffer
	if err := c.doc.Output(&b); err != nil {
		return nil, fmt.Errorf("figure %q: %w", f.Title, err)
	}
	return b.Bytes(), nil
}

// pdfCanvas is a vg.Canvas that writes a PDF of one page. Coordinates are turned upside
// down as they are written.
type pdfCanvas struct {
	doc   *fpdf.Fpdf
	w, h  vg.Length
	fonts map[string]bool // styles that the page has
	stack []strokeState
}

func newPDF(w, h vg.Length) *pdfCanvas {
	doc := fpdf.NewCustom(&fpdf.InitType{UnitStr: "pt", Size: fpdf.SizeType{Wd: w.Points(), Ht: h.Points()}})
	doc.SetMargins(0, 0, 0)
	doc.SetAutoPageBreak(false, 0)
	doc.AddPage()
	doc.SetLineJoinStyle("round")
	return &pdfCanvas{doc: doc, w: w, h: h, fonts: map[string]bool{}, stack: []strokeState{{color: color.Black, width: 1}}}
}

func (c *pdfCanvas) top() *strokeState { return &c.stack[len(c.stack)-1] }

func (c *pdfCanvas) Size() (w, h vg.Length)   { return c.w, c.h }
func (c *pdfCanvas) SetLineWidth(w vg.Length) { c.top().width = w }
func (c *pdfCanvas) SetColor(clr color.Color) { c.top().color = clr }
func (c *pdfCanvas) Push()                    { c.stack = append(c.stack, *c.top()) }
func (c *pdfCanvas) Pop()                     { c.stack = c.stack[:len(c.stack)-1] }
func (c *pdfCanvas) SetLineDash(d []vg.Length, o vg.Length) {
	c.top().dashes, c.top().offset = d, o
}

func (c *pdfCanvas) Rotate(float64)                      { panic(notDrawn) }
func (c *pdfCanvas) Translate(vg.Point)                  { panic(notDrawn) }
func (c *pdfCanvas) Scale(_, _ float64)                  { panic(notDrawn) }
func (c *pdfCanvas) DrawImage(vg.Rectangle, image.Image) { panic(notDrawn) }

// paint is the current colour, whose opacity it sets.
func (c *pdfCanvas) paint() (r, g, b int) {
	n := plain(c.top().color)
	c.doc.SetAlpha(float64(n.A)/255, "Normal")
	return int(n.R), int(n.G), int(n.B)
}

func (c *pdfCanvas) Stroke(p vg.Path) {
	s := c.top()
	if s.width <= 0 {
		return
	}
	c.doc.SetDrawColor(c.paint())
	c.doc.SetLineWidth(s.width.Points())
	var dashes []float64
	for _, d := range s.dashes {
		dashes = append(dashes, d.Points())
	}
	c.doc.SetDashPattern(dashes, s.offset.Points())
	c.path(p)
	c.doc.DrawPath("D")
}

func (c *pdfCanvas) Fill(p vg.Path) {
	c.doc.SetFillColor(c.paint())
	c.path(p)
	c.doc.DrawPath("F")
}

func (c *pdfCanvas) path(p vg.Path) {
	for i, e := range p {
		x, y := e.Pos.X.Points(), (c.h - e.Pos.Y).Points()
		switch e.Type {
		case vg.MoveComp:
			c.doc.MoveTo(x, y)
		case vg.LineComp:
			c.doc.LineTo(x, y)
		case vg.ArcComp:
			r, from := e.Radius.Points(), e.Start*180/math.Pi
			if i == 0 {
				c.doc.MoveTo(x+r*math.Cos(e.Start), y-r*math.Sin(e.Start))
			}
			c.doc.ArcTo(x, y, r, r, 0, from, from+e.Angle*180/math.Pi)
		case vg.CloseComp:
			c.doc.ClosePath()
		}
	}
}

func (c *pdfCanvas) FillString(f font.Face, pt vg.Point, s string) {
	if f.Font.Size == 0 || s == "" {
		return
	}
	style, letters := "", liberationsansregular.TTF
	if f.Font.Weight != stdfont.WeightNormal {
		style, letters = "B", liberationsansbold.TTF
	}
	if !c.fonts[style] {
		c.doc.AddUTF8FontFromBytes(typefaceName, style, letters)
		c.fonts[style] = true
	}
	c.doc.SetFont(typefaceName, style, f.Font.Size.Points())
	c.doc.SetTextColor(c.paint())
	c.doc.Text(pt.X.Points(), (c.h - pt.Y).Points(), s)
}

const typefaceName = "LiberationSans"

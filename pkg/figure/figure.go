package figure

import (
	"bytes"
	"fmt"
	"html"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/text/encoding/charmap"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgpdf"
)

func init() {
	// The library stamps a PDF with the time it was made and writes its
	// catalogue in the order of a map; the same figure must give the same bytes.
	fpdf.SetDefaultCreationDate(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	fpdf.SetDefaultModificationDate(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC))
	fpdf.SetDefaultCatalogSort(true)
}

// Size is the natural size of a figure in points. A page scales it to its width.
type Size struct{ W, H vg.Length }

// Narrow is made to be read at the width of a phone or beside another figure;
// Wide for a page or a screen.
var (
	Narrow = Size{300, 215}
	Wide   = Size{560, 300}
)

// Figure is a drawing that can be written in any format.
type Figure struct {
	Title string // one line, drawn in files and left to the caption in a page
	Desc  string // what a reader who cannot see it should know
	Size  Size
	// MadeBy names the program and its model, in the metadata of an SVG; it may be "".
	MadeBy string
	// Key names the lines; empty for a figure of one line.
	Key []KeyEntry
	// XTitle and YTitle are the axes' quantities and units.
	XTitle, YTitle string
	// Plot builds the plot in a theme.
	Plot func(t *Theme) *plot.Plot
	// Draw draws a figure that is no plot; Plot is then not asked.
	Draw func(c draw.Canvas, t *Theme)
}

// KeyEntry names one kind of line of a figure.
type KeyEntry struct {
	Series int // of its mode, or NoSeries
	Weight int // among the runs of the mode, where they are told apart
	Text   string
}

const margin = vg.Length(5)

// drawOn lays the figure out: title, key, title of the upright axis, plot, title
// of the level axis.
func (f *Figure) drawOn(c draw.Canvas, t *Theme, titled bool) {
	c = draw.Crop(c, margin, -margin-3, margin, -margin)
	if titled && f.Title != "" {
		st := t.Text(TitleSize, t.Ink())
		st.Font.Weight = stdfont.WeightBold
		y := c.Max.Y - st.FontExtents().Ascent
		for _, line := range fold(f.Title, st.Width, c.Max.X-c.Min.X) {
			c.FillText(baseline(st), vg.Point{X: c.Min.X, Y: y}, line)
			y -= 12
		}
		c.Max.Y = y + 12 - 8
	}
	c.Max.Y = drawKey(c, t, f.Key)
	st := t.Text(NoteSize, t.Soft())
	if f.YTitle != "" {
		c.FillText(baseline(st), vg.Point{X: c.Min.X, Y: c.Max.Y - st.FontExtents().Ascent}, f.YTitle)
		c.Max.Y -= 13
	}
	plotArea := c
	if f.XTitle != "" {
		c.FillText(baseline(st), vg.Point{X: c.Max.X - st.Width(f.XTitle), Y: c.Min.Y + 2}, f.XTitle)
		plotArea.Min.Y += 10
	}
	if f.Draw != nil {
		f.Draw(plotArea, t)
		return
	}
	f.Plot(t).Draw(plotArea)
}

// baseline makes a style whose text stands on the given point.
func baseline(st draw.TextStyle) draw.TextStyle {
	st.XAlign, st.YAlign = 0, draw.YAlignment(0)
	return st
}

// drawKey draws the key in as many lines as it needs and returns where the rest
// begins.
func drawKey(c draw.Canvas, t *Theme, key []KeyEntry) vg.Length {
	if len(key) == 0 {
		return c.Max.Y
	}
	const sample, space, line = 20, 12, 11.5
	st := t.Text(LabelSize, t.Ink())
	x, y := c.Min.X, c.Max.Y-st.FontExtents().Ascent
	for _, k := range key {
		text := fold(k.Text, st.Width, c.Max.X-c.Min.X-sample-4)[0]
		w := sample + 4 + st.Width(text)
		if x > c.Min.X && x+w > c.Max.X {
			x, y = c.Min.X, y-line
		}
		sty := t.Weighed(k.Series, k.Weight)
		sty.Width *= 1.15
		c.StrokeLine2(sty, x, y+2.8, x+sample, y+2.8)
		c.FillText(baseline(st), vg.Point{X: x + sample + 4, Y: y}, text)
		x += w + space
	}
	return y - 7
}

// fold breaks a text into lines no wider than w; a word that is too long by
// itself is cut.
func fold(s string, width func(string) vg.Length, w vg.Length) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		for width(word) > w && len([]rune(word)) > 1 {
			r := []rune(word)
			word = string(r[:len(r)-1])
		}
		switch {
		case line == "":
			line = word
		case width(line+" "+word) <= w:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	return append(lines, line)
}

// SVG is the figure as a file, light on white.
func (f *Figure) SVG() []byte { return f.svg(false, "") }

// InlineSVG is the figure as an element of a page. Its colours are the custom
// properties --fig-ink, --fig-soft, --fig-grid, --fig-paper and --fig-s1 to
// --fig-s7, see CSS; id must be unique in the page.
func (f *Figure) InlineSVG(id string) []byte { return f.svg(true, id) }

func (f *Figure) svg(page bool, id string) []byte {
	t := Light()
	c := newSVG(f.Size.W, f.Size.H, page)
	f.drawOn(draw.New(c), t, !page)
	var b bytes.Buffer
	w, h := num(f.Size.W.Points()), num(f.Size.H.Points())
	if !page {
		id = "figure"
		b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	}
	id = html.EscapeString(id)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d" font-family='%s'`,
		w, h, id, id, typeface)
	if page {
		fmt.Fprintf(&b, ` class="fig"`)
	} else {
		fmt.Fprintf(&b, ` width="%spt" height="%spt"`, w, h)
	}
	fmt.Fprintf(&b, ">\n<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n",
		id, html.EscapeString(clean(f.Title)), id, html.EscapeString(clean(f.Desc)))
	if f.MadeBy != "" {
		fmt.Fprintf(&b, "<metadata>%s</metadata>\n", html.EscapeString(clean(f.MadeBy)))
	}
	if !page {
		fmt.Fprintf(&b, "<rect width=\"%s\" height=\"%s\" fill=\"#ffffff\"/>\n", w, h)
	}
	b.WriteString(c.b.String())
	b.WriteString("</svg>\n")
	return b.Bytes()
}

// CSS declares the figures' colours for a page: light, dark where the reader
// prefers it, and light again in print.
func CSS() string {
	vars := func(t *Theme) string {
		var b strings.Builder
		paints := []Paint{t.Ink(), t.Soft(), t.Grid(), t.Paper()}
		for i := range seriesColours {
			paints = append(paints, t.Series(i))
		}
		for _, p := range paints {
			fmt.Fprintf(&b, "--fig-%s:#%02x%02x%02x;", p.Role, p.Value.R, p.Value.G, p.Value.B)
		}
		return b.String()
	}
	return ":root{" + vars(Light()) + "}\n" +
		"@media screen and (prefers-color-scheme:dark){:root{" + vars(Dark()) + "}}\n"
}

// PNG is the figure as a picture with scale·96 dots an inch: scale 1 for a
// screen, 2 for a fine one or a slide.
func (f *Figure) PNG(t *Theme, scale float64) ([]byte, error) {
	if !(scale > 0) || scale > 16 {
		return nil, fmt.Errorf("figure %q: scale %g is not between 0 and 16", f.Title, scale)
	}
	img := vgimg.NewWith(vgimg.UseWH(f.Size.W, f.Size.H), vgimg.UseDPI(int(96*scale)), vgimg.UseBackgroundColor(t.Paper()))
	f.drawOn(draw.New(&glyphCanvas{CanvasSizer: img}), t, true)
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: img}).WriteTo(&b); err != nil {
		return nil, fmt.Errorf("figure %q: %w", f.Title, err)
	}
	return b.Bytes(), nil
}

// PDF is the figure as a page of its own size, light on white.
func (f *Figure) PDF() ([]byte, error) {
	pdf := vgpdf.New(f.Size.W, f.Size.H)
	f.drawOn(draw.New(&pdfCanvas{CanvasSizer: pdf}), Light(), true)
	var b bytes.Buffer
	if _, err := pdf.WriteTo(&b); err != nil {
		return nil, fmt.Errorf("figure %q: %w", f.Title, err)
	}
	return b.Bytes(), nil
}

// glyphCanvas prints "?" for a character that the typeface does not have; it
// would vanish otherwise.
type glyphCanvas struct{ vg.CanvasSizer }

func (c *glyphCanvas) FillString(f font.Face, pt vg.Point, s string) {
	var buf sfnt.Buffer
	c.CanvasSizer.FillString(f, pt, strings.Map(func(r rune) rune {
		if i, err := f.Face.GlyphIndex(&buf, r); err != nil || i == 0 {
			return '?'
		}
		return r
	}, s))
}

// pdfCanvas writes text in the code page that the PDF's fonts are written with.
type pdfCanvas struct{ vg.CanvasSizer }

func (c *pdfCanvas) FillString(f font.Face, pt vg.Point, s string) {
	var out []byte
	for _, r := range s {
		b, ok := charmap.Windows1252.EncodeRune(r)
		if !ok {
			b = '?'
		}
		out = append(out, b)
	}
	if f.Font.Weight != stdfont.WeightNormal {
		// The library gives a second face of a family the outlines of the first:
		// letters of one weight would stand at the distances of another.
		f.Font.Weight = stdfont.WeightNormal
		f = font.DefaultCache.Lookup(f.Font, f.Font.Size)
	}
	c.CanvasSizer.FillString(f, pt, string(out))
}

package figure

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"html"
	"math"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	stdfont "golang.org/x/image/font"
	"golang.org/x/image/font/sfnt"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"

	"fromrest/pkg/unit"
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
	// Ends are where the lines that Key names end, in its order; nil where none can be named
	// there.
	Ends []End
	// Note explains the marks, in a file; a page says it once for all its figures.
	Note string
	// XTitle and YTitle are the axes' quantities and units.
	XTitle, YTitle string
	// Plot builds the plot in a theme.
	Plot func(t *Theme) *plot.Plot
	// Draw draws a figure that is no plot; Plot is then not asked.
	Draw func(c draw.Canvas, t *Theme)
	// Data are the numbers of what is drawn, a head first; nil where nobody asked for them.
	Data func() [][]string

	fixed     bool // Size holds whatever the key takes
	endMarked bool // lines have marks at their ends
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
	c = f.belowTitle(c, t, titled)
	names := f.named(c, t)
	if names == nil {
		c.Max.Y = drawKey(c, t, f.Key)
	}
	st := t.Text(NoteSize, t.Soft())
	if f.YTitle != "" {
		c.FillText(baseline(st), vg.Point{X: c.Min.X, Y: c.Max.Y - st.FontExtents().Ascent}, f.YTitle)
	}
	area := f.plotArea(c)
	if names != nil {
		area.Max.X -= f.endRoom(t)
	}
	if f.XTitle != "" {
		c.FillText(baseline(st), vg.Point{X: area.Max.X - st.Width(f.XTitle), Y: c.Min.Y + 2}, f.XTitle)
	}
	if f.Draw != nil {
		f.Draw(area, t)
		return
	}
	f.Plot(t).Draw(area)
	for _, n := range names {
		label := t.Text(LabelSize, n.color)
		c.FillText(baseline(label), n.at, n.text)
	}
}

// belowTitle draws the title and returns the canvas within the margins beneath it.
func (f *Figure) belowTitle(c draw.Canvas, t *Theme, titled bool) draw.Canvas {
	c = draw.Crop(c, margin, -margin-3, margin, -margin)
	if !titled {
		return c
	}
	if f.Title != "" {
		c.Max.Y = f.drawTitle(c, t)
	}
	if f.Note != "" {
		st := t.Text(NoteSize, t.Soft())
		lines := fold(f.Note, st.Width, c.Max.X-c.Min.X)
		for i, line := range lines {
			c.FillText(baseline(st), vg.Point{X: c.Min.X, Y: c.Max.Y - st.FontExtents().Ascent - noteLine*vg.Length(i)}, line)
		}
		c.Max.Y -= noteLine*vg.Length(len(lines)) + 3
	}
	return c
}

// noteLine is the height of a line of a note.
const noteLine = vg.Length(10)

const titleLine = vg.Length(12)

func titleStyle(t *Theme) draw.TextStyle {
	st := t.Text(TitleSize, t.Ink())
	st.Font.Weight = stdfont.WeightBold
	return st
}

// drawTitle draws the title and returns where the rest begins.
func (f *Figure) drawTitle(c draw.Canvas, t *Theme) vg.Length {
	st := titleStyle(t)
	y := c.Max.Y - st.FontExtents().Ascent
	for _, line := range fold(f.Title, st.Width, c.Max.X-c.Min.X) {
		c.FillText(baseline(st), vg.Point{X: c.Min.X, Y: y}, line)
		y -= titleLine
	}
	return y + titleLine - 8
}

// plotArea is the room for the plot between the titles of its axes.
func (f *Figure) plotArea(c draw.Canvas) draw.Canvas {
	if f.YTitle != "" {
		c.Max.Y -= 13
	}
	if f.XTitle != "" {
		c.Min.Y += 10
	}
	return c
}

// baseline makes a style whose text stands on the given point.
func baseline(st draw.TextStyle) draw.TextStyle {
	st.XAlign, st.YAlign = 0, draw.YAlignment(0)
	return st
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
	size := f.laidOut(t, !page)
	c := newSVG(size.W, size.H, page)
	f.drawOn(draw.New(c), t, !page)
	var b bytes.Buffer
	w, h := num(size.W.Points()), num(size.H.Points())
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

// CSS declares the figures' colours for a page, and as --fig-t1 to --fig-t7, and
// in the classes of these names, those of words on series: light, dark where the reader
// prefers it, and light again in print.
func CSS() string {
	vars := func(t *Theme) string {
		var b strings.Builder
		paints := []Paint{t.Ink(), t.Soft(), t.Grid(), t.Paper()}
		for i := range seriesColours {
			paints = append(paints, t.Series(i))
		}
		for i := range seriesColours {
			paints = append(paints, t.Word(i))
		}
		for _, p := range paints {
			fmt.Fprintf(&b, "--fig-%s:#%02x%02x%02x;", p.Role, p.Value.R, p.Value.G, p.Value.B)
		}
		return b.String()
	}
	words := ""
	for i := range seriesColours {
		role := Light().Word(i).Role
		words += fmt.Sprintf(".fig-%[1]s{color:var(--fig-%[1]s)}", role)
	}
	return ":root{" + vars(Light()) + "}\n" +
		"@media screen and (prefers-color-scheme:dark){:root{" + vars(Dark()) + "}}\n" + words + "\n"
}

// PNG is the figure as a picture with scale·96 dots an inch: scale 1 for a
// screen, 2 for a fine one or a slide.
func (f *Figure) PNG(t *Theme, scale float64) ([]byte, error) {
	if !(scale > 0) || scale > 16 {
		return nil, fmt.Errorf("figure %q: scale %g is not between 0 and 16", f.Title, scale)
	}
	size := f.laidOut(t, true)
	img := vgimg.NewWith(vgimg.UseWH(size.W, size.H), vgimg.UseDPI(int(96*scale)), vgimg.UseBackgroundColor(t.Paper()))
	f.drawOn(draw.New(&glyphCanvas{CanvasSizer: img}), t, true)
	var b bytes.Buffer
	if _, err := (vgimg.PngCanvas{Canvas: img}).WriteTo(&b); err != nil {
		return nil, fmt.Errorf("figure %q: %w", f.Title, err)
	}
	return withDots(b.Bytes(), 96*scale), nil
}

// withDots is a PNG that says how many dots an inch it has, by a chunk pHYs behind its
// first (ISO/IEC 15948, 11.3.5.3).
func withDots(png []byte, inch float64) []byte {
	const head = 8 + 4 + 4 + 13 + 4 // signature and IHDR
	perMetre := uint32(math.Round(inch / unit.Inch))
	chunk := []byte("pHYs")
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1) // per metre
	out := append([]byte{}, png[:head]...)
	out = binary.BigEndian.AppendUint32(out, uint32(len(chunk)-4))
	out = append(out, chunk...)
	out = binary.BigEndian.AppendUint32(out, crc32.ChecksumIEEE(chunk))
	return append(out, png[head:]...)
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

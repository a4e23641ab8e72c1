// Package figure draws runs: speed and acceleration of one run with its targets
// marked, and several runs laid over each other. It draws with gonum/plot in a
// theme of its own, to SVG (for a page, following its light or dark scheme, or
// as a file), PNG and PDF.
//
// # Model
//
// A Figure is a drawing apart from its output. Colours are given by role, and
// each output decides what a role looks like, so that one drawing serves light
// and dark pages and print. The same figure gives the same bytes. Lengths are
// points of a figure at its natural size, 1/72 inch; a page scales it. Every figure
// sets its axes itself: nothing that is drawn moves them.
//
// In a session a mode has one colour and one dash, which its place among the modes
// gives it (lines.go); its runs, where they are told apart, differ by weight alone: the
// width and the opacity of the mode's line. A run without a mode among runs that have
// one is drawn in the ink of secondary text.
//
// run.go draws one run, overlay.go several, compare_dots.go and compare_traces.go
// a comparison of modes, explain_force.go and driveline.go what an explanation
// rests on. The sizes, widths and distances in them were chosen by eye, at the width
// of a phone and of a page, on paper and on dark screens.
//
// # Limits
//
// A PDF and a PNG have only the characters of the typeface; others become "?". Thirty-five modes can be told apart, seven by colour
// alone, and five runs of one mode; more begin again. A label that has no place is
// left out, its point stays.
package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Role names what a colour is for.
type Role string

// The roles beside the series, which are "s1" to "s7".
const (
	Ink   Role = "ink"   // text and axis
	Soft  Role = "soft"  // secondary text, raw samples
	Grid  Role = "grid"  // grid lines
	Paper Role = "paper" // background
)

// Paint is a colour by role. It is a color.Color of its value in the theme it
// came from; the SVG canvas looks at the role instead.
type Paint struct {
	Role  Role
	Value color.NRGBA
}

// RGBA is the colour's value, as color.Color wants it.
func (p Paint) RGBA() (r, g, b, a uint32) { return p.Value.RGBA() }

// Fade returns the paint with an opacity from 0 to 1.
func (p Paint) Fade(opacity float64) Paint {
	p.Value.A = uint8(opacity*255 + 0.5)
	return p
}

// Theme is what each role looks like in one output.
type Theme struct {
	ink, soft, grid, paper color.NRGBA
	series                 [seriesColours]color.NRGBA
}

const seriesColours = 7

func rgb(hex uint32) color.NRGBA {
	return color.NRGBA{R: uint8(hex >> 16), G: uint8(hex >> 8), B: uint8(hex), A: 255}
}

// The series colours are those of Okabe and Ito, "Color Universal Design"
// (2008), told apart by readers with any common colour vision. Yellow is left
// out on white and black on dark, where they cannot be seen.
var (
	light = Theme{ink: rgb(0x1b1f23), soft: rgb(0x5c656e), grid: rgb(0xdfe3e6), paper: rgb(0xffffff),
		series: [seriesColours]color.NRGBA{rgb(0x0072B2), rgb(0xD55E00), rgb(0x009E73), rgb(0xCC79A7), rgb(0xE69F00), rgb(0x56B4E9), rgb(0x000000)}}
	dark = Theme{ink: rgb(0xe8eaed), soft: rgb(0xa3abb3), grid: rgb(0x363b41), paper: rgb(0x16191d),
		series: [seriesColours]color.NRGBA{rgb(0x56B4E9), rgb(0xD55E00), rgb(0x009E73), rgb(0xCC79A7), rgb(0xE69F00), rgb(0xF0E442), rgb(0xffffff)}}
)

// Light returns the theme for white paper.
func Light() *Theme { t := light; return &t }

// Dark returns the theme for dark screens.
func Dark() *Theme { t := dark; return &t }

// Ink is the colour of text and axes.
func (t *Theme) Ink() Paint { return Paint{Ink, t.ink} }

// Soft is the colour of secondary text and raw samples.
func (t *Theme) Soft() Paint { return Paint{Soft, t.soft} }

// Grid is the colour of grid lines.
func (t *Theme) Grid() Paint { return Paint{Grid, t.grid} }

// Paper is the background.
func (t *Theme) Paper() Paint { return Paint{Paper, t.paper} }

// NoSeries stands for the series of a run that has no mode where others have.
const NoSeries = -1

// Series is the colour of series i, from 0; colours come round again after
// seven, and the dashes of Line then differ. NoSeries is soft ink.
func (t *Theme) Series(i int) Paint {
	if i < 0 {
		return t.Soft()
	}
	i %= seriesColours
	return Paint{Role("s" + string(rune('1'+i))), t.series[i]}
}

// Word is the hue of series i for words, darkened on white and lightened on dark until they
// can be read there.
func (t *Theme) Word(i int) Paint {
	p := t.Series(i)
	if i < 0 {
		return p
	}
	to := uint8(0)
	if luminance(t.paper) < 0.5 {
		to = 255
	}
	for range 60 { // ends at black or white at the latest
		if contrast(p.Value, t.paper) >= wordContrast {
			break
		}
		for _, v := range []*uint8{&p.Value.R, &p.Value.G, &p.Value.B} {
			*v = uint8(float64(*v) + (float64(to)-float64(*v))*0.06 + 0.5)
		}
	}
	p.Role = Role("t" + string(rune('1'+i%seriesColours)))
	return p
}

// wordContrast is that of words with their paper: the 4.5 of WCAG 2.2, 1.4.3, and a little
// more, as a page of ours may be on tinted paper.
const wordContrast = 5

// luminance is the relative one of WCAG 2.2.
func luminance(c color.NRGBA) float64 {
	part := func(v uint8) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*part(c.R) + 0.7152*part(c.G) + 0.0722*part(c.B)
}

// contrast is the ratio of WCAG 2.2.
func contrast(a, b color.NRGBA) float64 {
	x, y := luminance(a), luminance(b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// dashes tell lines apart where colour cannot: five patterns with seven colours
// give 35 different lines.
var dashes = [][]vg.Length{nil, {7, 2.5}, {2.2, 2.2}, {9, 2.2, 2.2, 2.2}, {4.5, 1.6}}

// LineWidth is the width of a series.
const LineWidth = vg.Length(1.4)

// Line is the style of series i, from 0, or of NoSeries.
func (t *Theme) Line(i int) draw.LineStyle {
	return draw.LineStyle{Color: t.Series(i), Width: LineWidth, Dashes: dashes[max(i, 0)%len(dashes)]}
}

// Weight is how one line of a series differs from others.
type Weight struct {
	Width   float64 `json:"width"` // of LineWidth
	Opacity float64 `json:"opacity"`
}

// Weights tell the lines of one series apart, in their order. Wide ones are pale, so
// that those beneath are seen.
func Weights() []Weight { return slices.Clone(weights) }

var weights = []Weight{{1, 1}, {2.2, 0.45}, {0.45, 1}, {3.4, 0.25}, {0.8, 0.55}}

// Weighed is the style of a series in one of its weights, from 0; weights come round
// again after five.
func (t *Theme) Weighed(series, weight int) draw.LineStyle {
	st, w := t.Line(series), weights[weight%len(weights)]
	st.Color, st.Width = t.Series(series).Fade(w.Opacity), st.Width*vg.Length(w.Width)
	return st
}

// Text is a text style in the theme's typeface.
func (t *Theme) Text(size vg.Length, p Paint) text.Style {
	return text.Style{
		Color:   p,
		Font:    font.Font{Typeface: "Liberation", Variant: "Sans", Size: size},
		XAlign:  draw.XLeft,
		YAlign:  draw.YBottom,
		Handler: plot.DefaultTextHandler,
	}
}

// Sizes of type, in points of a figure at its natural size.
const (
	TitleSize = vg.Length(10)
	LabelSize = vg.Length(8.6)
	NoteSize  = vg.Length(7.8)
)

// NewPlot returns an empty plot in the theme: light grid, own ticks, no
// padding. The titles of its axes are drawn by Figure, not by the plot.
func NewPlot(t *Theme) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = nil
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Padding = 0
		a.LineStyle = draw.LineStyle{Color: t.Soft(), Width: 0.6}
		a.Tick.LineStyle = draw.LineStyle{Color: t.Soft(), Width: 0.6}
		a.Tick.Length = 2.5
		a.Tick.Label.Font = t.Text(LabelSize, t.Ink()).Font
		a.Tick.Label.Color = t.Ink()
		a.Tick.Label.Handler = plot.DefaultTextHandler
		a.Tick.Marker = Ticks{Most: 8}
	}
	p.Y.Width = 0
	p.Y.Tick.Length = 0
	p.Y.Tick.Marker = Ticks{Most: 6}
	p.Add(&gridLines{draw.LineStyle{Color: t.Grid(), Width: 0.5}})
	return p
}

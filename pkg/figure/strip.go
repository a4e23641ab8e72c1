package figure

import (
	"bytes"
	"cmp"
	"fmt"
	"html"
	"slices"
	"strconv"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/session"
)

// Strip is a row of a table of modes: the mean with its interval, and the runs beneath, on
// one scale with the other rows.
type Strip struct {
	Lo, Hi float64   // s, ends of the scale
	Ticks  []float64 // s
	Series int       // of the mode, or NoSeries
	Mean   session.Mean
	Runs   []StripRun
}

// StripRun is a run of a strip.
type StripRun struct {
	X       float64 // s
	Counted bool
	Way     int // see session.Way
}

// Sizes of a strip in points, and how many runs it draws as marks, smaller from fewRuns on;
// more are strokes.
const (
	stripWidth, stripHeight = vg.Length(210), vg.Length(31)
	axisHeight              = vg.Length(11)
	stripEdge               = vg.Length(5)
	meanLine, runLine       = vg.Length(23), vg.Length(13.5) // from the foot
	fewRuns, mostMarks      = 12, 40
	mostLanes               = 4
)

func (s *Strip) x(v float64) vg.Length {
	return stripEdge + vg.Length((v-s.Lo)/(s.Hi-s.Lo))*(stripWidth-2*stripEdge)
}

// InlineSVG is the strip as an element of a page, said in words to who cannot see it.
func (s *Strip) InlineSVG(words string) []byte {
	t := Light()
	return piece(stripWidth, stripHeight, words, func(c draw.Canvas) {
		for _, v := range s.Ticks {
			c.StrokeLine2(draw.LineStyle{Color: t.Grid(), Width: 0.6}, s.x(v), 0, s.x(v), stripHeight)
		}
		of := t.Series(s.Series)
		if m := s.Mean; m.N > 1 && finite(m.X, m.U95) {
			line := draw.LineStyle{Color: of, Width: 1.6}
			a, x, b := s.x(m.X-m.U95), s.x(m.X), s.x(m.X+m.U95)
			c.StrokeLine2(line, a, meanLine, b, meanLine)
			for _, e := range []struct{ x, half vg.Length }{{a, 2.6}, {x, 4.6}, {b, 2.6}} {
				c.StrokeLine2(line, e.x, meanLine-e.half, e.x, meanLine+e.half)
			}
		}
		s.marks(c, t, of)
	})
}

// marks are the runs; what would cover each other is stacked.
func (s *Strip) marks(c draw.Canvas, t *Theme, of Paint) {
	radius := vg.Length(2.3)
	if len(s.Runs) > fewRuns {
		radius = 1.5
	}
	runs := slices.Clone(s.Runs)
	slices.SortStableFunc(runs, func(a, b StripRun) int { return cmp.Compare(a.X, b.X) })
	var lanes []vg.Length
	for _, r := range runs {
		x := s.x(r.X)
		if len(runs) > mostMarks {
			style := draw.LineStyle{Color: of.Fade(0.5), Width: 0.8}
			if !r.Counted {
				style.Color = t.Soft()
			}
			c.StrokeLine2(style, x, runLine-8, x, runLine)
			continue
		}
		lane := slices.IndexFunc(lanes, func(last vg.Length) bool { return x-last >= 2*radius+0.4 })
		switch {
		case lane >= 0:
		case len(lanes) < mostLanes:
			lanes, lane = append(lanes, 0), len(lanes)
		default:
			lane = 0
		}
		lanes[lane] = x
		at := vg.Point{X: x, Y: runLine - vg.Length(lane)*(2*radius+0.6)}
		if r.Counted {
			directed(c, at, radius, r.Way, of, t)
			continue
		}
		st := draw.LineStyle{Color: of, Width: 1.1}
		c.StrokeLine2(st, at.X-radius, at.Y-radius, at.X+radius, at.Y+radius)
		c.StrokeLine2(st, at.X-radius, at.Y+radius, at.X+radius, at.Y-radius)
	}
}

// StripAxis is the axis of strips, for the foot of their column.
func (s *Strip) StripAxis() []byte {
	t := Light()
	return piece(stripWidth, axisHeight, "", func(c draw.Canvas) {
		st := t.Text(LabelSize, t.Soft())
		for _, v := range s.Ticks {
			label := strconv.FormatFloat(v, 'f', -1, 64)
			c.FillText(baseline(st), vg.Point{X: s.x(v) - st.Width(label)/2, Y: 2.5}, label)
		}
	})
}

// KeyLine is a sample of the line of a mode, for its name in a page.
func KeyLine(series int) []byte {
	const width, height = vg.Length(22), vg.Length(6)
	return piece(width, height, "", func(c draw.Canvas) {
		style := Light().Line(series)
		style.Width *= boldMean
		c.StrokeLine2(style, 0.5, height/2, width-0.5, height/2)
	})
}

// piece is a small drawing as an element of a page; without words it only adorns.
func piece(w, h vg.Length, words string, paint func(draw.Canvas)) []byte {
	c := newSVG(w, h, true)
	paint(draw.New(c))
	said := `aria-hidden="true"`
	if words != "" {
		said = `role="img" aria-label="` + html.EscapeString(clean(words)) + `"`
	}
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="piece" width="%[1]spt" height="%[2]spt" viewBox="0 0 %[1]s %[2]s" %[3]s font-family='%[4]s'>`+"\n",
		num(w.Points()), num(h.Points()), said, typeface)
	b.WriteString(c.b.String() + "</svg>")
	return b.Bytes()
}

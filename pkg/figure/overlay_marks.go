package figure

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// endMarks say at the end of each run which way it went: a disc the first way, a ring the
// other.
type endMarks struct {
	theme *Theme
	at    []End
	way   []int
	color []color.Color
}

func (m *endMarks) add(x, y float64, way int, c color.Color) {
	m.at, m.way, m.color = append(m.at, End{x, y}), append(m.way, way), append(m.color, c)
}

// endRadius is that of a mark, as large as two lines of runs are wide that lie beside each
// other.
const endRadius = vg.Length(1.7)

// Plot implements plot.Plotter.
func (m *endMarks) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	for i, e := range m.at {
		at := vg.Point{X: tx(e.X), Y: ty(e.Y)}
		if !finite(e.X, e.Y) || !c.Contains(at) {
			continue
		}
		directed(c, at, endRadius, m.way[i], m.color[i], m.theme)
	}
}

// directed is the mark of a run: a disc the first way, a ring the other.
func directed(c draw.Canvas, at vg.Point, radius vg.Length, way int, of color.Color, t *Theme) {
	fillDisc(c, at, radius, of)
	if way == 1 {
		fillDisc(c, at, radius*0.58, t.Paper())
	}
}

// MeanTime is the mean time of a mode to a target, as a table prints it.
type MeanTime struct {
	Mode, Target string
	X            float64 // s from the origin of the options
	Speed        float64 // of the target in m/s, 0 for a distance
	Text         string  // as printed
}

// meanTimes marks mean times on the curves of means, with the times in rows at the foot of
// the plot, a row a mode.
type meanTimes struct {
	*overlay
	theme *Theme
}

// Distances of the rows of times, in points.
const (
	timeRow  = vg.Length(10.5)
	timeStem = vg.Length(4)  // over the text of its row
	timesFar = vg.Length(46) // targets nearer to the last one have no times written
)

// Plot implements plot.Plotter.
func (m *meanTimes) Plot(c draw.Canvas, p *plot.Plot) {
	tx, ty := p.Transforms(&c)
	st := m.theme.Text(NoteSize, m.theme.Soft())
	last := c.Min.X - timesFar
	for _, target := range m.targets() {
		left, right := vg.Length(math.Inf(1)), last
		var at []vg.Point
		for _, q := range target {
			x := tx(q.X)
			left = min(left, x)
			at = append(at, vg.Point{X: x, Y: ty(m.height(&q))})
		}
		written := left-last > timesFar && m.o.size().W > Narrow.W && len(m.means) <= mostTimed
		for i, q := range target {
			row := m.row(q.Mode)
			color := m.theme.Series(m.key[row].Series)
			if written {
				y := c.Min.Y + 3 + timeRow*vg.Length(len(m.means)-1-row)
				c.StrokeLine2(draw.LineStyle{Color: color.Fade(0.6), Width: 0.5}, at[i].X, at[i].Y, at[i].X, y+timeStem)
				label := m.theme.Text(NoteSize, m.theme.Word(m.key[row].Series))
				m.halo(c, label, vg.Point{X: at[i].X + 2, Y: y}, q.Text)
				right = max(right, at[i].X+2+label.Width(q.Text))
			}
			fillDisc(c, at[i], 2.4, color)
			fillDisc(c, at[i], 1.3, m.theme.Paper())
		}
		if written {
			head := target[0].Target
			m.halo(c, st, vg.Point{X: left - 3 - st.Width(head), Y: c.Min.Y + 3 + timeRow*vg.Length(len(m.means)-1)}, head)
		}
		last = right
	}
}

// mostTimed is up to how many modes have their times written: a row each.
const mostTimed = 4

// targets are the times by target, of those modes that have a curve.
func (m *meanTimes) targets() [][]MeanTime {
	var out [][]MeanTime
	for _, q := range m.o.Times {
		if m.row(q.Mode) < 0 || !finite(m.height(&q)) {
			continue
		}
		n := len(out)
		if n == 0 || out[n-1][0].Target != q.Target {
			out, n = append(out, nil), n+1
		}
		out[n-1] = append(out[n-1], q)
	}
	return out
}

// row is the place of a mode in the key, -1 for none.
func (m *meanTimes) row(mode string) int {
	series := m.o.lineup(m.runs).series(mode)
	return slices.IndexFunc(m.key, func(k KeyEntry) bool { return k.Series == series })
}

// height is where a time stands on the curve of its mode: the speed of the target, or for a
// distance that of the mean then.
func (m *meanTimes) height(q *MeanTime) float64 {
	if q.Speed > 0 {
		return q.Speed / m.o.shown().SpeedPer
	}
	mean := m.means[m.row(q.Mode)]
	return interpolate(mean.x, mean.mean, q.X)
}

// halo writes a text that lines behind it do not cross.
func (m *meanTimes) halo(c draw.Canvas, st draw.TextStyle, at vg.Point, s string) {
	h := st.FontExtents().Ascent
	c.SetColor(m.theme.Paper().Fade(0.85))
	c.Fill(box(at.X-0.6, at.Y-0.8, st.Width(s)+1.2, h).Path())
	c.FillText(baseline(st), at, s)
}

package figure

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// ErrNoRun is returned by Overlay when no run has a trace.
var ErrNoRun = errors.New("no run to draw")

// Quantity is the upright axis of an overlay.
type Quantity string

// The quantities.
const (
	OfSpeed        Quantity = "speed"
	OfAcceleration Quantity = "acceleration"
)

// Overlay draws a quantity of several runs over each other, aligned at the origin of
// the options. Runs of one mode look alike where there are several modes; otherwise
// each has a weight of its mode's line. Where runs went both ways, the end of each says
// which. Runs that are not counted are left out unless none is. ErrNoMode is for means that
// the options ask for and no mode has.
func Overlay(runs []*session.TimedRun, of Quantity, by Against, o Options) (*Figure, error) {
	runs, left := drawn(runs)
	l := &overlay{of: of, by: by, o: o}
	l.runs = slices.DeleteFunc(runs, func(r *session.TimedRun) bool {
		w, err := newView(r, o)
		if err == nil {
			l.views = append(l.views, w)
		}
		return err != nil
	})
	if len(l.views) == 0 {
		return nil, ErrNoRun
	}
	if l.key, l.entry = o.key(l.runs); o.Means {
		if err := l.average(); err != nil {
			return nil, err
		}
	}
	l.ways, l.first = directions(l.runs)
	f := &Figure{Title: capital(string(of)) + " against " + string(by) + ", runs aligned at the " + o.originNoun(), Note: l.note(),
		Size: o.size(), Key: l.key, XTitle: o.xTitle(by), YTitle: o.quantityTitle(of), Desc: overlayInWords(l.key, of, by, o, left)}
	if by == BySpeed {
		f.Title = capital(string(of)) + " against speed"
	}
	f.Ends = l.ends()
	f.endMarked = l.ways != nil
	f.Data = l.data
	f.Plot = l.plot
	return f, nil
}

// overlay is what Overlay draws.
type overlay struct {
	of    Quantity
	by    Against
	o     Options
	runs  []*session.TimedRun
	views []*view
	key   []KeyEntry
	entry []int     // of each run in the key
	means []profile // in the order of the key; none where they are not asked for
	ways  []int     // of each run, see session.Way; nil where all went one way
	first float64   // heading of the first way, degrees
}

// average works out the means, which the key then names; a run of no mode keeps the ink of
// secondary text.
func (l *overlay) average() error {
	modes := byMode(l.runs, l.o)
	if l.by == BySpeed {
		for _, m := range modes {
			for _, w := range m.views {
				w.rise()
			}
		}
	}
	l.means = profiles(modes, func(w *view) (x, y []float64) { return w.along(l.by), w.of(l.of) })
	if len(modes) == 0 || !drawable(l.means) {
		return ErrNoMode
	}
	l.key = modeKey(modes)
	series := l.o.Series(l.runs)
	for i := range l.runs {
		l.entry[i] = slices.IndexFunc(l.key, func(k KeyEntry) bool { return k.Series == series[i] })
	}
	return nil
}

// directions are the ways of runs, nil where all went one way or none is known, and the
// heading of the first in degrees.
func directions(runs []*session.TimedRun) (ways []int, first float64) {
	first = math.NaN()
	for _, r := range runs {
		if math.IsNaN(first) {
			first = r.HeadingDeg
		}
		ways = append(ways, session.Way(r.HeadingDeg, first))
	}
	if !slices.Contains(ways, 1) {
		return nil, first
	}
	return ways, first
}

// note explains the marks that there are.
func (l *overlay) note() string {
	var s []string
	if l.means != nil {
		s = append(s, "Thin: each run. Bold: the mean of a mode with its 95 % band.")
	}
	if l.ways != nil {
		s = append(s, "A run towards "+unit.Heading(l.first)+" ends in ●, one towards "+unit.Heading(l.first+180)+" in ○.")
	}
	return strings.Join(s, " ")
}

// ends are where the lines of each entry of the key end: the mean's, or the furthest run's.
func (l *overlay) ends() []End {
	out := make([]End, len(l.key))
	for i, w := range l.views {
		x, y := w.along(l.by), w.of(l.of)
		k := l.entry[i]
		if k < 0 {
			continue
		}
		if e := (End{x[len(x)-1], y[len(y)-1]}); e.X > out[k].X {
			out[k] = e
		}
	}
	for i, q := range l.means { // beside the furthest run, at the height of the mean
		out[i].Y = q.mean[len(q.mean)-1]
	}
	return out
}

// Widths of lines beside means, of that of a series.
const (
	thinRun  = 0.45
	boldMean = 1.7
)

func (l *overlay) plot(t *Theme) *plot.Plot {
	p := l.o.newPlot(t)
	p.Add(&Upright{X: 0, Style: draw.LineStyle{Color: t.Soft(), Width: 0.6}})
	for i, q := range l.means {
		lo, hi := around(q.mean, q.half, 1)
		p.Add(&Band{X: q.x, Lo: lo, Hi: hi, Color: t.Series(l.key[i].Series).Fade(0.18)})
	}
	marks := &endMarks{theme: t}
	for i, w := range l.views {
		x, y := w.along(l.by), w.of(l.of)
		lo, hi := extent(x)
		p.X.Min, p.X.Max = math.Min(p.X.Min, lo), math.Max(p.X.Max, hi)
		lowest, highest := extent(y)
		p.Y.Max = math.Max(p.Y.Max, highest)
		if l.of == OfAcceleration {
			p.Y.Min = math.Min(p.Y.Min, lowest)
		}
		style := l.style(t, i)
		p.Add(&Curve{X: x, Y: y, Style: style})
		if l.ways != nil {
			marks.add(x[len(x)-1], y[len(y)-1], l.ways[i], style.Color)
		}
	}
	for i, q := range l.means {
		style := t.Line(l.key[i].Series)
		style.Width *= boldMean
		p.Add(&Curve{X: q.x, Y: q.mean, Style: draw.LineStyle{Color: t.Paper(), Width: style.Width + 1.2}}, &Curve{X: q.x, Y: q.mean, Style: style})
	}
	p.Add(marks)
	p.Y.Max = niceTop(p.Y.Max, 6)
	if len(l.o.Times) > 0 && l.means != nil && l.of == OfSpeed && l.by == ByTime {
		p.Add(&meanTimes{overlay: l, theme: t})
	}
	return p
}

// style is that of the line of a run.
func (l *overlay) style(t *Theme, run int) draw.LineStyle {
	if l.means != nil {
		series := NoSeries
		if k := l.entry[run]; k >= 0 {
			series = l.key[k].Series
		}
		return draw.LineStyle{Color: t.Series(series), Width: LineWidth * thinRun}
	}
	k := l.key[l.entry[run]]
	style := t.Weighed(k.Series, k.Weight)
	if len(l.views) > len(l.key) {
		style.Width *= 0.75 // several lines look alike: leave room to see each
	}
	return style
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// data are the traces that are drawn, a sample a line, in the units of the figure, and
// after them the means, of which run says so.
func (l *overlay) data() [][]string {
	u := l.o.shown()
	speed := strings.ReplaceAll(u.Speed, "/", "")
	lines := [][]string{{"run", "mode", "time_s", "distance_" + u.Distance, "speed_" + speed, "speed_u95_" + speed, "acceleration_g", "acceleration_u95_g"}}
	add := func(run, mode string, values ...float64) {
		line := []string{run, mode}
		for _, x := range values {
			line = append(line, dataNumber(x))
		}
		lines = append(lines, line)
	}
	lineup := l.o.lineup(l.runs)
	for i, w := range l.views {
		for k := range w.t {
			add(l.runs[i].ID, lineup.mode(l.runs[i]), w.t[k], w.s[k], w.v[k], uncert.Z95*w.sv[k], w.a[k], uncert.Z95*w.sa[k])
		}
	}
	along := slices.Index([]Against{ByTime, ByDistance, BySpeed}, l.by)
	upright := map[Quantity]int{OfSpeed: 2, OfAcceleration: 4}[l.of]
	for i, q := range l.means {
		for k := range q.x {
			values := slices.Repeat([]float64{math.NaN()}, 6)
			values[along], values[upright], values[upright+1] = q.x[k], q.mean[k], q.half[k]
			add("mean", lineup.modes[l.key[i].Series], values...)
		}
	}
	return lines
}

// dataNumber is a number of a figure's data, "" where it is not known: four places are
// finer than any figure shows.
func dataNumber(x float64) string {
	if !finite(x) {
		return ""
	}
	return uncert.RoundHalfUp(x, 4)
}

// drawn picks the counted runs, or all where none is counted, and tells how many
// were left out. Brakings begin at speed and are no part of an overlay.
func drawn(all []*session.TimedRun) (out []*session.TimedRun, left int) {
	runs := slices.DeleteFunc(slices.Clone(all), func(r *session.TimedRun) bool { return r.Kind == segment.Braking })
	out = slices.DeleteFunc(slices.Clone(runs), func(r *session.TimedRun) bool { return !r.Counted })
	if len(out) == 0 {
		return runs, 0
	}
	return out, len(runs) - len(out)
}

func overlayInWords(key []KeyEntry, of Quantity, by Against, o Options, left int) string {
	at := strings.Replace(o.originNoun(), "rollout", "1 ft rollout", 1)
	s := fmt.Sprintf("%s against %s of %s, aligned at the %s.", capital(string(of)), by, keyWords(key), at)
	if left == 1 {
		s += " One run that is not counted is left out."
	} else if left > 1 {
		s += fmt.Sprintf(" %d runs that are not counted are left out.", left)
	}
	return s
}

func keyWords(key []KeyEntry) string {
	var s []string
	for _, k := range key {
		s = append(s, k.Text)
	}
	return strings.Join(s, ", ")
}

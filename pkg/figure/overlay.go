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
// each has a weight of its mode's line. Runs that are not counted are left out unless
// none is.
func Overlay(runs []*session.TimedRun, of Quantity, by Against, o Options) (*Figure, error) {
	runs, left := drawn(runs)
	var views []*view
	runs = slices.DeleteFunc(runs, func(r *session.TimedRun) bool {
		w, err := newView(r, o)
		if err == nil {
			views = append(views, w)
		}
		return err != nil
	})
	if len(views) == 0 {
		return nil, ErrNoRun
	}
	key, entry := o.key(runs)
	f := &Figure{Title: capital(string(of)) + " against " + string(by) + ", runs aligned at the " + o.originNoun(),
		Size: o.size(), Key: key, XTitle: o.xTitle(by), YTitle: o.quantityTitle(of), Desc: overlayInWords(key, of, by, o, left)}
	if by == BySpeed {
		f.Title = capital(string(of)) + " against speed"
	}
	f.Ends = make([]End, len(key))
	for i, w := range views {
		x, y := w.along(by), w.of(of)
		if e := (End{x[len(x)-1], y[len(y)-1]}); e.X > f.Ends[entry[i]].X {
			f.Ends[entry[i]] = e
		}
	}
	f.Data = func() [][]string { return overlayData(runs, views, o.lineup(runs), o) }
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		p.Add(&Upright{X: 0, Style: draw.LineStyle{Color: t.Soft(), Width: 0.6}})
		for i, w := range views {
			x, y := w.along(by), w.of(of)
			lo, hi := extent(x)
			p.X.Min, p.X.Max = math.Min(p.X.Min, lo), math.Max(p.X.Max, hi)
			lowest, highest := extent(y)
			p.Y.Max = math.Max(p.Y.Max, highest)
			if of == OfAcceleration {
				p.Y.Min = math.Min(p.Y.Min, lowest)
			}
			k := key[entry[i]]
			style := t.Weighed(k.Series, k.Weight)
			if len(views) > len(key) {
				style.Width *= 0.75 // several lines look alike: leave room to see each
			}
			p.Add(&Curve{X: x, Y: y, Style: style})
		}
		p.Y.Max = niceTop(p.Y.Max, 6)
		return p
	}
	return f, nil
}

func capital(s string) string { return strings.ToUpper(s[:1]) + s[1:] }

// overlayData are the traces that are drawn, a sample a line, in the units of the figure.
func overlayData(runs []*session.TimedRun, views []*view, l lineup, o Options) [][]string {
	u := o.shown()
	speed := strings.ReplaceAll(u.Speed, "/", "")
	lines := [][]string{{"run", "mode", "time_s", "distance_" + u.Distance, "speed_" + speed, "speed_u95_" + speed, "acceleration_g", "acceleration_u95_g"}}
	for i, w := range views {
		for k := range w.t {
			line := []string{runs[i].ID, l.mode(runs[i])}
			for _, x := range []float64{w.t[k], w.s[k], w.v[k], uncert.Z95 * w.sv[k], w.a[k], uncert.Z95 * w.sa[k]} {
				line = append(line, dataNumber(x))
			}
			lines = append(lines, line)
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

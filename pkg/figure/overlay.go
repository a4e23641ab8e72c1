package figure

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
)

// ErrNoRun is returned by Overlay when no run has a trace.
var ErrNoRun = errors.New("no run to draw")

// Overlay draws the speeds of several runs over each other, aligned at the
// origin of the options. Runs of one mode look alike where there are several
// modes; otherwise each run has its own line. Runs that are not counted are left
// out unless none is.
func Overlay(runs []*session.TimedRun, by Against, o Options) (*Figure, error) {
	runs, left := drawn(runs)
	key, series := Keys(runs)
	var views []*view
	var lines []int
	for i, r := range runs {
		if w, err := newView(r, o); err == nil {
			views, lines = append(views, w), append(lines, series[i])
		}
	}
	if len(views) == 0 {
		return nil, ErrNoRun
	}
	f := &Figure{Title: "Speed by " + string(by) + ", runs aligned at the " + o.originNoun(),
		Size: o.size(), Key: key, XTitle: o.xTitle(by), YTitle: o.speedTitle(), Desc: overlayInWords(key, by, o, left)}
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		p.Add(&Upright{X: 0, Style: draw.LineStyle{Color: t.Soft(), Width: 0.6}})
		for i, w := range views {
			x := w.along(by)
			p.X.Min = math.Min(p.X.Min, x[0])
			p.X.Max = math.Max(p.X.Max, x[len(x)-1])
			p.Y.Max = math.Max(p.Y.Max, maximum(w.v))
			style := t.Line(lines[i])
			if len(views) > len(key) {
				style.Width *= 0.75 // several lines look alike: leave room to see each
			}
			p.Add(&Curve{X: x, Y: w.v, Style: style})
		}
		p.Y.Max = niceTop(p.Y.Max, 6)
		return p
	}
	return f, nil
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

// Keys gives each run its series: one for each mode where there are two modes or
// more, else one for each run.
func Keys(runs []*session.TimedRun) (key []KeyEntry, series []int) {
	modes := map[string]int{}
	for _, r := range runs {
		modes[r.Mode]++
	}
	index := map[string]int{}
	for _, r := range runs {
		name := r.ID
		if len(modes) > 1 {
			name = cmp.Or(r.Mode, "no mode given")
		}
		i, ok := index[name]
		if !ok {
			i = len(key)
			index[name] = i
			text := name
			if n := modes[r.Mode]; len(modes) > 1 && n > 1 {
				text += fmt.Sprintf(" (%d runs)", n)
			}
			key = append(key, KeyEntry{Series: i, Text: text})
		}
		series = append(series, i)
	}
	return key, series
}

func overlayInWords(key []KeyEntry, by Against, o Options, left int) string {
	at := strings.Replace(o.originNoun(), "rollout", "1 ft rollout", 1)
	s := fmt.Sprintf("Speed against %s of %s, aligned at the %s.", by, keyWords(key), at)
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

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
)

// ErrNoRun is returned by Overlay when no run has a trace.
var ErrNoRun = errors.New("no run to draw")

// Overlay draws the speeds of several runs over each other, aligned at the
// origin of the options. Runs of one mode look alike where there are several
// modes; otherwise each has a weight of its mode's line. Runs that are not counted
// are left out unless none is.
func Overlay(runs []*session.TimedRun, by Against, o Options) (*Figure, error) {
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
			k := key[entry[i]]
			style := t.Weighed(k.Series, k.Weight)
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

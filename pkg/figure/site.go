package figure

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/unit"
)

// ErrNoSite is returned by Site where no log has positions of a standing start.
var ErrNoSite = errors.New("no log has positions of its starts")

// SiteNote explains the marks of Site.
const SiteNote = "Large dots: starts; small dots: stops; named: where the mean of the runs each way passed a target. Counted from the first start; across is drawn larger than along."

// Site draws the ground of a session from above: the ways of its runs, their starts and stops, and
// where each way's runs passed the targets that tables show. It has metres from the first start
// and no degrees.
func Site(res *session.Result, o Options) (*Figure, error) {
	s := res.Site()
	if s == nil || !slices.ContainsFunc(s.Runs, func(r *session.TimedRun) bool { return len(r.Ground.T) > 0 }) {
		return nil, ErrNoSite
	}
	shown := o.shown()
	f := &Figure{Title: "The site, by the positions of the logs", Note: SiteNote, Size: o.size(),
		XTitle: "along the way, " + shown.Distance, YTitle: "across it, to the left, " + shown.Distance}
	f.Desc = fmt.Sprintf("Starts, ways and stops of %d standing starts on %d stretches.", len(s.Runs), 1+slices.Max(s.Stretch))
	var ways []*Curve
	var starts, stops [2][]float64
	for i, r := range s.Runs {
		t, x, y := s.Line(i)
		if len(t) == 0 {
			continue
		}
		x, y = scaledTo(x, shown.DistancePer), scaledTo(y, -shown.DistancePer)
		ways = append(ways, &Curve{X: x, Y: y})
		starts = [2][]float64{append(starts[0], x[0]), append(starts[1], y[0])}
		if r.Halt.End > 0 {
			stops = [2][]float64{append(stops[0], x[len(x)-1]), append(stops[1], y[len(y)-1])}
		}
	}
	finishes := finishes(res, s, shown.DistancePer)
	f.Data = func() [][]string { return siteData(s, shown.Distance, shown.DistancePer) }
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		var all [2][]float64
		for _, w := range ways {
			all[0], all[1] = append(all[0], w.X...), append(all[1], w.Y...)
		}
		p.X.Min, p.X.Max = extent(all[0])
		lo, hi := extent(all[1])
		room := math.Max(hi-lo, 10) / 4
		p.Y.Min, p.Y.Max = lo-room, hi+room
		for _, w := range ways {
			w.Style = draw.LineStyle{Color: t.Series(0).Fade(0.5), Width: 0.7}
			p.Add(w)
		}
		p.Add(&Dots{X: starts[0], Y: starts[1], Color: t.Ink(), Radius: 2.6}, &Dots{X: stops[0], Y: stops[1], Color: t.Ink(), Radius: 1.4},
			&Marks{Points: finishes, Avoid: ways, Theme: t, Color: t.Series(0)})
		return p
	}
	return f, nil
}

// finishes are where the runs of each way passed the targets on the mean, of those that tables show.
func finishes(res *session.Result, s *session.Site, per float64) (out []Mark) {
	for _, name := range res.Settings.Rows {
		for way := range 1 + slices.Max(s.Way) {
			var xs, ys []float64
			for i, r := range s.Runs {
				if tm, ok := r.Time(name, timing.FromRollout); ok && s.Way[i] == way && s.Stretch[i] == 0 {
					if x, y, ok := s.At(i, tm.End); ok {
						xs, ys = append(xs, x/per), append(ys, -y/per)
					}
				}
			}
			if len(xs) > 0 {
				out = append(out, Mark{X: stats.Describe(xs).Mean, Y: stats.Describe(ys).Mean, Text: unit.Printed(name)})
			}
		}
	}
	return out
}

// siteData are the ways, a position a line.
func siteData(s *session.Site, distance string, per float64) [][]string {
	lines := [][]string{{"run", "time_s", "along_" + distance, "across_" + distance}}
	for i, r := range s.Runs {
		t, x, y := s.Line(i)
		for k := range t {
			lines = append(lines, []string{r.ID, dataNumber(t[k]), dataNumber(x[k] / per), dataNumber(y[k] / per)})
		}
	}
	return lines
}

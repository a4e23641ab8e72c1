package figure

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg/draw"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/session"
	"fromrest/pkg/stats"
)

// modeViews is the counted standing starts of one mode as they are drawn.
type modeViews struct {
	name  string
	line  int // its series
	views []*view
	way   []int // 0 for the first direction driven, 1 for the other
}

// byMode groups the counted standing starts by mode, in the order of the options;
// runs without one are left out.
func byMode(runs []*session.TimedRun, o Options) []modeViews {
	first := math.NaN()
	lines := o.lineup(runs)
	out := make([]modeViews, len(lines.modes))
	for i, n := range lines.modes {
		out[i].name, out[i].line = n, i
	}
	for _, r := range runs {
		if r.Kind != segment.StandingStart || !r.Counted {
			continue
		}
		if math.IsNaN(first) {
			first = r.HeadingDeg
		}
		w, err := newView(r, o)
		i := lines.series(lines.mode(r))
		if i < 0 || err != nil {
			continue
		}
		way := 0
		if opposite(r.HeadingDeg, first) {
			way = 1
		}
		out[i].views, out[i].way = append(out[i].views, w), append(out[i].way, way)
	}
	return slices.DeleteFunc(out, func(m modeViews) bool { return len(m.views) == 0 })
}

// profile is a mode's mean curve with the half-width of its 95 % interval, NaN
// where the scatter is not known.
type profile struct{ x, mean, half []float64 }

// points is how many points a mean curve is worked out at.
const points = 400

// profiles averages a quantity over each mode's runs at even steps of x, as the
// mean of both directions' means. The scatter is pooled over the modes about
// the means of mode and direction. A curve ends where its first run does; the scatter of a
// mode that has ended stays in the pool as it was, so that no other band jumps there.
func profiles(modes []modeViews, xy func(*view) (x, y []float64)) []profile {
	end := 0.0
	last := make([]float64, len(modes))
	for i, m := range modes {
		last[i] = math.Inf(1)
		for _, w := range m.views {
			x, _ := xy(w)
			last[i] = math.Min(last[i], x[len(x)-1])
		}
		end = math.Max(end, last[i])
	}
	out := make([]profile, len(modes))
	rest, free := make([]float64, len(modes)), make([]int, len(modes)) // squares and degrees of freedom of each mode
	for k := range points + 1 {
		x := end * float64(k) / points
		cells := make([][2][]float64, len(modes))
		for i, m := range modes {
			if x > last[i] {
				continue
			}
			rest[i], free[i] = 0, 0
			for j, w := range m.views {
				xs, ys := xy(w)
				if y := interpolate(xs, ys, x); !math.IsNaN(y) {
					cells[i][m.way[j]] = append(cells[i][m.way[j]], y)
				}
			}
			for _, c := range cells[i] {
				d := stats.Describe(c)
				for _, y := range c {
					rest[i] += (y - d.Mean) * (y - d.Mean)
				}
				free[i] += max(len(c)-1, 0)
			}
		}
		rss, df := 0.0, 0
		for i := range modes {
			rss, df = rss+rest[i], df+free[i]
		}
		for i := range modes {
			mean, weight, n := 0.0, 0.0, 0.0
			for _, c := range cells[i] {
				if len(c) > 0 {
					mean += stats.Describe(c).Mean
					weight += 1 / float64(len(c))
					n++
				}
			}
			if n == 0 {
				continue
			}
			half := math.NaN()
			if df > 0 {
				half = stats.TQuantile(0.95, float64(df)) * math.Sqrt(rss/float64(df)*weight) / n
			}
			p := &out[i]
			p.x, p.mean, p.half = append(p.x, x), append(p.mean, mean/n), append(p.half, half)
		}
	}
	return out
}

// drawable reports whether every mode has a curve: a trace without distances has
// none.
func drawable(ps []profile) bool {
	return !slices.ContainsFunc(ps, func(p profile) bool { return len(p.x) < 2 })
}

// ModeTraces draws the mean speed of each mode with the band of its 95 %
// interval, against time or distance from the origin of the options.
func ModeTraces(runs []*session.TimedRun, by Against, o Options) (*Figure, error) {
	modes := byMode(runs, o)
	if len(modes) == 0 {
		return nil, ErrNoMode
	}
	f := &Figure{Title: "Mean speed against " + string(by) + ", with the 95 % band", Size: o.size(),
		XTitle: o.xTitle(by), YTitle: o.speedTitle(), Key: modeKey(modes)}
	f.Desc = fmt.Sprintf("Mean speed against %s of %s. A band is the 95 %% interval of the mean from the scatter of the runs; a mode's curve ends where its first run does.", by, keyWords(f.Key))
	ps := profiles(modes, func(w *view) (x, y []float64) { return w.along(by), w.v })
	if !drawable(ps) {
		return nil, ErrNoMode
	}
	f.Ends = ends(ps)
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		for _, q := range ps {
			p.X.Max = math.Max(p.X.Max, q.x[len(q.x)-1])
			p.Y.Max = math.Max(p.Y.Max, maximum(q.mean))
		}
		addProfiles(p, t, f.Key, ps)
		p.Y.Max = niceTop(p.Y.Max, 6)
		return p
	}
	return f, nil
}

// ends are where the means of profiles end.
func ends(ps []profile) []End {
	out := make([]End, len(ps))
	for i, q := range ps {
		out[i] = End{q.x[len(q.x)-1], q.mean[len(q.mean)-1]}
	}
	return out
}

// addProfiles draws the intervals of profiles as areas, then what stands between,
// then their means, as the key has them.
func addProfiles(p *plot.Plot, t *Theme, key []KeyEntry, ps []profile, between ...plot.Plotter) {
	for i, q := range ps {
		lo, hi := around(q.mean, q.half, 1)
		p.Add(&Band{X: q.x, Lo: lo, Hi: hi, Color: t.Series(key[i].Series).Fade(0.18)})
	}
	p.Add(between...)
	for i, q := range ps {
		p.Add(&Curve{X: q.x, Y: q.mean, Style: t.Line(key[i].Series)})
	}
}

// TimeGained draws how far ahead each mode is of the first of the session, in
// seconds, along the distance from the origin of the options. Above zero is
// ahead.
func TimeGained(runs []*session.TimedRun, o Options) (*Figure, error) {
	modes := byMode(runs, o)
	if len(modes) < 2 {
		return nil, ErrNoMode
	}
	ps := profiles(modes, func(w *view) ([]float64, []float64) { return w.s, w.t })
	if !drawable(ps) {
		return nil, ErrNoMode
	}
	ref := ps[0]
	gaps := make([]profile, 0, len(ps)-1)
	for _, q := range ps[1:] {
		g := profile{x: q.x[:min(len(q.x), len(ref.x))]}
		for i := range g.x {
			g.mean = append(g.mean, ref.mean[i]-q.mean[i])
			g.half = append(g.half, math.Hypot(ref.half[i], q.half[i]))
		}
		gaps = append(gaps, g)
	}
	f := &Figure{Title: "Time gained on " + modes[0].name + " along the way", Size: o.size(), YTitle: "time ahead of " + modes[0].name + ", s",
		XTitle: o.xTitle(ByDistance), Key: modeKey(modes)[1:]}
	f.Desc = fmt.Sprintf("How far ahead of %s, in seconds, %s passes each distance, with the 95 %% interval of that difference alone from the scatter of the runs.", modes[0].name, keyWords(f.Key))
	f.Ends = ends(gaps)
	f.Data = func() [][]string {
		lines := [][]string{{"mode", "distance_" + o.shown().Distance, "time_gained_s", "u95_s"}}
		for i, g := range gaps {
			for k := range g.x {
				lines = append(lines, []string{modes[1+i].name, dataNumber(g.x[k]), dataNumber(g.mean[k]), dataNumber(g.half[k])})
			}
		}
		return lines
	}
	f.Plot = func(t *Theme) *plot.Plot {
		p := o.newPlot(t)
		for _, g := range gaps {
			p.X.Max = math.Max(p.X.Max, g.x[len(g.x)-1])
			for k := range g.x {
				h := g.half[k]
				if !finite(h) {
					h = 0
				}
				p.Y.Min, p.Y.Max = math.Min(p.Y.Min, g.mean[k]-h), math.Max(p.Y.Max, g.mean[k]+h)
			}
		}
		room := 0.04 * (p.Y.Max - p.Y.Min)
		p.Y.Min, p.Y.Max = p.Y.Min-room, p.Y.Max+room
		addProfiles(p, t, f.Key, gaps, straight(0, 0, p.X.Max, 0, draw.LineStyle{Color: t.Soft(), Width: 0.8}))
		return p
	}
	return f, nil
}

func modeKey(modes []modeViews) []KeyEntry {
	var key []KeyEntry
	for _, m := range modes {
		key = append(key, modeEntry(m.line, m.name, len(m.views)))
	}
	return key
}

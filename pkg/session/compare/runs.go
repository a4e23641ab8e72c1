package compare

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"

	"fromrest/pkg/session/compare/contrast"
	"fromrest/pkg/stats"
)

// data is the counted runs in the order driven, indexed.
type data struct {
	runs   []Run
	names  []string // modes with a counted run
	mode   []int    // of each run
	dir    []float64
	ways   []float64 // mean headings of the directions, one or two; none where unknown
	noWays string    // why there are none
}

func newData(runs []Run, names []string) (*data, error) {
	d := &data{}
	for _, r := range runs {
		if !r.Counted || r.Mode == "" {
			continue
		}
		if !(r.Seconds > 0) || math.IsInf(r.Seconds, 0) || r.U < 0 || math.IsNaN(r.U) || math.IsNaN(r.Shared) {
			return nil, fmt.Errorf("run %s: time %g s with uncertainty %g s cannot be compared", r.ID, r.Seconds, r.U)
		}
		d.runs = append(d.runs, r)
	}
	slices.SortStableFunc(d.runs, func(a, b Run) int { return cmp.Or(cmp.Compare(a.Block, b.Block), cmp.Compare(a.Order, b.Order)) })
	for _, n := range names {
		if slices.ContainsFunc(d.runs, func(r Run) bool { return r.Mode == n }) {
			indexed(&d.names, n)
		}
	}
	for _, r := range d.runs {
		d.mode = append(d.mode, indexed(&d.names, r.Mode))
	}
	if len(d.names) == 0 {
		return nil, ErrNoRun
	}
	d.directions()
	return d, nil
}

// indexed returns the place of a word among those met so far, the next if it is
// new.
func indexed(words *[]string, word string) int {
	i := slices.Index(*words, word)
	if i < 0 {
		i = len(*words)
		*words = append(*words, word)
	}
	return i
}

// layout is the runs without their times.
func (d *data) layout() *contrast.Layout {
	l := &contrast.Layout{Modes: len(d.names), Mode: d.mode, Cost: d.costs(), Extra: d.noted()}
	if len(d.ways) > 0 {
		l.Way = d.dir
	}
	l.Block = parts(d.runs, func(r *Run) int { return r.Block })
	l.Ground = parts(d.runs, func(r *Run) int { return r.Stretch })
	return l
}

// parts number the parts that runs fall into as they are met, from 0.
func parts(runs []Run, of func(*Run) int) (out []int) {
	var met []int
	for i := range runs {
		p := of(&runs[i])
		k := slices.Index(met, p)
		if k < 0 {
			k, met = len(met), append(met, p)
		}
		out = append(out, k)
	}
	return out
}

// costs are the mean costs of the modes over the largest, nil where one is not known. They
// are rounded, for an error of 15 % in them is harmless, so that most places of a session
// share their design.
func (d *data) costs() []float64 {
	var out []float64
	for m := range d.names {
		var x []float64
		for i, r := range d.runs {
			if d.mode[i] == m && r.Cost > 0 {
				x = append(x, r.Cost)
			}
		}
		if len(x) == 0 {
			return nil
		}
		out = append(out, stats.Describe(x).Mean)
	}
	most := slices.Max(out)
	for m := range out {
		out[m] = max(math.Round(out[m]/most*costSteps), 1) / costSteps
	}
	return out
}

// noted are the quantities noted for every run that vary among them, and the words: of these a
// column for each but the first met, named with it.
func (d *data) noted() []contrast.Covariate {
	var out []contrast.Covariate
	add := func(name string, of func(*Run) (float64, bool)) {
		c := contrast.Covariate{Name: name}
		for i := range d.runs {
			if x, ok := of(&d.runs[i]); ok {
				c.X = append(c.X, x)
			}
		}
		if len(c.X) == len(d.runs) && slices.Min(c.X) < slices.Max(c.X) {
			mean := stats.Describe(c.X).Mean
			for i := range c.X {
				c.X[i] -= mean
			}
			out = append(out, c)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(d.runs[0].Noted)) {
		add(name, func(r *Run) (float64, bool) { x, ok := r.Noted[name]; return x, ok })
	}
	for _, name := range slices.Sorted(maps.Keys(d.runs[0].Said)) {
		var words []string
		for i := range d.runs {
			if w := d.runs[i].Said[name]; w != "" {
				indexed(&words, w)
			}
		}
		for _, w := range words[1:] {
			add(name+" "+w, func(r *Run) (float64, bool) { said := r.Said[name]; return float64(b2i(said == w)), said != "" })
		}
	}
	return out
}

// uncertainties are, by mode in s, the root mean square of what the measurement
// adds to each run, and what all runs share.
func (d *data) uncertainties() (noise, shared []float64) {
	n := make([]float64, len(d.names))
	noise, shared = make([]float64, len(d.names)), make([]float64, len(d.names))
	for i, r := range d.runs {
		m := d.mode[i]
		n[m]++
		noise[m] += r.U * r.U
		shared[m] = max(shared[m], r.Shared)
	}
	for m := range noise {
		noise[m] = math.Sqrt(noise[m] / n[m])
	}
	return noise, shared
}

// directions tells the two ways of a straight apart by heading.
func (d *data) directions() {
	h := make([]float64, len(d.runs)) // rad
	var s, c float64                  // of doubled angles: the axis, whichever way it is driven
	for i, r := range d.runs {
		if math.IsNaN(r.Heading) {
			d.noWays = "the directions of the runs are not known"
			return
		}
		a := 2 * r.Heading * math.Pi / 180
		s, c = s+math.Sin(a), c+math.Cos(a)
		h[i] = r.Heading * math.Pi / 180
	}
	axis := math.Atan2(s, c) / 2
	if math.Cos(h[0]-axis) < 0 {
		axis += math.Pi // the first run's way comes first
	}
	var sum [2][2]float64
	for _, h := range h {
		along := math.Cos(h - axis)
		if math.Abs(along) < math.Sqrt2/2 { // more than 45° off the axis
			d.dir, d.noWays = nil, "the runs went in more than two directions"
			return
		}
		k := b2i(along < 0)
		d.dir = append(d.dir, float64(k)-0.5)
		sum[k][0] += math.Sin(h)
		sum[k][1] += math.Cos(h)
	}
	for _, v := range sum {
		if v != [2]float64{} {
			deg := math.Atan2(v[0], v[1]) * 180 / math.Pi
			d.ways = append(d.ways, math.Mod(deg+360, 360))
		}
	}
}

func b2i(b bool) int {
	if b {
		return 1
	}
	return 0
}

// times are those of all runs in s.
func (d *data) times() []float64 {
	x := make([]float64, len(d.runs))
	for i, r := range d.runs {
		x[i] = r.Seconds
	}
	return x
}

// seconds are the times of a mode in s.
func (d *data) seconds(m int) []float64 {
	var x []float64
	for i, r := range d.runs {
		if d.mode[i] == m {
			x = append(x, r.Seconds)
		}
	}
	return x
}

// mean is the plain mean of a mode in s.
func (d *data) mean(m int) float64 { return stats.Describe(d.seconds(m)).Mean }

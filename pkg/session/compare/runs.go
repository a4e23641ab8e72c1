package compare

import (
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/stats"
)

// data is the counted runs, indexed.
type data struct {
	runs   []Run
	names  []string // modes with a counted run
	mode   []int    // of each run
	dir    []float64
	ways   []float64 // mean headings of the directions, one or two; none where unknown
	noWays string    // why there are none
	blocks []string
	block  []int
	order  []float64 // place less the mean place of the session
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
	for _, n := range names {
		if slices.ContainsFunc(d.runs, func(r Run) bool { return r.Mode == n }) {
			indexed(&d.names, n)
		}
	}
	for _, r := range d.runs {
		d.mode = append(d.mode, indexed(&d.names, r.Mode))
		d.block = append(d.block, indexed(&d.blocks, r.Block))
	}
	if len(d.names) == 0 {
		return nil, ErrNoRun
	}
	d.directions()
	d.places()
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

// places centres the order of the runs within each session.
func (d *data) places() {
	n, sum := make([]float64, len(d.blocks)), make([]float64, len(d.blocks))
	for i, r := range d.runs {
		n[d.block[i]]++
		sum[d.block[i]] += float64(r.Order)
	}
	for i, r := range d.runs {
		d.order = append(d.order, float64(r.Order)-sum[d.block[i]]/n[d.block[i]])
	}
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

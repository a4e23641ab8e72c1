package figure

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"

	"gonum.org/v1/plot"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Options shape the figures of runs. The zero value draws wide figures in mph
// from the rollout.
type Options struct {
	Units string // "mph" (default) or "kmh": speeds, and distances in ft or m
	Size  Size   // Wide if zero
	// From is where time and distance begin: timing.FromRollout (default) or
	// timing.FromRest.
	From timing.Origin
	// Through is a speed whose first crossing is the origin in place of From, in m/s;
	// 0 for none. A run that never has it cannot be drawn.
	Through float64
	// Targets are further targets to label, by name.
	Targets []string
	// Rows are the targets that are marked at all, by name; nil for every one. Chosen has
	// each of them labelled.
	Rows   []string
	Chosen bool
	// Means has an overlay draw the runs thin and over them, bold, the mean of each mode with
	// the band of its 95 % interval.
	Means bool
	// Times are mean times that an overlay of means marks on the curves, by target and then
	// in the order of the modes.
	Times []MeanTime
	// Modes are those of the session in their order, which gives each its line in
	// every figure; see OptionsFor. Modes that are not in it come after.
	Modes       []string
	logsAsModes bool // a run without a mode is of its log
}

func (o Options) size() Size { return cmp.Or(o.Size, Wide) }

func (o Options) from() timing.Origin { return cmp.Or(o.From, timing.FromRollout) }

// originNoun names the origin.
func (o Options) originNoun() string {
	if o.from() == timing.FromRest {
		return "launch"
	}
	return "rollout"
}

// xTitle is the title of a level axis.
func (o Options) xTitle(by Against) string {
	switch by {
	case BySpeed:
		return o.speedTitle()
	case ByDistance:
		return "distance from " + o.originNoun() + ", " + o.shown().Distance
	}
	return "time from " + o.originNoun() + ", s"
}

// quantityTitle is the title of an upright axis.
func (o Options) quantityTitle(of Quantity) string {
	if of == OfAcceleration {
		return "acceleration, g"
	}
	return o.speedTitle()
}

// speedTitle is the title of an axis of speed.
func (o Options) speedTitle() string {
	return "speed, " + o.shown().Speed
}

// newPlot is an empty plot as wide as the options say, its axes shrunk to zero.
func (o Options) newPlot(t *Theme) *plot.Plot {
	p := NewPlot(t)
	p.X.Tick.Marker = Ticks{Most: max(4, int(o.size().W/ticksApart))}
	p.X.Min, p.X.Max, p.Y.Min, p.Y.Max = 0, 0, 0, 0
	return p
}

// ticksApart is how far apart, in points, ticks of the level axis stand at least:
// assumed, room for a label of four figures.
const ticksApart = 44

// Against is the level axis of an overlay.
type Against string

// The level axes.
const (
	ByTime     Against = "time"
	ByDistance Against = "distance"
	BySpeed    Against = "speed"
)

// shown are the units of the options.
func (o Options) shown() unit.Shown { return unit.ShownIn(o.Units) }

// labelled reports whether a target is named in figures; the others are dots.
func (o Options) labelled(name string) bool {
	usual := []string{"0-30 mph", "0-60 mph", "0-100 mph", "60 ft", "1/8 mile", "1/4 mile"}
	switch {
	case o.Chosen:
		usual = o.Rows
	case o.Units == "kmh":
		usual = []string{"0-50 km/h", "0-100 km/h", "100 m", "400 m", "1000 m"}
	}
	return slices.Contains(usual, name) || slices.Contains(o.Targets, name)
}

// marked reports whether a time is marked on a curve.
func (o Options) marked(t *timing.Time) bool {
	return t.From == o.from() && t.Reason == "" && (o.Rows == nil || slices.Contains(o.Rows, t.Name))
}

// errNoTrace is for a run whose estimate was not kept.
var errNoTrace = errors.New("the run has no trace")

// view is the part of a run that is drawn: from shortly before the launch to the
// highest speed, in the reader's units, counted from the origin.
type view struct {
	t, s, v, a, sv, sa []float64 // s, unit of distance, unit of speed, g, unit of speed, g
	t0, s0             float64   // s and m from the launch to the origin
	per                float64   // m/s in the unit of speed
}

// before is how long before the launch the drawing begins.
const before = 0.5 // s

func newView(r *session.TimedRun, o Options) (*view, error) {
	tr := &r.Trace
	if tr.Len() < 2 {
		return nil, fmt.Errorf("%s: %w", r.ID, errNoTrace)
	}
	u := o.shown()
	per := u.SpeedPer
	w := &view{per: per}
	switch {
	case o.Through > 0:
		if w.t0 = crossing(tr.T, tr.V, o.Through); math.IsNaN(w.t0) {
			return nil, fmt.Errorf("%s: %w", r.ID, errNoTrace)
		}
		w.s0 = interpolate(tr.T, tr.S, w.t0)
	case o.from() == timing.FromRollout && r.Rollout > 0:
		w.t0, w.s0 = r.Rollout, unit.Rollout
	}
	top := 0
	for i, v := range tr.V {
		if v > tr.V[top] || math.IsNaN(tr.V[top]) {
			top = i
		}
	}
	for i := 0; i <= top; i++ {
		if tr.T[i] < -before {
			continue
		}
		w.t = append(w.t, tr.T[i]-w.t0)
		w.s = append(w.s, (tr.S[i]-w.s0)/u.DistancePer)
		w.v = append(w.v, tr.V[i]/per)
		w.a = append(w.a, tr.A[i]/unit.GravityStandard)
		w.sv = append(w.sv, at(tr.SV, i)/per)
		w.sa = append(w.sa, at(tr.SA, i)/unit.GravityStandard)
	}
	if len(w.t) < 2 {
		return nil, fmt.Errorf("%s: %w", r.ID, errNoTrace)
	}
	return w, nil
}

// along is the view's column of a level axis.
func (w *view) along(by Against) []float64 {
	switch by {
	case ByDistance:
		return w.s
	case BySpeed:
		return w.v
	}
	return w.t
}

// of is the view's column of a quantity.
func (w *view) of(of Quantity) []float64 {
	if of == OfAcceleration {
		return w.a
	}
	return w.v
}

// at is a column's value, NaN where the column is shorter.
func at(col []float64, i int) float64 {
	if i < len(col) {
		return col[i]
	}
	return math.NaN()
}

// interpolate is y at a value of x, which rises; NaN outside.
func interpolate(x, y []float64, at float64) float64 {
	i := sort.SearchFloat64s(x, at)
	switch {
	case i < len(x) && x[i] == at:
		return y[i]
	case i == 0 || i == len(x):
		return math.NaN()
	}
	f := (at - x[i-1]) / (x[i] - x[i-1])
	return y[i-1] + f*(y[i]-y[i-1])
}

// crossing is the x at which y first rises through a value; NaN where it never does.
func crossing(x, y []float64, value float64) float64 {
	for i := 1; i < len(x); i++ {
		if y[i-1] < value && y[i] >= value {
			return x[i-1] + (x[i]-x[i-1])*(value-y[i-1])/(y[i]-y[i-1])
		}
	}
	return math.NaN()
}

// edges is a column with 1.96 standard deviations taken away and added.
func edges(mid, sd []float64) (lo, hi []float64) { return around(mid, sd, uncert.Z95) }

// withHalf prints a number with its half-width after a sign, or alone where there is
// none.
func withHalf(x, u95 float64, sign string) string {
	v, h := uncert.Format(x, u95)
	if h == "" {
		return v
	}
	return v + sign + h
}

// around is a column with k times another taken away and added.
func around(mid, half []float64, k float64) (lo, hi []float64) {
	for i := range mid {
		lo = append(lo, mid[i]-k*half[i])
		hi = append(hi, mid[i]+k*half[i])
	}
	return lo, hi
}

// Package compare says which mode is quicker, by how much, and whether the runs
// can tell.
//
// # Model
//
// Each counted time is a mode's mean plus a direction term (grade and wind), a
// session term, a linear drift with the order of the runs, and scatter; terms
// that the runs cannot support are left out and named. Scatter is the scatter
// of the times as seen about that model, pooled over the modes: it already holds
// the measurement's independent noise, which is therefore not added again. It
// is never taken as less than the measurement noise alone. The part of the
// measurement uncertainty that all runs of a mode share does not average out
// and is added to each mode's mean.
//
// With few runs the scatter is hardly known. Below eight residual degrees of
// freedom an allowance of common practice joins it with the weight of four, as
// a scaled inverse chi-squared prior would; with one run a mode it stands alone.
// A past session's scatter can take its place. Where the runs scatter more than
// the allowance can explain, the allowance is dropped.
//
// # Verdict
//
// A pair is told apart when every hypothesis that holds the two equal, alone or
// together with other modes, is rejected by an F test at 5 % (closed testing;
// Marcus, Peritz and Gabriel, Biometrika 63, 1976, 655-660). This keeps the
// chance of any false claim among all pairs of a target at 5 %. The interval of
// a pair told apart is the plain 95 % interval; that of a pair not told apart is
// widened to Scheffé's of the hypothesis that stood in the way, so that an
// interval excludes zero exactly when the verdict is a difference. Welch and
// permutation tests with Holm's correction stand beside it as a second opinion
// that knows nothing of direction and drift.
//
// # Limits
//
// The family is the modes at one target: many targets of the same runs are not
// corrected for, they are nearly the same evidence. Scatter is taken as equal in
// all modes and normal. A drift that is not linear, or a wind that turns, goes
// into the scatter.
package compare

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// Run is one time of one run.
type Run struct {
	ID      string
	Mode    string
	Heading float64 // degrees from true north, NaN where not known
	Order   int     // place among the launches of its session, from 1
	Block   string  // session, "" where there is one
	Seconds float64 // s
	U       float64 // s, standard measurement uncertainty, independent from run to run
	Shared  float64 // s, standard uncertainty that all runs of the mode share
	Counted bool
	Why     string // why not, where not counted
}

// Scatter is a standard deviation of repeated times known from elsewhere.
type Scatter struct {
	SD   float64 // s, of times as measured
	DF   float64 // degrees of freedom it rests on
	From string  // where it is known from, such as "a past session"
}

// Options shapes a comparison. The zero value is usable.
type Options struct {
	Smallest float64  // s, smallest difference worth knowing, default 0.05
	Power    float64  // wanted chance to find it, default 0.8
	Past     *Scatter // scatter known from a past session
	// OwnScatter uses nothing but the scatter of these runs: with one run a
	// mode there is then no verdict.
	OwnScatter bool
	Modes      []string // order of the modes, default as first met
	Seed       uint64   // of drawn permutations
}

// Alpha is the chance of any false claim among the pairs of a target, and 1 less
// the confidence of an interval.
const Alpha = 0.05

func (o *Options) defaults() {
	if o.Smallest == 0 {
		o.Smallest = 0.05
	}
	if o.Power == 0 {
		o.Power = 0.8
	}
}

// Result is a comparison at every target.
type Result struct {
	Targets  []*Target
	Warnings []string // whole sentences
}

// Target is the comparison at one target from one origin.
type Target struct {
	Name string // "0-60 mph"
	From string // "rest" or "rollout"

	Modes    []Mode
	Pairs    []Pair
	Model    Model
	Runs     []Run    // all that were given, counted or not
	Warnings []string // whole sentences
}

// Mode is one mode's runs.
type Mode struct {
	Name     string
	N        int     // counted runs
	Mean     float64 // s, of the counted runs
	SD       float64 // s, NaN for one run
	Best     float64 // s
	U95      float64 // s, half-width of the mean's 95 % interval
	Adjusted float64 // s, mean by the model: both directions, middle of the order
	// Directions are the means of each direction, TwoWay the mean of the two;
	// NaN where the mode was driven one way only.
	Directions []Direction
	TwoWay     float64 // s
	TwoWayU95  float64 // s
	Left       int     // runs not counted
}

// Direction is a mode's runs in one direction.
type Direction struct {
	Heading float64 // degrees, mean of all runs that way
	N       int
	Mean    float64 // s
}

// Model says what the times were fitted with.
type Model struct {
	Terms    []string // in use: "mode", "direction", "session", "order"
	Dropped  []string // not in use, each with the reason
	DF       float64  // residual degrees of freedom
	Residual float64  // s, standard deviation about the model, NaN without any
	// Scatter is the standard deviation the verdict rests on and ScatterDF how
	// well it is known; ScatterFrom says where it comes from.
	Scatter     float64 // s
	ScatterDF   float64
	ScatterFrom string
	// Direction is the effect of driving the second direction rather than the
	// first, Drift that of each further run; NaN where not fitted.
	Direction, DirectionU95 float64 // s
	Drift, DriftU95         float64 // s per run
}

// Verdict says whether two modes were told apart.
type Verdict string

// The verdicts.
const (
	AQuicker Verdict = "a quicker"
	BQuicker Verdict = "b quicker"
	NotTold  Verdict = "not told apart"
)

// Pair is the comparison of two modes.
type Pair struct {
	A, B       string
	Difference float64 // s, a minus b, by the model
	Raw        float64 // s, plain mean of a minus plain mean of b
	SE         float64 // s, standard error of Difference
	Lo, Hi     float64 // s
	P          float64 // of the pair alone
	PAdjusted  float64 // by closed testing
	Verdict    Verdict
	RunsNeeded int // more runs in each mode to resolve Options.Smallest; -1 where none would, 0 where the pair is told apart
	Confounded []string

	WelchP, WelchHolm             float64 // NaN where a mode has one run
	PermutationP, PermutationHolm float64
	PermutationSmallest           float64 // smallest p that these counts can give
	Sentence                      string
}

// Half is the half-width of the interval in s.
func (p *Pair) Half() float64 { return (p.Hi - p.Lo) / 2 }

// ErrOneMode is returned where fewer than two modes have a counted run.
var ErrOneMode = errors.New("fewer than two modes have a counted run")

// At compares the modes at one target.
func At(name, from string, runs []Run, opts Options) (*Target, error) {
	opts.defaults()
	t := &Target{Name: name, From: from, Runs: slices.Clone(runs)}
	d, err := newData(runs, opts.Modes)
	if err != nil {
		return nil, fmt.Errorf("%s from %s: %w", name, from, err)
	}
	f := d.fit()
	v := d.variance(f, &opts)
	t.Model = f.model(v)
	t.Modes = d.modes(f, v, runs)
	t.Pairs = d.pairs(f, v, &opts)
	d.flag(t, f)
	t.Warnings = append(t.Warnings, v.warnings...)
	second(t, d, opts.Seed)
	t.sentences(&opts)
	return t, nil
}

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
		if slices.ContainsFunc(d.runs, func(r Run) bool { return r.Mode == n }) && !slices.Contains(d.names, n) {
			d.names = append(d.names, n)
		}
	}
	for _, r := range d.runs {
		if !slices.Contains(d.names, r.Mode) {
			d.names = append(d.names, r.Mode)
		}
		if !slices.Contains(d.blocks, r.Block) {
			d.blocks = append(d.blocks, r.Block)
		}
	}
	if len(d.names) < 2 {
		return nil, ErrOneMode
	}
	for _, r := range d.runs {
		d.mode = append(d.mode, slices.Index(d.names, r.Mode))
		d.block = append(d.block, slices.Index(d.blocks, r.Block))
	}
	d.directions()
	d.places()
	return d, nil
}

// directions tells the two ways of a straight apart by heading.
func (d *data) directions() {
	var s, c float64 // of doubled angles: the axis, whichever way it is driven
	for _, r := range d.runs {
		if math.IsNaN(r.Heading) {
			d.noWays = "the directions of the runs are not known"
			return
		}
		a := 2 * r.Heading * math.Pi / 180
		s, c = s+math.Sin(a), c+math.Cos(a)
	}
	axis := math.Atan2(s, c) / 2
	if math.Cos(d.runs[0].Heading*math.Pi/180-axis) < 0 {
		axis += math.Pi // the first run's way comes first
	}
	var sum [2][2]float64
	for _, r := range d.runs {
		h := r.Heading * math.Pi / 180
		if math.Abs(math.Cos(h-axis)) < math.Sqrt2/2 { // more than 45° off the axis
			d.dir, d.noWays = nil, "the runs went in more than two directions"
			return
		}
		way, k := -0.5, 0
		if math.Cos(h-axis) < 0 {
			way, k = 0.5, 1
		}
		d.dir = append(d.dir, way)
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

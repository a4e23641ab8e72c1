// Package compare says which mode is quicker, by how much, and whether the runs
// can tell.
//
// Times, differences and standard deviations are in seconds, headings in degrees
// from true north. What a difference is worth is worked out in package contrast,
// which plan uses as well; here runs become its layout, and its claims words.
//
// # Verdict
//
// One place, a target and an origin, is primary. All pairs at it together lead to
// a false claim of a difference in at most 5 sessions in 100. At any other place a
// pair is called different only where it was at all places before, in the order
// declared, so that any claim at all keeps the 5 %. Looks are assumed after every
// round, taken or not: before the last planned run a claim needs more than after
// it. That the modes are equal within a difference that matters is a claim of its
// own, made at the primary place by two one-sided tests.
//
// # Limits
//
// False claims and power are those of simulated sessions (make calibration):
// scatter that is skewed and four times as wide in one mode as in another leads to
// up to 10 in 100. Where one mode is far off, the false claims of equality of it
// and of difference of the others add up. A covariate that was not noted goes into
// the scatter.
package compare

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/session/compare/contrast"
)

// Run is one time of one run.
type Run struct {
	ID      string
	Mode    string
	Heading float64 // degrees from true north, NaN where not known
	Order   int     // place among the launches of its session, from 1
	Block   int     // stretch of driving without a long gap, from 0
	Stretch int     // stretch of ground that it began on, from 0
	Seconds float64 // s
	U       float64 // s, standard measurement uncertainty, independent from run to run
	Shared  float64 // s, standard uncertainty that all runs of the mode share
	// Cost is what the time loses to a small retarding force, in s per m/s² of
	// acceleration lost; NaN or 0 where not known.
	Cost  float64
	Noted map[string]float64 // quantities noted for the run, by name
	Said  map[string]string  // words noted for it, by name
	// Gap is how long before it the start before it was, in s; 0 where not known.
	Gap     float64
	Trace   string // what its own trace tells of it, such as a lift, "" for nothing
	Counted bool
	Why     string // why not, where not counted
}

// Place is a target and an origin with the times of all runs.
type Place struct {
	Name string // "0-60 mph"
	From string // "rest" or "rollout"
	Runs []Run
}

// Options shapes a comparison. The zero value is usable.
type Options struct {
	// Smallest is the smallest difference that matters, in s. 0 is for none stated:
	// equality is then not asked for, and runs still needed are for DefaultSmallest.
	Smallest float64
	Power    float64                          // wanted chance to find it, default 0.8
	Past     func(name, from string) *Scatter // scatter known from past sessions, nil for none
	Modes    []string                         // order of the modes, default as first met
	Plan     contrast.Plan                    // how the session ends
	Seed     uint64                           // of drawn permutations
}

// ErrNoRun is returned where no mode has a counted run.
var ErrNoRun = errors.New("no mode has a counted run")

// At compares the modes at one place; see Session.
func At(name, from string, runs []Run, opts Options) (*Target, error) {
	t, err := Session([]Place{{name, from, runs}}, opts)
	if err != nil {
		return nil, err
	}
	return t[0], nil
}

// Session gives the mean of each mode at some places, the primary one first, and
// compares them; one mode alone has its mean and no pair. A place where nothing can be
// compared is nil, and an error where it is the only one.
func Session(places []Place, opts Options) ([]*Target, error) {
	opts.Power = cmp.Or(opts.Power, DefaultPower)
	out := make([]*Target, len(places))
	all := make([]*judged, len(places))
	seen := map[string]*contrast.Course{}
	for i, p := range places {
		d, err := newData(p.Runs, opts.Modes)
		if err != nil && len(places) > 1 {
			continue // nothing at this place
		} else if err != nil {
			return nil, fmt.Errorf("%s from %s: %w", p.Name, p.From, err)
		}
		all[i] = judge(d, p, &opts, seen)
		out[i] = all[i].target(&p)
	}
	gate(all)
	for i, j := range all {
		if j != nil {
			j.pairs(out[i], &opts, i == 0)
		}
	}
	return out, nil
}

// judged is a place with what the runs can claim there.
type judged struct {
	*data
	course *contrast.Course
	known  *contrast.Known
	fit    *contrast.Fit
	claims []contrast.Claim
	past   *Scatter
}

// judge lets the runs speak. Places with the same runs share their course.
func judge(d *data, p Place, opts *Options, seen map[string]*contrast.Course) *judged {
	j := &judged{data: d, known: &contrast.Known{}}
	if opts.Past != nil {
		if j.past = opts.Past(p.Name, p.From); j.past != nil {
			j.known.Past = &contrast.Past{SD: j.past.SD, DF: j.past.DF, Same: j.past.Same}
		}
	}
	l := d.layout()
	key := fmt.Sprint(*l, d.names, j.known.Past)
	if j.course = seen[key]; j.course == nil {
		j.course = contrast.NewCourse(l, j.known.Past, opts.Plan)
		seen[key] = j.course
	}
	j.known.Noise, j.known.Shared = d.uncertainties()
	times := d.times()
	j.fit = j.course.Now.Fit(times, j.known, nil)
	j.claims = j.course.Claims(times, j.known, opts.Smallest)
	return j
}

// gate lets claims stand at a place only where they stand at those before. Modes
// are known by name: a mode may have no run at some place.
func gate(all []*judged) {
	var names []string
	claims := make([][]contrast.Claim, 0, len(all))
	for _, j := range all {
		if j == nil {
			continue
		}
		renumber(j.claims, func(m int) int { return indexed(&names, j.names[m]) })
		claims = append(claims, j.claims)
	}
	contrast.Gate(claims)
	for _, j := range all {
		if j != nil {
			renumber(j.claims, func(m int) int { return slices.Index(j.names, names[m]) })
		}
	}
}

func renumber(claims []contrast.Claim, f func(int) int) {
	for i := range claims {
		claims[i].A, claims[i].B = f(claims[i].A), f(claims[i].B)
	}
}

// target is the place without its pairs.
func (j *judged) target(p *Place) *Target {
	t := &Target{Name: p.Name, From: p.From, Runs: slices.Clone(p.Runs), Model: j.model()}
	t.Modes = j.modes(p.Runs)
	return t
}

// half is the half-width of the 95 % interval of a single estimate.
func half(e contrast.Estimate) float64 {
	if math.IsNaN(e.SE) {
		return math.NaN()
	}
	return contrast.CriticalAt(Alpha, 2).At(e.DF) * e.SE
}

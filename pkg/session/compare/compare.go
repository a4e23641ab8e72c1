// Package compare says which mode is quicker, by how much, and whether the runs
// can tell.
//
// Times, differences and standard deviations are in seconds, headings in degrees
// from true north. Every prior and allowance is in priors.go.
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
	"cmp"
	"errors"
	"fmt"
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

// ErrNoRun is returned where no mode has a counted run.
var ErrNoRun = errors.New("no mode has a counted run")

// At gives the mean of each mode at one target and compares them; one mode alone has
// its mean and no pair.
func At(name, from string, runs []Run, opts Options) (*Target, error) {
	opts.Smallest, opts.Power = cmp.Or(opts.Smallest, DefaultSmallest), cmp.Or(opts.Power, DefaultPower)
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

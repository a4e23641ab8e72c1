package estimate

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sort"
	"sync"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/recording"
)

// Smoothing is how the receiver may smooth the speed that it shows, as far as the log
// tells.
type Smoothing struct {
	Filters []LikelyFilter // with probabilities that sum to one
	Stops   int            // that told of it
	Starts  int            // that set a bound
	Profile Standing       // what became of what was known before
	Tried   []TriedFilter  // what the log tells of each filter; nil where nothing was looked for
	// Most is over how many s a receiver may smooth of which nothing tells, 0 where something
	// does: Filters are then a few that stand for all of the possible ones.
	Most float64
}

// LikelyFilter is a filter with its probability.
type LikelyFilter struct {
	ramp.Filter
	P float64

	shows func() []*ramp.Table // each of ramp.All; nil where it is not worth a table
}

// tabulated are filters of which tables tell what they show, made when a run asks first.
func (s *Samples) tabulated(fs []LikelyFilter) []LikelyFilter {
	for i := range fs {
		if f := &fs[i]; f.Kind != ramp.Unfiltered {
			f.shows = sync.OnceValue(func() (out []*ramp.Table) {
				for _, rp := range ramp.All {
					out = append(out, (&ramp.Seen{Ramp: rp, By: &f.Filter}).Tabulate(0, searchSpan+tableBeyond, s.tableStep()))
				}
				return out
			})
		}
	}
	return fs
}

// none is a receiver that does not smooth.
var none = []LikelyFilter{{P: 1}}

// filters are those that the receiver may have. Beside an accelerometer none is undone:
// it tells of the motion itself.
func (s *Samples) filters() []LikelyFilter {
	if s.Accel != nil || len(s.Smoothing.Filters) == 0 {
		return none
	}
	return s.Smoothing.Filters
}

// Delay is by how many s a steady pull is shown late, with its standard deviation, and the
// probability that the receiver does not smooth at all.
func (sm *Smoothing) Delay() (delay, sd, without float64) {
	p := make([]float64, len(sm.Filters))
	for i := range p {
		p[i] = sm.Filters[i].P
	}
	return DelayOf(sm.Kept(), p)
}

// DelayOf is the same of filters with probabilities.
func DelayOf(fs []TriedFilter, p []float64) (delay, sd, without float64) {
	var m, q float64
	for i := range fs {
		f := &fs[i]
		if f.Kind == ramp.Unfiltered {
			without += p[i]
		}
		m, q = m+p[i]*f.Delay, q+p[i]*f.Delay*f.Delay
	}
	return m, math.Hypot(root(q-m*m), lagStepSD*(1-without)), without
}

// LearnSmoothing tells from the log's stops and from starts how the receiver smooths. A filter
// goes on showing speed after the vehicle stands; stops of one driver are let go alike. Starts
// only set a bound, for a build-up looks like a filter: no filter is slower than what it showed
// was quick. Where speed is held at zero neither foot nor tail shows, and without stops nothing
// tells a filter: runs are then timed behind each that is possible.
//
// What is known of the receiver from another log stands in the place of what is usual,
// unless this log contradicts it.
func (s *Samples) LearnSmoothing(ctx context.Context, starts []Window, known Profile) error {
	s.Smoothing = Smoothing{Filters: none}
	if s.Source != recording.GNSS || s.Accel != nil || s.Step > slowestFiltered || s.Coarse {
		return nil
	}
	given := known.Step > 0
	if given && math.Abs(known.Step/s.Step-1) > sameStep {
		given, s.Smoothing.Profile = false, OtherRate
	}
	ts := s.candidates()
	if given {
		known.expect(ts)
	}
	n, err := s.hear(ctx, ts, starts, !given)
	if err != nil {
		return err
	}
	if given {
		s.Smoothing.Profile = Used
		if contradicted(ts) {
			return s.without(ctx, starts)
		}
	}
	if n > 0 || given {
		for _, f := range ts {
			s.Smoothing.Tried = append(s.Smoothing.Tried, f.tried())
		}
		s.Smoothing.Filters, s.Smoothing.Stops = s.tabulated(weigh(ts)), n
		return nil
	}
	s.Smoothing.Filters = s.tabulated(possible(ts))
	for _, f := range s.Smoothing.Filters {
		s.Smoothing.Most = max(s.Smoothing.Most, f.Span())
	}
	return nil
}

// without learns as if nothing were known.
func (s *Samples) without(ctx context.Context, starts []Window) error {
	err := s.LearnSmoothing(ctx, starts, Profile{})
	s.Smoothing.Profile = Contradicts
	return err
}

// hear has the starts and the stops of the log speak on each filter and returns the number
// of stops that did. Where nothing is known beforehand, starts leave it as probable as it
// was that there is a filter at all.
func (s *Samples) hear(ctx context.Context, ts []*trial, starts []Window, level bool) (n int, err error) {
	if s.Static > 0 {
		return 0, nil
	}
	for _, w := range starts[:min(len(starts), mostStarts)] {
		if err := ctx.Err(); err != nil {
			return 0, err
		}
		s.bound(w, ts)
		s.Smoothing.Starts++
	}
	allowed(ts, level)
	for _, w := range s.stops() {
		if err := ctx.Err(); err != nil {
			return n, err
		}
		if s.stop(w, ts) {
			n++
		}
	}
	return n, nil
}

// stops are the firmest stops of the log, as reversed windows.
func (s *Samples) stops() (out []Window) {
	still := max(stoppedAt, stoppedSDs*s.SD, s.Quantum)
	last, prev := -1, -1 // the sample that moves last, and the one before
	for i := range s.T {
		if s.Out[i] {
			continue
		}
		if prev >= 0 && s.T[i]-s.T[prev] > motion.GapIntervals*s.Step {
			last = -1
		}
		prev = i
		switch {
		case s.Speed[i] > still:
			last = i
		case last >= 0 && s.T[i]-s.T[last] >= stoppedFor:
			from := sort.SearchFloat64s(s.T, s.T[last]-stopBefore)
			if s.Speed[from] >= leastFirm {
				out = append(out, Window{From: from, Moving: last, To: sort.SearchFloat64s(s.T, s.T[last]+stopAfter), Standing: true, Reversed: true})
			}
			last = -1
		}
	}
	slices.SortStableFunc(out, func(a, b Window) int { return cmp.Compare(s.Speed[b.From], s.Speed[a.From]) })
	return out[:min(len(out), mostStops)]
}

// tableStep divides the interval of the samples into steps that a search finds fine
// enough.
func (s *Samples) tableStep() float64 { return s.Step / math.Ceil(s.Step/mostTableStep) }

// bound adds to the trials by how much a start is less likely behind them than behind no
// filter, however its thrust built up.
func (s *Samples) bound(w Window, ts []*trial) {
	at := s.T[w.Moving]
	w.To = min(w.To, sort.SearchFloat64s(s.T, at+boundSpan+boundBeyond))
	rd := s.readings(w, s.headingAt(w))
	so := newSolver(s, rd, nil, at-s.back())
	so.pace.span = boundSpan
	for k := range so.q {
		so.q[k] = stopQ
	}
	first := ramp.Seen{Ramp: ramp.Ramp{Shape: ramp.Linear, Tau: probeTau}}
	guess, step := so.coarse(first, max(at-s.back(), rd[0].t), at+searchAhead)
	sc := &scan{so: so, at: guess, step: step, until: guess + so.pace.span, done: map[int]*whitening{}}
	best := math.Inf(-1)
	for i, f := range ts {
		if f.start == nil {
			for _, rp := range startRamps {
				f.start = append(f.start, (&ramp.Seen{Ramp: rp, By: &f.Filter}).Tabulate(0, tableLong, s.tableStep()))
			}
		}
		top := math.Inf(-1)
		for k, rp := range startRamps {
			top = max(top, sc.along(ramp.Seen{Ramp: rp, By: &f.Filter}, f.start[k]).ll)
		}
		if i == 0 {
			best = top
		}
		f.slow += top - best
	}
}

// allowed takes the bound that starts set into the probabilities of the filters; to level
// keeps how probable it is that there is one.
func allowed(ts []*trial, level bool) {
	sum, top := 0.0, ts[0].P
	for _, f := range ts[1:] {
		f.P *= math.Exp(min(f.slow, 0))
		sum, top = sum+f.P, max(top, f.P)
	}
	for _, f := range ts[1:] {
		if level {
			f.P *= (1 - ts[0].P) / sum
		}
		f.passed = f.P < leastFilter*top
	}
}

// weigh gives the filters their probabilities, and keeps those that matter. The stops'
// likelihood is tempered: neither the jerk nor the releases are quite as modelled.
func weigh(ts []*trial) (out []LikelyFilter) {
	ll := make([]float64, len(ts))
	top := math.Inf(-1)
	for i, f := range ts {
		if ll[i] = math.Inf(-1); !f.passed {
			ll[i] = math.Log(f.P) + tempered*f.together()
		}
		top = max(top, ll[i])
	}
	sum := 0.0
	for i, f := range ts {
		p := math.Exp(ll[i] - top)
		f.passed = f.passed || p < leastFilter
		out = append(out, LikelyFilter{Filter: f.Filter, P: p})
		sum += p
	}
	out = merged(out)
	sort.SliceStable(out, func(i, j int) bool { return out[i].P > out[j].P })
	kept := 0.0
	for i := range out {
		kept += out[i].P
		if i+1 == mostFilters || kept > keptFilters*sum {
			out = out[:i+1]
			break
		}
	}
	for i := range out {
		out[i].P /= kept
	}
	return out
}

// merged puts one filter of the first order in the place of those that hardly differ.
func merged(fs []LikelyFilter) (out []LikelyFilter) {
	last := -1
	first := 0.0
	for _, f := range fs {
		if f.Kind == ramp.FirstOrder && last >= 0 && f.Tau-first < mergeSpan {
			o := &out[last]
			if p := o.P + f.P; p > 0 {
				*o = LikelyFilter{Filter: ramp.FirstOrderOf((o.P*o.Tau + f.P*f.Tau) / p), P: p}
			}
			continue
		}
		out = append(out, f)
		if f.Kind == ramp.FirstOrder {
			last, first = len(out)-1, f.Tau
		}
	}
	return out
}

// stop looks at the last second of a stop and what is shown after it, in reverse, for the
// instant at which the vehicle stood, and drops the filters that are out of the question.
func (s *Samples) stop(w Window, ts []*trial) bool {
	at := s.T[w.Moving]
	if w.Moving-w.From < leastStop || w.To-w.Moving < leastStop || s.T[w.From] > at-stopBefore/2 {
		return false
	}
	heading := s.headingAt(Window{Moving: w.From, To: w.Moving})
	if s.turns(w, heading) {
		return false
	}
	so := newSolver(s, s.readings(w, heading), nil, -at+stopBefore)
	so.backwards = true
	so.thrust, so.thrustV = usualStop, usualStopU*usualStopU
	for k := range so.q {
		so.q[k] = stopQ
	}
	so.pace.span = stopBefore + stopAfter // all of it, wherever the stop is
	first := ramp.Seen{Ramp: ramp.Ramp{Shape: ramp.Linear, Tau: probeTau}, Backwards: true}
	guess, _ := so.coarse(first, -at-stopEarly, -at+stopLate)
	sc := &scan{so: so, at: guess, step: min(max(s.Step/stopSteps, leastScan), mostStopStep), until: so.t[len(so.t)-1], lead: math.Inf(1), done: map[int]*whitening{}}
	for _, f := range ts {
		if !f.passed {
			sc.released(f, s.tableStep())
		}
	}
	weigh(ts)
	return true
}

// turns reports whether the vehicle turns as it stops: what is along its heading is then not
// all of its speed.
func (s *Samples) turns(w Window, heading float64) bool {
	for i := w.From; i < w.Moving; i++ {
		if d := math.Abs(math.Remainder(s.Course[i]-heading, 360)); s.Speed[i] > headingAbove && d > straightStop {
			return true
		}
	}
	return false
}

// released adds the evidence of a stop for each way of letting the brake go, behind a
// filter.
func (sc *scan) released(f *trial, step float64) {
	if f.release == nil {
		at := func(rp ramp.Ramp) *ramp.Table {
			return (&ramp.Seen{Ramp: rp, By: &f.Filter, Backwards: true}).Tabulate(-tableLong, tableLong, step)
		}
		sudden := at(ramp.Ramp{})
		for _, rp := range ramp.Releases() {
			t := at(rp)
			for _, foot := range stopFeet {
				f.release = append(f.release, sudden.With(foot, t))
			}
		}
	}
	for k := range stopFeet {
		var lls []float64
		for i, rp := range ramp.Releases() {
			lls = append(lls, sc.along(ramp.Seen{Ramp: rp, By: &f.Filter, Backwards: true}, f.release[i*len(stopFeet)+k]).ll)
		}
		f.stops[k] = append(f.stops[k], ramp.OfReleases(lls))
	}
}

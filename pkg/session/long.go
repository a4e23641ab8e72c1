package session

import (
	"cmp"
	"context"
	"errors"
	"runtime/debug"
	"slices"
	"sync"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/format"
	"fromrest/pkg/motion"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/recording"
)

// analysis is that of one input. A long log is analysed while it is read, some hours at a
// time, each like a log of its own: what its receiver does is told by each stretch for its own
// runs. Stretches end in a standstill, so that no run lies in two.
type analysis struct {
	p      *pipeline
	ctx    context.Context
	log    *Log // what the stretches so far tell
	number map[string]int
	runs   []*TimedRun
	n      int // stretches that are done
	err    error
}

func (p *pipeline) begin(ctx context.Context, in Input) *analysis {
	return &analysis{p: p, ctx: ctx, log: &Log{Path: cmp.Or(in.shown, in.Path), file: in.Path, Mode: in.Mode, Problems: &diag.List{}}, number: map[string]int{}}
}

// analyse reads an input and analyses what it holds, a long log as it is read. One whose
// time turns out to step is read whole.
func (p *pipeline) analyse(ctx context.Context, in Input) outcome {
	an := p.begin(ctx, in)
	var drain *recording.Drain
	if in.Open == nil && in.Beside == "" && p.opts.With == nil && p.opts.Part.All() {
		drain = &recording.Drain{Every: stretchFixes, Take: an.take}
	}
	lf, err := p.open(ctx, in, drain)
	if errors.Is(err, recording.ErrOutOfOrder) {
		an = p.begin(ctx, in)
		lf, err = p.open(ctx, in, nil)
	}
	if an.err = cmp.Or(an.err, err); an.err != nil {
		return outcome{err: an.err}
	}
	return an.finish(lf)
}

// finish analyses what was read, or what is left of it.
func (an *analysis) finish(lf *format.Log) outcome {
	rec := lf.Recording
	if an.add(rec, rec.Fixes()); an.err != nil {
		return outcome{err: an.err}
	}
	log, runs := an.log, an.runs
	log.Format, log.SHA256, log.Bytes, log.Content, log.ContentBytes = rec.Format, lf.SHA256, lf.Bytes, lf.Content, lf.ContentBytes
	log.Undated, log.Clock, log.Marks, log.Sky = rec.Undated, rec.Clock, rec.Marks, rec.Sky
	log.Logger = discreet(rec.Logger)
	problems := rec.Problems // a copy, so that the log does not keep the samples
	problems.Merge(log.Problems)
	log.Problems = &problems
	log.Worth = sync.OnceValue(func() Judgement { return log.judge(runs) })
	if an.p.opts.Judge {
		_ = log.Worth()
	}
	return outcome{log: log, runs: runs, with: lf.Joined}
}

// take analyses the stretch at the beginning of a track, and returns how many of its fixes
// are not needed any more.
func (an *analysis) take(tr *recording.Track) int {
	if an.err != nil {
		return tr.Len()
	}
	s, err := estimate.Prepare(tr)
	if err != nil {
		return 0
	}
	from, to, ok := segment.LastRest(s.SegmentInput())
	if !ok {
		return 0
	}
	at := func(i int) int { // fix of a sample
		k, _ := slices.BinarySearch(tr.Nanos(), tr.NanoAt(0)+int64(s.T[i]*float64(time.Second)))
		return min(k, tr.Len())
	}
	last := to - 1
	for last > from && s.T[to-1]-s.T[last-1] <= keptRest {
		last--
	}
	keep := at(last)
	if keep > 0 {
		an.log.long = true
		an.p.thrifty.Do(thrift)
		an.add(&recording.Recording{Tracks: []*recording.Track{tr.Head(min(at(to-1)+1, tr.Len()))}}, keep)
	}
	return keep
}

// thrift has the memory of what is done given back sooner than usual: the results of a long
// log are most of what is held, and more of them come all the time.
func thrift() {
	if before := debug.SetGCPercent(thriftGC); before < thriftGC {
		debug.SetGCPercent(before) // as the user has it, or as low
	}
}

// add analyses a stretch, of which so many fixes are of no other, or a whole log.
func (an *analysis) add(rec *recording.Recording, own int) {
	log := *an.log
	s, track, err := log.sensors(an.ctx, rec)
	if errors.Is(err, estimate.ErrNoSpeed) && an.n > 0 { // the end of a long log
		an.log.Quality.Fixes += own
		return
	}
	var runs []*TimedRun
	if err == nil {
		runs, err = an.p.runs(an.ctx, &log, rec, s, track, an.number)
	}
	if err != nil {
		an.err = err
		return
	}
	coasts := findCoasts(an.ctx, s)
	log.Portrait = portrait(s, runs)
	switch {
	case an.n > 0:
		an.log.extend(&log, s, own)
	case log.long:
		log.Quality.Fixes = own
		fallthrough
	default:
		*an.log = log
	}
	since := s.Start.Sub(an.log.Start).Seconds()
	for _, r := range runs {
		r.Log, r.stretch = an.log, an.n
		r.LogSeconds += since
	}
	for i := range coasts {
		coasts[i].LogSeconds += since
	}
	an.log.Coasts, an.runs = append(an.log.Coasts, coasts...), append(an.runs, runs...)
	an.n++
}

// extend adds a stretch, of which so many fixes are its own, to what the log is: its first
// stretch stands for the rest but in what is counted.
func (l *Log) extend(next *Log, s *estimate.Samples, own int) {
	q, of := &l.Quality, &next.Quality
	for i := 1; i < len(s.T) && !s.Start.Add(time.Duration(s.T[i]*float64(time.Second))).After(l.End); i++ {
		if d := s.T[i] - s.T[i-1]; d > motion.GapIntervals*s.Step { // of the stretch before
			of.Gaps--
			of.GapSeconds -= d - s.Step
		}
	}
	q.Fixes += own
	q.Gaps += of.Gaps
	q.GapSeconds += of.GapSeconds
	q.LongestGap = max(q.LongestGap, of.LongestGap)
	q.Courses += of.Courses
	l.End = next.End
}

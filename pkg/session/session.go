// Package session is the whole pipeline, from logs to timed runs. The command
// line and the local page both call Run and nothing below it.
//
// # Model
//
// A log is opened (package format), its best speed prepared and, where there is
// an accelerometer, fused with it (accelerometer.go); runs are found in it and timed
// (runs.go), flagged (flags.go) and held against the log's other sources
// (crosscheck.go); coast-downs and the grade of each run are read beside them
// (road.go), and what a log like this is worth is said (quality.go).
// Run does this for every log on every core and gathers what they gave (gather.go);
// a log that was finished in an earlier call is recalled (remember.go). The sheet
// then says what was driven (sheet.go), the launches of a mode teach each other how
// thrust builds up (learn.go), and Compare says which mode is quicker. What explains the
// difference is package explain's.
//
// # States and units
//
// A run is counted or excluded with the reason, and so is a time that one of its
// flags touches. A log gives runs, is listed in Result.Failed with the reason, or in
// Result.Undone where the call was interrupted. SI throughout: s since the launch,
// m, m/s, m/s²; headings in degrees from true north; instants in UTC. A U95 is the
// half-width of a 95 % interval.
//
// # Limits
//
// The tuning numbers are in priors.go. Logs are read whole: about half their size is
// needed in memory, for 2 GiB of logs at one time, and what their runs need beside it. An NMEA
// log of more than 262,144 fixes in the order of time is analysed in stretches
// (long.go), and what its runs told each other is shelved in a temporary file (shelved.go).
// Where no traces are wanted, a run of a long log leaves its own behind as soon as it is
// timed.
package session

import (
	"cmp"
	"context"
	"errors"
	"io"
	"os"
	"runtime"
	"slices"
	"sync"

	"fromrest/pkg/cache"
	"fromrest/pkg/format"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"

	"golang.org/x/sync/errgroup"
	"golang.org/x/sync/semaphore"
)

// Run reads every input, finds its runs and times them, on every core, and gives
// every run what the sheet says of it. An input that gives nothing is listed in
// Result.Failed and the others go on; what of the sheet does not fit is in
// Result.SheetError and the rest of it holds. The error is for a call without inputs,
// for a sheet with targets that are none, and for a cancelled context: the result then
// holds the logs that were done, and Result.Undone names the others.
func Run(ctx context.Context, inputs []Input, opts Options) (*Result, error) {
	if len(inputs) == 0 {
		return nil, errors.New("no logs given")
	}
	inputs = named(inputs)
	whole := opts
	opts, err := opts.Reading()
	if err != nil {
		return nil, err
	}
	// Every core reads where there is one log, one each where the logs themselves keep
	// the cores busy.
	p := &pipeline{opts: opts, targets: targets(opts.Targets), readers: max(1, runtime.GOMAXPROCS(0)/len(inputs))}
	if opts.Memory != nil {
		p.settingsKey = p.key()
	}
	done := make([]outcome, len(inputs))
	p.each(ctx, inputs, func(i int) { done[i] = p.one(ctx, inputs[i]) })
	res := p.gather(ctx, inputs, done)
	res.assemble(&whole)
	if res.shelf = p.shelf; !opts.Shelve {
		_ = res.Close() // nothing on it is needed any more
	}
	return res, ctx.Err()
}

// pipeline is one call's options and progress.
type pipeline struct {
	opts        Options
	targets     []timing.Target
	settingsKey string // of the settings, for Options.Memory
	readers     int    // goroutines that read one log
	mu          sync.Mutex
	read        int64
	logs        int          // done
	shelf       *cache.Shelf // of long logs; nil before the first
	thrifty     sync.Once
}

// outcome is what one input gave.
type outcome struct {
	log  *Log
	runs []*TimedRun
	err  error
	with bool // the companion was joined
}

// targets are the standard ones with the user's own after them, in table order
// and without repeats.
func targets(own []timing.Target) []timing.Target {
	out := timing.Standard()
	for _, t := range own {
		if !slices.ContainsFunc(out, func(o timing.Target) bool { return o.Name == t.Name }) {
			out = append(out, t)
		}
	}
	return out
}

func (p *pipeline) settings() Settings {
	return settings(&p.opts, p.targets)
}

func settings(o *Options, targets []timing.Target) Settings {
	s := Settings{Version: o.Version, Model: ModelRevision, Units: cmp.Or(o.Units, "mph"), Rollout: unit.Rollout, All: o.All, Zone: o.Zone, Positions: o.Positions}
	for _, t := range targets {
		s.Targets = append(s.Targets, t.Name)
	}
	s.Rows, s.Chosen = rows(o, s.Targets), len(o.At) > 0
	return s
}

// rows are the targets that tables show: those asked for, else the set with the user's own
// targets behind it.
func rows(o *Options, all []string) []string {
	var out []string
	for _, t := range o.At {
		if !slices.Contains(out, t.Name) {
			out = append(out, t.Name)
		}
	}
	if len(out) > 0 {
		return out
	}
	set := timing.Standard()
	switch o.Rows {
	case RowsAll:
		return all
	case RowsMetric:
		set = timing.Metric()
	}
	for _, t := range set {
		out = append(out, t.Name)
	}
	for _, name := range all {
		if !timing.Known(name) {
			out = append(out, name)
		}
	}
	return out
}

// progress reports bytes read, one caller at a time.
func (p *pipeline) progress(last *int64) func(int64) {
	if p.opts.Progress == nil {
		return nil
	}
	return func(n int64) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.read += n - *last
		*last = n
		p.opts.Progress(p.read, p.opts.Total)
	}
}

// one analyses a single input. A panic on hostile data costs that input only.
func (p *pipeline) one(ctx context.Context, in Input) (out outcome) {
	defer func() {
		if out.err != nil {
			out = outcome{err: out.err}
		}
	}()
	defer recovered(&out.err)
	if err := ctx.Err(); err != nil {
		return outcome{err: err}
	}
	out = p.remembered(ctx, in, func() outcome { return p.analyse(ctx, in) })
	if out.log != nil {
		out.log.open, out.log.witness = in.Open, in.witness
	}
	return out
}

func (p *pipeline) open(ctx context.Context, in Input, drain *recording.Drain) (*format.Log, error) {
	var last int64
	lo := format.Options{Columns: p.opts.Columns, SpeedUnit: p.opts.SpeedUnit, Beside: in.Beside, With: p.opts.With, Part: p.opts.Part, Drain: drain, Workers: p.readers, Progress: p.progress(&last)}
	if in.Open == nil {
		return format.Open(ctx, in.Path, lo)
	}
	r, err := in.Open()
	if err != nil {
		return nil, err
	}
	defer func(c io.Closer) { _ = c.Close() }(r)
	return format.Read(ctx, r, in.Path, lo)
}

// best prepares the track that the runs are timed from.
func best(rec *recording.Recording) (*estimate.Samples, *recording.Track, error) {
	first := estimate.ErrNoSpeed
	for i, tr := range rec.Tracks {
		s, err := estimate.Prepare(tr)
		if err == nil {
			return s, tr, nil
		}
		if i == 0 {
			first = err
		}
	}
	return nil, nil, first
}

// each calls work for every input, on every core, the inputs in their order. It
// returns when all calls have. A log costs about half its size in columns, and with
// many cores all of them at once could be more than a machine has: the logs that are
// being read are never more than atOnce bytes, but for one log alone.
func (p *pipeline) each(ctx context.Context, inputs []Input, work func(i int)) {
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	room := semaphore.NewWeighted(atOnce)
	for i, in := range inputs {
		var size int64
		if in.Open == nil && ctx.Err() == nil {
			if fi, err := os.Stat(in.Path); err == nil {
				size = min(fi.Size(), atOnce)
			}
		}
		_ = room.Acquire(context.Background(), size) // a call that is cancelled ends the others soon
		g.Go(func() error {
			defer room.Release(size)
			work(i)
			p.finished()
			return nil
		})
	}
	_ = g.Wait() // work keeps its own errors
}

// finished reports that one more log is done, one caller at a time.
func (p *pipeline) finished() {
	if p.opts.Finished == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.logs++
	p.opts.Finished(p.logs)
}

package session

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync"

	"fromrest/pkg/format"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// Run reads every input, finds its runs and times them, on every core and in the
// order given. An input that gives nothing is listed in Result.Failed and the
// others go on. The error is for a call without inputs, and for a cancelled
// context: the result then holds the logs that were done, and Result.Undone names
// the others.
func Run(ctx context.Context, inputs []Input, opts Options) (*Result, error) {
	if len(inputs) == 0 {
		return nil, errors.New("no logs given")
	}
	p := &pipeline{opts: opts, targets: targets(opts.Targets), readers: readers(len(inputs))}
	if opts.Memory != nil {
		p.key = p.settingsKey()
	}
	done := make([]outcome, len(inputs))
	p.each(ctx, inputs, func(i int) { done[i] = p.one(ctx, inputs[i]) })
	return p.gather(ctx, inputs, done), ctx.Err()
}

// pipeline is one call's options and progress.
type pipeline struct {
	opts    Options
	targets []timing.Target
	key     string // of the settings, for Options.Memory
	readers int    // goroutines that read one log
	mu      sync.Mutex
	read    int64
	logs    int // done
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
		known := false
		for _, o := range out {
			known = known || o.Name == t.Name
		}
		if !known {
			out = append(out, t)
		}
	}
	return out
}

func (p *pipeline) settings() Settings {
	s := Settings{Version: p.opts.Version, Units: p.opts.Units, Rollout: unit.Rollout, All: p.opts.All}
	if s.Units == "" {
		s.Units = "mph"
	}
	for _, t := range p.targets {
		s.Targets = append(s.Targets, t.Name)
	}
	return s
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
		if r := recover(); r != nil {
			out = outcome{err: fmt.Errorf("the log could not be analysed: %v", r)}
		}
	}()
	if err := ctx.Err(); err != nil {
		return outcome{err: err}
	}
	return p.remembered(ctx, in, func() outcome {
		lf, err := p.open(ctx, in)
		if err != nil {
			return outcome{err: err}
		}
		out := p.log(ctx, in, lf)
		out.with = lf.Joined
		return out
	})
}

// log analyses what was read of a single input.
func (p *pipeline) log(ctx context.Context, in Input, lf *format.Log) outcome {
	rec := lf.Recording
	problems := rec.Problems // a copy, so that the log does not keep the samples
	log := &Log{Path: in.Path, Mode: in.Mode, Format: rec.Format, SHA256: lf.SHA256, Bytes: lf.Bytes,
		Undated: rec.Undated, Clock: rec.Clock, Problems: &problems, Marks: rec.Marks, Logger: rec.Logger, Sky: rec.Sky}
	s, track, err := log.sensors(ctx, rec)
	if err != nil {
		return outcome{err: err}
	}
	runs, err := p.runs(ctx, log, rec, s, track)
	if err != nil {
		return outcome{err: err}
	}
	log.lookAround(ctx, rec, s, runs)
	if p.opts.Judge {
		log.expect(runs)
	}
	return outcome{log: log, runs: runs}
}

func (p *pipeline) open(ctx context.Context, in Input) (*format.Log, error) {
	var last int64
	lo := format.Options{Columns: p.opts.Columns, With: p.opts.With, Part: p.opts.Part, Workers: p.readers, Progress: p.progress(&last)}
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
	var first error
	for _, tr := range rec.Tracks {
		s, err := estimate.Prepare(tr)
		if err == nil {
			return s, tr, nil
		}
		if first == nil {
			first = err
		}
	}
	if first == nil {
		first = estimate.ErrNoSpeed
	}
	return nil, nil, first
}

// nameLogs gives every log a short name of its own and the runs their ids.
func nameLogs(res *Result) {
	used := map[string]int{}
	for _, l := range res.Logs {
		name := stem(l.Path)
		if used[name] > 0 {
			if dir := filepath.Base(filepath.Dir(l.Path)); dir != "." && dir != string(filepath.Separator) {
				name = dir + "/" + name
			}
		}
		base := name
		for n := 2; used[name] > 0; n++ {
			name = fmt.Sprintf("%s(%d)", base, n)
		}
		used[name]++
		l.Name = name
	}
	for _, r := range res.Runs {
		r.ID = r.Log.Name + "#" + r.ID
	}
}

// stem is a path's last element without its ending.
func stem(path string) string {
	b := filepath.Base(path)
	if s := strings.TrimSuffix(b, filepath.Ext(b)); s != "" {
		return s
	}
	return b
}

// warn collects what concerns the whole result.
func warn(res *Result) {
	for _, l := range res.Logs {
		if l.Undated {
			res.Warnings = append(res.Warnings, fmt.Sprintf("%s has a time of day but no date.", l.Name))
		}
		if l.Quality.Source == recording.Position {
			res.Warnings = append(res.Warnings, fmt.Sprintf("%s has no speed: it was taken from successive positions.", l.Name))
		}
		if l.Quality.InertialOnly {
			res.Warnings = append(res.Warnings, fmt.Sprintf("%s has no speed: its times are from the accelerometer alone, integrated between standstills.", l.Name))
		}
		if l.Quality.Source == recording.Wheel {
			res.Warnings = append(res.Warnings, fmt.Sprintf("%s gives wheel speed: 1 %% is allowed for the rolling radius, and wheel spin reads as speed.", l.Name))
		}
		if r := l.Quality.Rate; r > 0 && r < 4.5 && !l.Quality.Fused() {
			res.Warnings = append(res.Warnings, fmt.Sprintf("%s has %.2g samples a second: its times from rest depend on an assumed build-up of thrust.", l.Name, r))
		}
	}
}

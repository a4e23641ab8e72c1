package session

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"
	"syscall"

	"fromrest/pkg/format"
	"fromrest/pkg/motion"
)

// Memory keeps what finished logs gave, so that a second call over the same logs
// costs only what changed. A key stands for the bytes of a log and everything
// else that shapes what is found in it; both methods must be safe for concurrent
// use. Forgetting is always allowed.
type Memory interface {
	// Recall returns what was remembered under a key, and false where there is
	// nothing or it is not whole any more.
	Recall(key string) ([]byte, bool)
	// Remember keeps a body under a key, or not.
	Remember(key string, body []byte)
}

// finished is what a log gave, without the traces of its runs: most calls do not
// need them, and they are nearly all of the bytes.
type finished struct {
	Failed string // why it gave nothing, "" where it gave something
	Named  bool   // the reason begins with the path
	// Joined and Refused are what became of Options.With.
	Joined, Refused bool
	Log             Log
	Runs            []TimedRun
}

// trace is what makes a run long.
type trace struct {
	Trace               motion.Trace
	RawT, RawV          []float64
	RawOut              []bool
	RawAccelT, RawAccel []float64
	Climb               Climb
}

// judgement is what Options.Judge adds.
type judgement struct {
	Expected []Expected
	Advice   []string
}

// cutTrace takes a run's trace off it.
func (r *TimedRun) cutTrace() trace {
	t := trace{r.Trace, r.RawT, r.RawV, r.RawOut, r.RawAccelT, r.RawAccel, r.Climb}
	r.setTrace(trace{})
	return t
}

func (r *TimedRun) setTrace(t trace) {
	r.Trace, r.RawT, r.RawV, r.RawOut, r.RawAccelT, r.RawAccel, r.Climb = t.Trace, t.RawT, t.RawV, t.RawOut, t.RawAccelT, t.RawAccel, t.Climb
}

// settingsKey is everything but a log's bytes that shapes what is found in it.
func (p *pipeline) settingsKey() string {
	o := &p.opts
	with := ""
	if o.With != nil {
		with = o.With.Key()
	}
	return fmt.Sprintf("%q units %q targets %#v all %v columns %q with %q part %s", o.Build, p.settings().Units, p.targets, o.All,
		format.ColumnsKey(o.Columns), with, o.Part.Key())
}

// remembered returns what an input gave in an earlier call, or works it out and
// remembers it.
func (p *pipeline) remembered(ctx context.Context, in Input, work func() outcome) outcome {
	if p.opts.Memory == nil || p.key == "" || in.Open != nil {
		return p.cut(work())
	}
	before, err := os.Stat(in.Path)
	if err != nil || !before.Mode().IsRegular() {
		return p.cut(work())
	}
	sha, err := format.Sum(ctx, in.Path)
	if err != nil {
		return p.cut(work())
	}
	key := sha + " " + p.key
	if out, ok := p.recall(key, in); ok {
		return out
	}
	out := work()
	after, err := os.Stat(in.Path)
	if err == nil && after.Size() == before.Size() && after.ModTime().Equal(before.ModTime()) {
		p.remember(key, in, out)
	}
	return p.cut(out)
}

// cut drops the traces where nobody wants them, so that a season's results do
// not fill the memory.
func (p *pipeline) cut(out outcome) outcome {
	if p.opts.NoTraces {
		for _, r := range out.runs {
			r.cutTrace()
		}
	}
	return out
}

// The parts of an entry.
const (
	partTraces    = " traces"
	partJudgement = " judgement"
)

func (p *pipeline) recall(key string, in Input) (out outcome, found bool) {
	var f finished
	if !p.recallInto(key, &f) {
		return outcome{}, false
	}
	if w := p.opts.With; w != nil {
		defer func() {
			if found {
				w.Again(f.Joined, f.Refused)
			}
		}()
	}
	if f.Failed != "" {
		if f.Named {
			f.Failed = in.Path + ": " + f.Failed
		}
		return outcome{err: errors.New(f.Failed)}, true
	}
	out = outcome{log: &f.Log}
	out.log.Path, out.log.Mode = in.Path, in.Mode
	for i := range f.Runs {
		r := &f.Runs[i]
		r.Log, r.Mode = out.log, in.Mode
		out.runs = append(out.runs, r)
	}
	if !p.opts.NoTraces {
		var traces []trace
		if !p.recallInto(key+partTraces, &traces) || len(traces) != len(out.runs) {
			return outcome{}, false
		}
		for i, r := range out.runs {
			r.setTrace(traces[i])
		}
	}
	if p.opts.Judge {
		var j judgement
		if !p.recallInto(key+partJudgement, &j) {
			return outcome{}, false
		}
		out.log.Expected, out.log.Advice = j.Expected, j.Advice
	}
	return out, true
}

func (p *pipeline) recallInto(key string, to any) bool {
	body, ok := p.opts.Memory.Recall(key)
	return ok && unpack(body, to) == nil
}

// remember keeps what an input gave. Only what the bytes themselves decide is
// kept: not that a disk failed or that the call was interrupted.
func (p *pipeline) remember(key string, in Input, out outcome) {
	f := finished{Joined: out.with}
	if p.opts.With != nil {
		f.Refused = p.opts.With.Refused()
	}
	if out.err != nil {
		var path *fs.PathError
		var number syscall.Errno
		if errors.Is(out.err, context.Canceled) || errors.Is(out.err, context.DeadlineExceeded) || errors.As(out.err, &path) || errors.As(out.err, &number) {
			return
		}
		f.Failed, f.Named = strings.CutPrefix(out.err.Error(), in.Path+": ")
		p.keep(key, &f)
		return
	}
	f.Log = *out.log
	f.Log.Expected, f.Log.Advice = nil, nil
	traces := make([]trace, 0, len(out.runs))
	for _, r := range out.runs {
		c := *r
		traces = append(traces, c.cutTrace())
		c.Log = nil
		f.Runs = append(f.Runs, c)
	}
	if p.opts.Judge {
		p.keep(key+partJudgement, &judgement{out.log.Expected, out.log.Advice})
	}
	p.keep(key+partTraces, &traces)
	p.keep(key, &f)
}

// keep encodes and remembers one part of an entry.
func (p *pipeline) keep(key string, part any) {
	if body, err := pack(part); err == nil {
		p.opts.Memory.Remember(key, body)
	}
}

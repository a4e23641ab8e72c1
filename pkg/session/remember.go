package session

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"reflect"
	"strings"
	"sync"
	"syscall"

	"fromrest/pkg/cache"
	"fromrest/pkg/format"
)

// finished is what a log gave, without the columns of its runs: most calls do not
// need them, and they are nearly all of the bytes.
type finished struct {
	Failed string // why it gave nothing, "" where it gave something
	Named  bool   // the reason begins with the path
	// Joined and Refused are what became of Options.With.
	Joined, Refused bool
	Log             Log
	Runs            []TimedRun
}

// longPart is what makes a run long.
type longPart struct {
	Columns []cache.Floats // in the order of TimedRun.columns
	Out     []bool
}

// columns are a run's columns of numbers. One that is not among them is remembered
// with the rest of the run.
func (r *TimedRun) columns() []*[]float64 {
	t, c, g := &r.Trace, &r.Climb, &r.Ground
	return []*[]float64{&t.T, &t.S, &t.V, &t.A, &t.SS, &t.SV, &t.SA, &r.RawT, &r.RawV, &r.RawAccelT, &r.RawAccel, &c.AltT, &c.Alt, &c.UpT, &c.Up, &g.T, &g.North, &g.East}
}

// cutLong takes a run's columns off it.
func (r *TimedRun) cutLong() longPart {
	part := longPart{Out: r.RawOut}
	r.RawOut = nil
	for _, col := range r.columns() {
		part.Columns = append(part.Columns, *col)
		*col = nil
	}
	return part
}

// putLong gives a run its columns back, and reports whether they are all there.
func (r *TimedRun) putLong(part longPart) bool {
	r.RawOut = part.Out
	cols := r.columns()
	if len(cols) != len(part.Columns) {
		return false
	}
	for i, col := range cols {
		*col = part.Columns[i]
	}
	return true
}

// key is everything but a log's bytes that shapes what is found in it: every field
// of the options, as used, but for those whose tag says no.
func (p *pipeline) key() string {
	used := p.opts
	used.Units, used.Targets, used.Columns = p.settings().Units, p.targets, format.ColumnsKey(used.Columns)
	var b strings.Builder
	v := reflect.ValueOf(used)
	for i := range v.NumField() {
		f := v.Type().Field(i)
		if f.Tag.Get(shapes) == "no" {
			continue
		}
		text := fmt.Sprintf("%#v", v.Field(i))
		if named, ok := v.Field(i).Interface().(interface{ Key() string }); ok && !v.Field(i).IsZero() {
			text = named.Key()
		}
		fmt.Fprintf(&b, " %s %q", f.Name, text)
	}
	return b.String()
}

// shapes is the tag that says whether a field of Options shapes what is found in a
// log, yes or no.
const shapes = "shapes"

// remembered returns what an input gave in an earlier call, or works it out and
// remembers it.
func (p *pipeline) remembered(ctx context.Context, in Input, work func() outcome) outcome {
	if p.opts.Memory == nil || in.Open != nil || in.Beside != "" {
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
	key := sha + p.settingsKey
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

// cut drops the columns where nobody wants them, so that a season's results do
// not fill the memory.
func (p *pipeline) cut(out outcome) outcome {
	if p.opts.NoTraces {
		for _, r := range out.runs {
			r.cutLong()
		}
	}
	return out
}

// lean reports whether the runs of a log lose their columns one by one, since nobody wants
// them: neither this call nor, where they are few enough to be worth remembering, the next.
func (p *pipeline) lean(log *Log, runs int) bool {
	return p.opts.NoTraces && (p.opts.Memory == nil || log.long || runs > mostRemembered)
}

// The parts of an entry.
const (
	partColumns   = " columns"
	partJudgement = " judgement"
)

func (p *pipeline) recall(key string, in Input) (out outcome, found bool) {
	var f finished
	var long []longPart
	var j Judgement
	m := p.opts.Memory
	switch {
	case !cache.Get(m, key, &f):
		return outcome{}, false
	case f.Failed != "" && f.Named:
		out.err = errors.New(in.Path + ": " + f.Failed)
	case f.Failed != "":
		out.err = errors.New(f.Failed)
	case !p.opts.NoTraces && (!cache.Get(m, key+partColumns, &long) || len(long) != len(f.Runs)),
		p.opts.Judge && !cache.Get(m, key+partJudgement, &j):
		return outcome{}, false
	default:
		out.log = &f.Log
		out.log.Path, out.log.file, out.log.Mode = cmp.Or(in.shown, in.Path), in.Path, in.Mode
		for i := range f.Runs {
			r := &f.Runs[i]
			r.Log, r.Mode = out.log, in.Mode
			if long != nil && !r.putLong(long[i]) {
				return outcome{}, false
			}
			out.runs = append(out.runs, r)
		}
		out.log.Worth = sync.OnceValue(func() Judgement {
			if p.opts.Judge {
				return j
			}
			return out.log.judge(out.runs)
		})
	}
	if w := p.opts.With; w != nil {
		w.Again(f.Joined, f.Refused)
	}
	return out, true
}

// remember keeps what an input gave. Only what the bytes themselves decide is
// kept: not that a disk failed or that the call was interrupted.
func (p *pipeline) remember(key string, in Input, out outcome) {
	m := p.opts.Memory
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
		cache.Put(m, key, &f)
		return
	}
	if out.log.long { // to remember it would cost what its stretches save
		return
	}
	f.Log = *out.log
	long := make([]longPart, 0, len(out.runs))
	for _, r := range out.runs {
		c := *r
		part := c.cutLong()
		if !out.log.lean {
			long = append(long, part)
		}
		f.Runs = append(f.Runs, c)
	}
	if p.opts.Judge {
		j := out.log.Worth()
		cache.Put(m, key+partJudgement, &j)
	}
	if !out.log.lean {
		cache.Put(m, key+partColumns, &long)
	}
	cache.Put(m, key, &f)
}

package session

import (
	"context"
	"errors"
	"fmt"
	"os"
	"runtime"
	"sync"
)

// atOnce is how many bytes of logs are read at one time: a log costs about half
// its size in columns, and with many cores all of them at once could be more
// than a machine has. A log above it is read alone.
const atOnce = 2 << 30

// each calls work for every input, on every core, the inputs in their order. It
// returns when all calls have.
func (p *pipeline) each(ctx context.Context, inputs []Input, work func(i int)) {
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	room := &allowance{left: atOnce, most: atOnce}
	room.more = sync.NewCond(&room.mu)
	for i := range inputs {
		slots <- struct{}{}
		var size int64
		if inputs[i].Open == nil && ctx.Err() == nil {
			if fi, err := os.Stat(inputs[i].Path); err == nil {
				size = fi.Size()
			}
		}
		size = room.take(size)
		wg.Add(1)
		go func() {
			defer func() { room.give(size); <-slots; wg.Done() }()
			work(i)
			p.finished()
		}()
	}
	wg.Wait()
}

// allowance is an amount that is taken and given back.
type allowance struct {
	mu         sync.Mutex
	more       *sync.Cond
	left, most int64
}

// take waits until n, or all where n is more, is left and takes it.
func (a *allowance) take(n int64) int64 {
	n = max(0, min(n, a.most))
	a.mu.Lock()
	defer a.mu.Unlock()
	for a.left < n {
		a.more.Wait()
	}
	a.left -= n
	return n
}

func (a *allowance) give(n int64) {
	a.mu.Lock()
	a.left += n
	a.mu.Unlock()
	a.more.Broadcast()
}

// readers is how many goroutines read one log: every core where there is one
// log, one where the logs themselves keep the cores busy.
func readers(inputs int) int { return max(1, runtime.GOMAXPROCS(0)/max(1, inputs)) }

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

// gather puts the outcomes together in the order of the inputs.
func (p *pipeline) gather(ctx context.Context, inputs []Input, done []outcome) *Result {
	res := &Result{Settings: p.settings()}
	for i := range done {
		switch err := done[i].err; {
		case err != nil && ctx.Err() != nil && errors.Is(err, ctx.Err()):
			res.Undone = append(res.Undone, inputs[i].Path)
		case err != nil:
			res.Failed = append(res.Failed, &InputError{Path: inputs[i].Path, Err: err})
		default:
			res.Logs = append(res.Logs, done[i].log)
			res.Runs = append(res.Runs, done[i].runs...)
		}
	}
	nameLogs(res)
	warn(res)
	if n := len(res.Undone); n > 0 {
		res.Warnings = append(res.Warnings, fmt.Sprintf("Interrupted: %d of %d logs were not analysed.", n, len(inputs)))
	}
	return res
}

package main

import (
	"io"
	"os"
	"sync"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

// progressAfter is how long work goes on before a bar appears.
const progressAfter = time.Second

// progress is a bar on a terminal for work of more than a second. Anywhere else
// it does nothing.
type progress struct {
	mu    sync.Mutex
	w     io.Writer // nil: not a terminal
	since time.Time
	all   *mpb.Progress
	bar   *mpb.Bar
}

func newProgress(w io.Writer) *progress {
	p := &progress{since: time.Now()}
	if f, ok := w.(*os.File); ok && isatty.IsTerminal(f.Fd()) {
		p.w = w
	}
	return p
}

// update is told how many bytes of how many have been read.
func (p *progress) update(done, total int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w == nil || time.Since(p.since) < progressAfter {
		return
	}
	if p.bar == nil {
		p.all = mpb.New(mpb.WithOutput(p.w), mpb.WithWidth(40))
		p.bar = p.all.AddBar(total,
			mpb.PrependDecorators(decor.Name("reading "), decor.CountersKibiByte("% .0f / % .0f")),
			mpb.AppendDecorators(decor.Percentage()),
			mpb.BarRemoveOnComplete())
	}
	p.bar.SetTotal(total, false)
	p.bar.SetCurrent(done)
}

// done takes the bar off the terminal.
func (p *progress) done() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.bar == nil {
		return
	}
	p.bar.Abort(true)
	p.all.Wait()
	p.bar, p.w = nil, nil
}

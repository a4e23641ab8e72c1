package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/mattn/go-isatty"
	"github.com/urfave/cli/v2"
	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
)

const (
	// progressAfter is how long work goes on before a bar appears on a terminal.
	progressAfter = time.Second
	// plainEvery is how often a line is written where there is no terminal.
	plainEvery = 10 * time.Second
)

// progress is a bar on a terminal for work of more than a second, and a plain
// line now and then elsewhere for work on many logs. With --quiet it is nothing.
type progress struct {
	mu    sync.Mutex
	w     io.Writer // nil: nothing is shown
	term  bool
	logs  int // how many in all
	since time.Time
	said  time.Time // the last plain line
	all   *mpb.Progress
	bar   *mpb.Bar
}

func newProgress(c *cli.Context, logs int) *progress {
	p := &progress{logs: logs, since: time.Now()}
	if c.Bool("quiet") {
		return p
	}
	p.w, p.said = c.App.ErrWriter, p.since
	f, ok := p.w.(*os.File)
	p.term = ok && isatty.IsTerminal(f.Fd())
	return p
}

// update is told how many bytes of how many have been read. It is what a single
// log shows; of many the finished ones count, because reading is not all.
func (p *progress) update(done, total int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.w == nil || !p.term || p.logs > 1 || time.Since(p.since) < progressAfter {
		return
	}
	p.show(done, total, decor.CountersKibiByte("% .0f / % .0f"))
}

// finished is told how many logs are done.
func (p *progress) finished(done int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch {
	case p.w == nil || p.logs < 2 || done == p.logs && p.bar == nil:
	case p.term:
		if time.Since(p.since) >= progressAfter {
			p.show(int64(done), int64(p.logs), decor.CountersNoUnit("%d of %d logs"))
		}
	case time.Since(p.said) >= plainEvery:
		p.said = time.Now()
		fmt.Fprintf(p.w, "fromrest: %d of %d logs done, %s left\n", done, p.logs, p.left(int64(done), int64(p.logs)))
	}
}

// show draws the bar.
func (p *progress) show(done, total int64, counters decor.Decorator) {
	if p.bar == nil {
		p.all = mpb.New(mpb.WithOutput(p.w), mpb.WithWidth(40))
		p.bar = p.all.AddBar(total,
			mpb.PrependDecorators(decor.Name("reading "), counters),
			mpb.AppendDecorators(decor.Percentage(), decor.Any(func(s decor.Statistics) string {
				return "  " + p.left(s.Current, s.Total) + " left"
			})),
			mpb.BarRemoveOnComplete())
	}
	p.bar.SetTotal(total, false)
	p.bar.SetCurrent(done)
}

// left estimates how long the rest takes, from how long it took so far.
func (p *progress) left(done, total int64) string {
	if done <= 0 || total <= done {
		return "about 0 s"
	}
	took := time.Since(p.since).Seconds()
	rest := took / float64(done) * float64(total-done)
	switch {
	case rest < 90:
		return fmt.Sprintf("about %.0f s", rest)
	case rest < 5400:
		return fmt.Sprintf("about %.0f min", rest/60)
	}
	return fmt.Sprintf("about %.1f h", rest/3600)
}

// done takes the bar off the terminal.
func (p *progress) done() {
	p.mu.Lock()
	bar := p.bar
	p.bar, p.w = nil, nil
	p.mu.Unlock()
	if bar == nil {
		return
	}
	bar.Abort(true)
	p.all.Wait()
}

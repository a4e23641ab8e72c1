package web

import (
	"context"
	"sync"
)

// queue runs jobs in the order they were added, a few at a time.
type queue struct {
	ctx  context.Context
	mu   sync.Mutex
	cond *sync.Cond
	jobs []func(context.Context)
	wg   sync.WaitGroup
}

func newQueue(ctx context.Context, workers int) *queue {
	q := &queue{ctx: ctx}
	q.cond = sync.NewCond(&q.mu)
	context.AfterFunc(ctx, func() {
		q.mu.Lock()
		defer q.mu.Unlock()
		q.cond.Broadcast()
	})
	for range workers {
		q.wg.Add(1)
		go q.work()
	}
	return q
}

func (q *queue) add(job func(context.Context)) {
	q.mu.Lock()
	defer q.mu.Unlock()
	q.jobs = append(q.jobs, job)
	q.cond.Signal()
}

func (q *queue) work() {
	defer q.wg.Done()
	for {
		q.mu.Lock()
		for len(q.jobs) == 0 && q.ctx.Err() == nil {
			q.cond.Wait()
		}
		if q.ctx.Err() != nil {
			q.mu.Unlock()
			return
		}
		job := q.jobs[0]
		q.jobs = q.jobs[1:]
		q.mu.Unlock()
		job(q.ctx)
	}
}

// wait returns when every worker has gone, after the context ended.
func (q *queue) wait() { q.wg.Wait() }

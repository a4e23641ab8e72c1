package session

import (
	"fromrest/pkg/cache"
	"fromrest/pkg/motion/timing"
)

// shelved is what of a long log's run is not held in memory. What could not be shelved,
// as where the disk is full, stays in memory.
type shelved struct {
	on                *cache.Shelf
	launches, columns cache.Place
}

// shelve lays the run's launches, of which only what they teach others stays, on the shelf
// of the call, and its columns where they are wanted.
func (p *pipeline) shelve(r *TimedRun) {
	p.mu.Lock()
	if p.shelf == nil {
		p.shelf, _ = cache.OpenShelf()
	}
	sh := &r.shelved
	sh.on = p.shelf
	p.mu.Unlock()
	if sh.on == nil {
		return
	}
	var err error
	if l := r.Launches; l != nil {
		if sh.launches, err = sh.on.Put(launchesOf{l.Paths, l.Cells}); err == nil {
			l.Paths, l.Cells = nil, nil
		}
	}
	if !p.opts.Shelve {
		return
	}
	part := r.cutLong()
	if sh.columns, err = sh.on.Put(part); err != nil {
		r.putLong(part)
	}
}

// launchesOf is what is shelved of timing.Launches.
type launchesOf struct {
	Paths []timing.Launch
	Cells []timing.Cell
}

// launches are the run's, whole. Those of a long log's run are gone once they were asked for.
func (r *TimedRun) launches() (*timing.Launches, error) {
	l := r.Launches
	if !r.shelved.launches.Is() {
		return l, nil
	}
	var of launchesOf
	err := r.shelved.on.Get(r.shelved.launches, &of)
	l.Paths, l.Cells = of.Paths, of.Cells
	r.Launches, r.shelved.launches = nil, cache.Place{}
	return l, err
}

// Whole is the run with its columns, which are read where they were shelved.
func (r *TimedRun) Whole() (*TimedRun, error) {
	if !r.shelved.columns.Is() {
		return r, nil
	}
	k := *r
	var part longPart
	if err := r.shelved.on.Get(r.shelved.columns, &part); err != nil {
		return nil, err
	}
	k.putLong(part)
	k.later(&k, r.moved)
	return &k, nil
}

// Close gives up what Options.Shelve had shelved.
func (r *Result) Close() error {
	if r.shelf == nil {
		return nil
	}
	err := r.shelf.Close()
	r.shelf = nil
	return err
}

package session

import (
	"fromrest/pkg/cache"
	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/motion/timing"
)

// shelved is what of a long log's run is not held in memory. What could not be shelved,
// as where the disk is full, stays in memory.
type shelved struct {
	on                *cache.Shelf
	launches, columns cache.Place
	told              cache.Place // of the launches; Launches is nil then
}

// shelve lays the run's launches on the shelf of the call, and its columns where they are
// wanted.
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
		if sh.launches, err = sh.on.Put(l); err == nil {
			if sh.told, err = sh.on.Put(l.Told); err == nil {
				r.Launches = nil
			}
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

// tells reports whether the run tells others of its launch.
func (r *TimedRun) tells() bool { return r.Launches != nil || r.shelved.told.Is() }

// told is what the run tells others of its launch.
func (r *TimedRun) told() (t ramp.Told, err error) {
	if r.Launches != nil {
		return r.Launches.Told, nil
	}
	err = r.shelved.on.Get(r.shelved.told, &t)
	return t, err
}

// launches are what the run's times follow from.
func (r *TimedRun) launches() (*timing.Launches, error) {
	if r.Launches != nil {
		return r.Launches, nil
	}
	l := &timing.Launches{}
	return l, r.shelved.on.Get(r.shelved.launches, l)
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

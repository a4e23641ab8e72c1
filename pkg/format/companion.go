package format

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"sync/atomic"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// Companion is a log of its own whose accelerometer goes with other logs: a
// sensor recorded beside the receiver, in another file.
type Companion struct {
	// Several is set where more than one log is to be joined: a sensor on a clock
	// of its own then goes with none, because nothing says with which.
	Several bool

	name    string
	sha     string
	rec     *recording.Recording
	joined  atomic.Int32
	refused atomic.Bool
}

// room is how much of a companion's samples is kept before and after a log.
const room = 30 * time.Second

// OpenCompanion reads the companion at path. A mapping of columns is most likely
// meant for the logs, so it is tried only where the file cannot be read without.
// A file without acceleration is an error.
func OpenCompanion(ctx context.Context, path string, opts Options) (*Companion, error) {
	return companion(path, opts, func(o Options) (*Log, error) { return Open(ctx, path, o) })
}

// ReadCompanion is OpenCompanion for a file that open gives the bytes of, also twice.
func ReadCompanion(ctx context.Context, open func() (io.ReadCloser, error), name string, opts Options) (*Companion, error) {
	return companion(name, opts, func(o Options) (*Log, error) {
		r, err := open()
		if err != nil {
			return nil, err
		}
		defer func() { _ = r.Close() }() // only read
		return Read(ctx, r, name, o)
	})
}

func companion(name string, opts Options, read func(Options) (*Log, error)) (*Companion, error) {
	log, err := read(Options{})
	if opts.Columns != "" && (err != nil || log.Recording.Accel.Len() == 0) {
		log, err = read(Options{Columns: opts.Columns})
	}
	if err != nil {
		return nil, err
	}
	if log.Recording.Accel.Len() == 0 {
		return nil, fmt.Errorf("%s: no acceleration in it", name)
	}
	return &Companion{name: name, sha: log.SHA256, rec: log.Recording}, nil
}

// For is the companion for a log that is read while others are, which are several or not: it
// counts for itself what it joins.
func (c *Companion) For(several bool) *Companion {
	return &Companion{Several: several, name: c.name, sha: c.sha, rec: c.rec}
}

// Alone reports whether there is nothing but acceleration in it.
func (c *Companion) Alone() bool { return len(c.rec.Tracks) == 0 }

// Times are when a companion's samples were taken.
type Times struct {
	clock    string // as recording.Recording has it, "elapsed" for one that tells nothing
	from, to int64  // packed
}

// Times returns when the samples were taken.
func (c *Companion) Times() Times {
	a := c.rec.Accel
	t := Times{c.rec.Clock, a.NanoUTC[0], a.NanoUTC[a.Len()-1]}
	if a.OwnClock {
		t.clock = "elapsed"
	}
	return t
}

// Meet reports whether the samples lie, by a clock that both have, about the time of a log
// from one instant to another, so that they would be joined; and whether its clock can tell.
func (t Times) Meet(clock string, from, to time.Time) (meets, tells bool) {
	if clock != t.clock || clock == "elapsed" {
		return false, false
	}
	return t.from < recording.Nano(to) && t.to > recording.Nano(from), true
}

// Join gives the companion's samples to a recording, in place of its own if it
// has some: those that lie about it in time where both are on one clock, else all
// of them on a clock of their own. What was done is noted in the recording's
// problems.
func (c *Companion) Join(rec *recording.Recording) (joined bool) {
	from, to, ok := span(rec)
	if !ok {
		return false
	}
	note := func(effect diag.Effect, format string, args ...any) {
		rec.Problems.Addf("companion", effect, 1, "%s: %s", c.name, fmt.Sprintf(format, args...))
	}
	a := *c.rec.Accel
	shared := !a.OwnClock && rec.Clock == c.rec.Clock && rec.Clock != "elapsed"
	switch {
	case shared:
		i, _ := slices.BinarySearch(a.NanoUTC, from-int64(room))
		j, _ := slices.BinarySearch(a.NanoUTC, to+int64(room)+1)
		if i >= j || a.NanoUTC[i] >= to || a.NanoUTC[j-1] <= from {
			return false // it belongs to other logs
		}
		a = a.Slice(i, j)
	case c.Several:
		c.refused.Store(true)
		return false
	default:
		a.OwnClock = true
	}
	if rec.Accel.Len() > 0 {
		note(diag.Note, "its acceleration takes the place of the log's own")
	}
	for _, g := range c.rec.Problems.Groups() {
		if g.Effect != diag.Note {
			note(g.Effect, "%d times: %s", g.Count, g.First().Text)
		}
	}
	rec.Accel = &a
	c.joined.Add(1)
	return true
}

// joinBeside gives a recording the acceleration of another table of the same export.
// Such tables share a clock, also one that counts from any zero.
func joinBeside(rec, sensor *recording.Recording, name string) {
	c := &Companion{Several: true, name: name, rec: sensor}
	was := rec.Clock
	if rec.Clock == "elapsed" && sensor.Clock == "elapsed" {
		rec.Clock, sensor.Clock = "utc", "utc" // one zero for both
		defer func() { rec.Clock = was }()
	}
	if sensor.Accel.Len() > 0 && c.Join(rec) {
		rec.Problems.Addf("companion", diag.Note, 1, "%s: its acceleration goes with this log, as tables of one export", name)
		return
	}
	why := "no acceleration in it"
	if sensor.Accel.Len() > 0 {
		why = c.Why()
	}
	rec.Problems.Addf("companion", diag.Dropped, 1, "%s: lies beside this log and was not joined: %s", name, why)
}

// Again takes note of a log that was joined, or refused, in an earlier call and
// need not be read now.
func (c *Companion) Again(joined, refused bool) {
	if joined {
		c.joined.Add(1)
	}
	if refused {
		c.refused.Store(true)
	}
}

// Refused reports whether the samples' own clock kept them from a recording.
func (c *Companion) Refused() bool { return c.refused.Load() }

// Joined returns how many recordings took the samples.
func (c *Companion) Joined() int { return int(c.joined.Load()) }

// Why says why no recording took the samples.
func (c *Companion) Why() string {
	if c.refused.Load() {
		return "its clock is its own, so that only a single log can be given with it"
	}
	return "they were made at other times"
}

// Key names the companion's bytes and how it is joined.
func (c *Companion) Key() string { return fmt.Sprintf("%s %v %s", c.sha, c.Several, c.name) }

// Name is the companion's path.
func (c *Companion) Name() string { return c.name }

// span is the time that a recording's fixes cover, packed.
func span(rec *recording.Recording) (from, to int64, ok bool) {
	from, to = math.MaxInt64, math.MinInt64
	for _, t := range rec.Tracks {
		if n := t.Len(); n > 0 {
			from, to, ok = min(from, t.NanoAt(0)), max(to, t.NanoAt(n-1)), true
		}
	}
	return from, to, ok
}

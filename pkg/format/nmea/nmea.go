// Package nmea reads NMEA 0183 logs.
//
// Sentences RMC, VTG, GGA, GNS, GLL, ZDA, GSA, GST and GSV of any talker are read
// by a hand-written parser that works on bytes and allocates nothing for a
// sentence; go-nmea reads TXT and XDR, and is the oracle of the tests. The log is
// cut into pieces at line ends, which are parsed in parallel; one goroutine then
// puts the sentences together in the log's order, so the result does not depend on
// the number of cores or on the cuts.
//
// The model: sentences of one instant make one fix. Speed is the knots field,
// from VTG where that prints more decimals than RMC or RMC's is empty, from the
// km/h field only where there are no knots. The position with the most decimals
// wins. Sentences without a time (VTG, GSA, GSV) belong to the instant they stand
// with. The date is carried from RMC and ZDA to sentences without one, over
// midnight, and back to fixes before the first date. What GSA and GSV say of the
// satellites is sampled once a second and summarised over the log.
//
// Units are those of package recording: m/s, degrees, m above mean sea level,
// m/s², C/N0 in dBHz. An empty field is absent, NaN, never zero.
//
// Limits: a leap second is passed over, and times across it are one second
// short; a two-digit year is 1980 to 2079; speeds are believed as printed; which
// checksums to believe and where VTG stands is settled on the first 16,384
// sentences; satellites of several systems in one GSA or GSV without a system's
// id are told apart by their numbers alone.
package nmea

import (
	"cmp"
	"context"
	"io"
	"runtime"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

const (
	knot    = unit.Knot            // m/s
	kmhUnit = unit.KMH             // m/s
	gravity = unit.GravityStandard // m/s²
	chunk   = 256 << 10            // bytes parsed in one piece
)

// Options control reading. The zero value is usable.
type Options struct {
	// Workers is how many pieces are parsed at a time; 0 means one for each
	// core, 1 that all is done by the caller's goroutine. The result does not
	// depend on it.
	Workers int
	// ChunkBytes is how much is parsed in one piece; 0 means 256 KiB. The result
	// does not depend on it, as long as it is above the longest line.
	ChunkBytes int
	// Size is the number of bytes r will give, if that is known; it only saves
	// memory while the columns grow.
	Size int64
	// Part is what is kept; the zero value is all. Every line is read, and what is
	// wrong outside the part is counted.
	Part recording.Part
	// Drain, if set, takes the fixes of a long log while it is read. One without a date,
	// with acceleration, or out of order is kept whole.
	Drain *recording.Drain
}

// Read reads a log. It returns what it could decode even with an error. The
// error is non-nil only if reading from r fails, ctx is cancelled, or the log
// has no fix at all. Errors of the data are in the recording's Problems.
func Read(ctx context.Context, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	if opts.Workers <= 0 {
		opts.Workers = runtime.GOMAXPROCS(0)
	}
	if opts.ChunkBytes <= 0 {
		opts.ChunkBytes = chunk
	}
	src := newSource(r, opts)
	if !opts.Part.All() {
		opts.Size = 0 // says nothing of how much is kept
	}
	a := &assembler{
		size:  opts.Size,
		rec:   &recording.Recording{Name: name, Format: "nmea"},
		track: &recording.Track{Source: recording.GNSS},
		cut:   recording.Cut{Part: opts.Part},
	}
	a.order = recording.Sequence{Track: a.track, Problems: &a.rec.Problems, Stamp: stamp, Keep: a.keep, Drain: a.drained(opts.Drain)}
	var err error
	if opts.Workers == 1 {
		err = sequential(ctx, src, a)
	} else {
		err = parallel(ctx, src, a, opts.Workers)
	}
	rec, none := a.finish(src.utf16)
	return rec, cmp.Or(err, none)
}

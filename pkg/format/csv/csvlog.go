// Package csv reads logs written as tables of text.
//
// No two loggers write the same table, so nothing is expected: the encoding,
// the delimiter, the decimal sign, the header and a line of units are found
// from the first megabyte; what each column holds is read from its header; the
// clock is the most even of those the table has; and a unit that the header
// does not give is worked out from what the columns say of each other, such as
// speed against the change of position. What cannot be told is asked for by
// name in the error, and answered with Options.Columns.
//
// The rows are then read once, as a stream, into columns. Bad rows and cells
// are dropped with their line and the rest is kept.
//
// Limits: one table a file; a quoted cell may not hold a line end; a row has to
// carry its own time.
package csv

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"fromrest/pkg/recording"
)

// Options say what the table itself does not. The zero value finds everything.
type Options struct {
	// Columns is a mapping such as "time=utc_ms:ms,speed=Speed:km/h", or the
	// path of a TOML file that holds one. See ParseMapping.
	Columns string
	// Size is the number of bytes that r holds, 0 where it is not known. It only
	// saves memory.
	Size int64
	// Part is what is kept; the zero value is all. Every row is read, and what is
	// wrong outside the part is counted.
	Part recording.Part
	// Progress, if set, is called with the bytes of text read so far.
	Progress func(n int64)
}

// ErrNoTable means that the text is no table of numbers.
var ErrNoTable = errors.New("no table of numbers is in the file")

// Read reads a log from r. name is used in messages. It returns what could be
// read even with an error.
func Read(ctx context.Context, r io.Reader, name string, opts Options) (*recording.Recording, error) {
	rec := &recording.Recording{Name: name, Format: "csv"}
	m, err := mappingOf(opts.Columns)
	if err != nil {
		return rec, err
	}
	text, err := utf8Reader(r)
	if err != nil {
		return rec, fmt.Errorf("%s: %w", name, err)
	}
	l := newLines(text)
	if l.err != nil {
		return rec, fmt.Errorf("%s: %w", name, l.err)
	}
	d, ok := findDialect(headLines(l.head(), l.eol, l.eof), m.dialect())
	if !ok || len(d.rows) == 0 {
		return rec, fmt.Errorf("%s: %w", name, ErrNoTable)
	}
	p, err := newPlan(name, d, m)
	if err != nil {
		return rec, err
	}
	t := p.table(rec)
	t.cut.Part = opts.Part
	if opts.Part.All() {
		t.reserve(l, d, opts.Size)
	}
	if err := t.load(ctx, l, d, opts.Progress); err != nil {
		if len(t.nano) > 0 && ctx.Err() == nil {
			_ = t.build(p)
		}
		return rec, fmt.Errorf("%s: %w", name, err)
	}
	return rec, t.build(p)
}

// Sniff says how surely a log that begins with head is a table that this
// package reads, from 0, not at all, to 100.
func Sniff(head []byte) int {
	whole := len(head) < 4096
	l := newLines(sniffReader(head))
	if sentences(l.head()) {
		return 0
	}
	d, ok := findDialect(headLines(l.head(), l.eol, whole), dialect{header: -1})
	if !ok || len(d.rows) < 2 || d.rowLines[0] > 400 {
		return 0
	}
	p, err := newPlan("", d, &Mapping{header: -1})
	switch {
	case p == nil || p.clock == nil:
		if d.header > 0 && p != nil && len(p.slots) > 0 {
			return 40
		}
		return 0
	case err != nil:
		return 40
	case d.header > 0:
		return 70
	}
	return 30
}

// sentences reports whether half of the lines begin as NMEA sentences do.
func sentences(head []byte) bool {
	n := bytes.Count(head, []byte{'\n'}) + bytes.Count(head, []byte{'\r'})
	return (bytes.Count(head, []byte("$G"))+bytes.Count(head, []byte("$P")))*3 > n && n > 0
}

// instant turns a row's ns into the recording's time.
func (t *table) instant(ns int64) time.Time {
	if t.clock.kind == clockUTC {
		return time.Unix(0, ns).UTC()
	}
	return recording.Epoch0.Add(time.Duration(ns))
}

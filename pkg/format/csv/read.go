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

	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
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
	// SpeedUnit is the unit of every speed of which the mapping does not say it, "" for
	// what the table says.
	SpeedUnit string
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
	l, err := text.NewLines(r)
	if err != nil {
		return rec, fmt.Errorf("%s: %w", name, err)
	}
	d, ok := findDialect(l, m)
	if !ok {
		return rec, fmt.Errorf("%s: %w", name, ErrNoTable)
	}
	m.speedUnit, _ = header.UnitNamed(opts.SpeedUnit, header.Velocity)
	p, err := newPlan(name, d, m)
	if err != nil {
		return rec, err
	}
	t := newTable(p, rec, opts)
	if err := t.load(ctx, l, opts.Progress); err != nil {
		if len(t.nano) > 0 && ctx.Err() == nil {
			_ = t.build()
		}
		return rec, fmt.Errorf("%s: %w", name, err)
	}
	return rec, t.build()
}

// How surely a text is a table that is read, by what was found in it.
const (
	sureHeader = 70 // a header, a clock and something to read
	sureAsking = 40 // a header that leaves something to be asked
	sureBare   = 30 // a clock and something to read, but no header
)

// Sniff says how surely a log that begins with head is a table that this
// package reads, from 0, not at all, to 100.
func Sniff(head []byte) int {
	l, err := text.NewLines(bytes.NewReader(head))
	if err != nil || l.IsSentences() {
		return 0
	}
	l.Whole = len(head) < wholeHead
	m := &Mapping{header: -1}
	d, ok := findDialect(l, m)
	if !ok || len(d.rows) < 2 || d.data > foreword {
		return 0
	}
	p, err := newPlan("", d, m)
	switch {
	case d.header > 0 && err == nil:
		return sureHeader
	case err == nil:
		return sureBare
	case d.header > 0 && len(p.slots) > 0:
		return sureAsking
	}
	return 0
}

// Contents is what a table holds.
type Contents struct {
	Speed  bool // or position
	Accel  bool
	Linear bool // acceleration without gravity
}

// Look says what a table that begins with head holds.
func Look(head []byte) (c Contents) {
	l, err := text.NewLines(bytes.NewReader(head))
	if err != nil {
		return c
	}
	l.Whole = len(head) < wholeHead
	m := &Mapping{header: -1}
	d, ok := findDialect(l, m)
	if !ok {
		return c
	}
	p, _ := newPlan("", d, m) // without a clock it still says what it holds
	for _, s := range p.slots {
		switch s.h.Role {
		case header.Speed, header.Lat, header.VelN:
			c.Speed = true
		case header.AccX, header.AccLong:
			c.Accel, c.Linear = true, c.Linear || s.h.Linear
		}
	}
	return c
}

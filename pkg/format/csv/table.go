package csv

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"strings"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
	"fromrest/pkg/recording"
)

// slot is one column kept in memory.
type slot struct {
	col  int
	h    header.Heading
	hemi int  // column of the hemisphere letter, -1 where there is none
	geo  bool // latitude or longitude, whose cells may hold letters and minutes
	v    []float64
	why  string // what told the unit, "" where the header does

	own  bool    // a cell's own unit goes before the column's
	word []byte  // what stood behind the last number that had something behind it
	unit string  // the unit that it names, "" where it is none or the column's
	per  float64 // of the column's units
}

func newSlot(col int, h header.Heading) *slot {
	return &slot{col: col, h: h, hemi: -1, geo: h.Role == header.Lat || h.Role == header.Lon}
}

// table is the rows of a log in columns, as they were written.
type table struct {
	*plan
	rec      *recording.Recording
	nano     []int64  // instants of the rows
	sequence          // what puts them in order
	marked   []string // cell last seen in each column of marks

	cells     []float64 // of the present row
	unstamped []waiting // rows since the last that has a stamp
	spreadAt  int       // line of the first row that was spread, and how many were
	spreadN   int

	ticks    []int32 // first row of each time stamp, where rows share them
	tickNano []int64 // and the stamp

	cut recording.Cut
}

// newTable prepares the columns to be filled. Where all of a log of known size is
// kept it makes room for the rows, judged by the sample, so that growing columns
// leave no garbage.
func newTable(p *plan, rec *recording.Recording, opts Options) *table {
	t := &table{plan: p, rec: rec, marked: make([]string, len(p.marks))}
	t.cut.Part = opts.Part
	t.steps.InOrder = p.clock.Kind == clock.Elapsed
	rec.Clock = p.clock.Kind
	rec.Undated = p.clock.Kind == clock.TimeOfDay
	if opts.Size <= text.HeadSize || !opts.Part.All() {
		return t
	}
	n := 0 // bytes of the sample
	for _, f := range p.rows {
		for _, c := range f {
			n += len(c) + 1
		}
	}
	rows := int(min(float64(opts.Size)/float64(n+len(p.rows))*float64(len(p.rows))*spareRows, math.MaxInt32))
	t.nano = make([]int64, 0, rows)
	for _, s := range t.slots {
		s.v = make([]float64, 0, rows)
	}
	return t
}

// load reads all rows.
func (t *table) load(ctx context.Context, l *text.Lines, progress func(int64)) error {
	if progress == nil {
		progress = func(int64) {}
	}
	var f [][]byte
	for {
		line, ok := l.Next()
		if !ok {
			break
		}
		if l.Num%progressLines == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			progress(l.Off)
		}
		if l.Num < t.data || text.IsComment(line) {
			continue
		}
		if l.Long {
			t.drop(l.Num, "row", "a line of more than %d bytes is no row", text.MaxLine)
			continue
		}
		f = text.Split(line, t.delim, f[:0])
		switch {
		case len(f) != t.fields && (t.strict || len(f) < 2):
			if !t.isRepeatedHeader(f) {
				t.drop(l.Num, "row", "%d fields where the table has %d", len(f), t.fields)
			}
		case !l.Ended && len(f) < t.fields:
			t.drop(l.Num, "row", "the last line is cut short")
		default:
			t.row(f, l.Num)
		}
	}
	progress(l.Off)
	t.give(len(t.unstamped))
	return l.Err
}

// drop notes that a line or a part of it was dropped.
func (t *table) drop(line int, kind, format string, args ...any) {
	t.rec.Problems.Addf(kind, diag.Dropped, line, format, args...)
}

// isRepeatedHeader recognises the header written again, as loggers do when they
// append to a file.
func (t *table) isRepeatedHeader(f [][]byte) bool {
	n := 0
	for i, c := range f {
		if i < len(t.headings) && t.headings[i].Raw != "" && t.headings[i].Raw == text.Decode(c) {
			n++
		}
	}
	return n > 1 && n*2 > len(f)
}

// row takes one row's fields.
func (t *table) row(f [][]byte, line int) {
	t.rowsSeen++
	ns, ok := t.clock.Read(f)
	switch {
	case !ok && t.clock.Blank(f) && len(t.unstamped) < mostUnstamped:
		t.wait(f, line)
		return
	case !ok:
		if !t.isRepeatedHeader(f) {
			t.drop(line, diag.NoTime, "no time can be read in %q", text.Clip(text.Field(f, t.clock.Col)))
		}
		return
	case !t.clock.Holds(ns + t.clock.Shift):
		t.drop(line, diag.NoTime, "the time in %q is outside any log's", text.Clip(text.Field(f, t.clock.Col)))
		return
	}
	ns = t.onDay(ns+t.clock.Shift, line)
	t.spread(ns)
	t.put(ns, t.values(f, line), line)
	for i, col := range t.marks {
		if len(t.nano) > 0 {
			t.mark(i, text.Field(f, col))
		}
	}
}

// values reads the columns of a row. They are valid until the next row.
func (t *table) values(f [][]byte, line int) []float64 {
	t.cells = t.cells[:0]
	void := text.IsVoid(text.Field(f, t.valid))
	for _, s := range t.slots {
		cell := text.Field(f, s.col)
		v, ok := s.read(cell, f, t.decimal)
		if !ok {
			t.drop(line, diag.Value, "%q is no value for column %q", text.Clip(cell), s.h.Raw)
		}
		if n := len(cell); s.own && ok && n > 1 && max(cell[n-1], cell[n-2]) > '9' { // km/h, m/s2
			v = t.inColumnsUnit(s, cell, v, line)
		}
		if void && s.h.FromReceiver() {
			v = math.NaN()
		}
		t.cells = append(t.cells, v)
	}
	return t.cells
}

// inColumnsUnit puts a value whose cell names another unit on the column's.
func (t *table) inColumnsUnit(s *slot, cell []byte, v float64, line int) float64 {
	_, rest, ok := text.Number(cell, t.decimal)
	if !ok || len(rest) == 0 {
		return v
	}
	if !bytes.Equal(rest, s.word) {
		s.word, s.unit = append(s.word[:0], rest...), ""
		if u, ok := header.UnitNamed(text.Decode(text.Trim(rest)), s.h.Role.Quantity()); ok && u.SI != s.h.Unit.SI {
			s.unit, s.per = u.Name, u.SI/s.h.Unit.SI
		}
	}
	if s.unit == "" {
		return v
	}
	t.rec.Problems.Addf("unit", diag.Suspect, line, "%q is in another unit than most of column %q and was put into %s", text.Clip(cell), s.h.Raw, s.h.Unit.Name)
	return v * s.per
}

// put appends a row at its time, unless it lies outside the part that is read.
func (t *table) put(ns int64, values []float64, line int) {
	verdict, wanted := t.place(ns, line)
	if !wanted {
		return
	}
	for i, s := range t.slots {
		s.v = append(s.v, values[i])
	}
	t.nano = append(t.nano, ns)
	t.prevLine = line
	if verdict == recording.Again && len(t.nano) > 1 && t.clock.PerTick == 0 {
		t.again(line)
	}
}

// read gives the cell's value as written, NaN where absent; ok is false where
// the cell holds something that is no value.
func (s *slot) read(cell []byte, f [][]byte, dec byte) (v float64, ok bool) {
	if s.geo {
		v, ok = text.Angle(cell, dec)
		if s.hemi >= 0 && v > 0 && text.Negative(text.Field(f, s.hemi)) {
			v = -v
		}
	} else {
		v, ok = text.Value(cell, dec)
	}
	if !ok {
		return math.NaN(), text.Missing(cell)
	}
	return v, true
}

// mark notes a change of a lap or marker column.
func (t *table) mark(i int, cell []byte) {
	was, is := t.marked[i], string(cell)
	if was == is {
		return
	}
	t.marked[i] = is
	if text.Missing(cell) || len(t.rec.Marks) >= mostMarks {
		return
	}
	h := &t.cols[t.marks[i]]
	kind := "event"
	switch {
	case h.Role == header.Lap && was == "" && t.rowsSeen <= 1:
		return // the lap in which the log begins is no event
	case h.Role == header.Lap:
		kind = "lap"
	case is == "0" || strings.ToLower(is) == "false":
		return
	}
	t.rec.Marks = append(t.rec.Marks, recording.Mark{Time: t.instant(t.nano[len(t.nano)-1]), Kind: kind,
		Text: fmt.Sprintf("%s %s", h.Raw, text.Clip(cell))})
}

// instant turns a row's ns into the recording's time.
func (t *table) instant(ns int64) time.Time {
	if t.clock.Kind == clock.UTC {
		return time.Unix(0, ns).UTC()
	}
	return recording.Epoch0.Add(time.Duration(ns))
}

package csv

import (
	"bytes"
	"context"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// slot is one column kept in memory.
type slot struct {
	col  int
	h    heading
	hemi int  // column of the hemisphere letter, -1 where there is none
	geo  bool // latitude or longitude, whose cells may hold letters and minutes
	v    []float64
	made bool   // worked out from others, not a column of the table
	why  string // what told the unit, "" where the header does
}

// table is the rows of a log in columns, as they were written.
type table struct {
	clock   *clock
	nano    []int64
	slots   []*slot
	decimal byte
	valid   int // column of the receiver's validity word, -1
	marks   []int
	markH   []heading
	lastMrk []string

	rec *recording.Recording

	overMidnight int   // number of rows when a midnight was last seen
	dayShift     int64 // ns added after midnight or after a restart of the clock
	prevLine     int
	ticks        []int32 // first row of each time stamp, where rows share them
	tickNano     []int64 // and the stamp
	back         int     // rows that have stepped back one after the other
	backAt       int64   // time of the last of them
	rowsSeen     int
	start        int64 // time of the first row

	cut    recording.Cut
	inside int // rows of the part among those kept, which come first
}

// reserve makes room for the rows of a text of size bytes, judged by the sample,
// so that growing columns leave no garbage.
func (t *table) reserve(l *lines, d *dialect, size int64) {
	if size <= int64(len(l.buf)) || len(d.rowLines) < 2 {
		return
	}
	n := 0
	for _, f := range d.rows {
		n += len(f) + 1
		for _, c := range f {
			n += len(c)
		}
	}
	rows := int(min(float64(size)/float64(n)*float64(len(d.rows))*1.05, 1<<31-1))
	t.nano = make([]int64, 0, rows)
	for _, s := range t.slots {
		s.v = make([]float64, 0, rows)
	}
}

// load reads all rows.
func (t *table) load(ctx context.Context, l *lines, d *dialect, progress func(int64)) error {
	var f [][]byte
	for {
		line, ok := l.next()
		if !ok {
			break
		}
		if l.num&0x3fff == 0 {
			if err := ctx.Err(); err != nil {
				return err
			}
			if progress != nil {
				progress(l.off)
			}
		}
		if l.num < d.data || isComment(line) {
			continue
		}
		if l.long {
			t.rec.Problems.Addf("row", diag.Dropped, l.num, "a line of more than %d bytes is no row", maxLine)
			continue
		}
		f = split(line, d.delim, f[:0])
		if len(f) != d.fields && (d.strict || len(f) < 2) {
			if t.isRepeatedHeader(f, d) {
				continue
			}
			t.rec.Problems.Addf("row", diag.Dropped, l.num, "%d fields where the table has %d", len(f), d.fields)
			continue
		}
		if !l.ended && len(f) < d.fields {
			t.rec.Problems.Addf("row", diag.Dropped, l.num, "the last line is cut short")
			continue
		}
		t.row(f, l.num, d)
	}
	if progress != nil {
		progress(l.off)
	}
	return l.err
}

// isRepeatedHeader recognises the header written again, as loggers do when they
// append to a file.
func (t *table) isRepeatedHeader(f [][]byte, d *dialect) bool {
	n := 0
	for i, c := range f {
		if i < len(d.headings) && d.headings[i].raw != "" && d.headings[i].raw == decodeText(c) {
			n++
		}
	}
	return n > 1 && n*2 > len(f)
}

// row takes one row's fields.
func (t *table) row(f [][]byte, line int, d *dialect) {
	t.rowsSeen++
	ns, ok := t.clock.read(f)
	if !ok {
		if t.isRepeatedHeader(f, d) {
			return
		}
		t.rec.Problems.Addf(diag.NoTime, diag.Dropped, line, "no time can be read in %q", clip(field(f, t.clock.col)))
		return
	}
	if !t.clock.holds(ns + t.clock.shift) {
		t.rec.Problems.Addf(diag.NoTime, diag.Dropped, line, "the time in %q is outside any log's", clip(field(f, t.clock.col)))
		return
	}
	if !t.place(ns, line) {
		return
	}
	bad := t.valid >= 0 && isVoid(field(f, t.valid))
	for _, s := range t.slots {
		cell := field(f, s.col)
		v, ok := s.read(cell, f, t.decimal)
		if !ok {
			t.rec.Problems.Addf(diag.Value, diag.Dropped, line, "%q is no value for column %q", clip(cell), s.h.raw)
		}
		if bad && s.h.fromReceiver() {
			v = math.NaN()
		}
		s.v = append(s.v, v)
	}
	t.prevLine = line
	t.forget()
	for i, col := range t.marks {
		t.mark(i, field(f, col))
	}
}

// place puts a row's time behind the others and reports whether it was taken.
func (t *table) place(ns int64, line int) bool {
	ns += t.clock.shift
	k := len(t.nano)
	if k == 0 {
		ns += t.dayShift
		if t.rowsSeen == 1 || t.start == 0 {
			t.start = ns
		}
		t.nano = append(t.nano, ns)
		return true
	}
	if t.overMidnight == k && k > 1 && ns+t.dayShift-day > t.nano[k-2] && ns+t.dayShift-day-t.nano[k-2] < day/2 {
		// The day did not end: the row before had a wrong time.
		t.rec.Problems.Addf(diag.TimeBackward, diag.Dropped, t.prevLine, "the time is behind the rows around it")
		t.dayShift -= day
		t.pop(k - 1)
		k--
	} else if t.overMidnight == k && k > 0 {
		t.rec.Problems.Addf("midnight", diag.Note, t.prevLine, "the time of day passes midnight")
	}
	t.overMidnight = -1
	ns += t.dayShift
	last := t.nano[k-1]
	if t.clock.kind == clockTOD && ns < last-day/2 {
		t.dayShift += day
		ns += day
		t.overMidnight = k + 1
	}
	if ns > last || ns == last && t.clock.spread {
		t.back = 0
		t.nano = append(t.nano, ns)
		return true
	}
	if t.leapt(ns, line) {
		t.nano = append(t.nano, ns)
		return true
	}
	if ns == last {
		t.rec.Problems.Addf(diag.TimeRepeated, diag.Dropped, line, "the time is that of the row before")
		return false
	}
	if shift := t.restarted(ns, line); shift > 0 {
		t.dayShift += shift
		t.nano = append(t.nano, ns+shift)
		return true
	}
	t.rec.Problems.Addf(diag.TimeBackward, diag.Dropped, line, "the time steps back by %.3f s", float64(last-ns)/1e9)
	return false
}

// leapt finds out whether it was the rows before that had a wrong time: they
// leapt ahead of the row before them, and as many rows have since gone on from
// there. They are then taken out again.
func (t *table) leapt(ns int64, line int) bool {
	if ns <= t.backAt {
		t.back = 0
	}
	t.back++
	t.backAt = ns
	k := len(t.nano)
	j, _ := slices.BinarySearch(t.nano, ns)
	limit := 10 * max(t.clock.median, 1e6)
	n := k - j
	var gap, step float64 // of the leap, and of this row after those before it
	if j > 0 {
		gap, step = float64(t.nano[j]-t.nano[j-1]), float64(ns-t.nano[j-1])
	} else {
		gap = float64(t.nano[0] - ns)
		n += 5 // nothing before them vouches for either
	}
	if t.back < n || gap < limit || step > limit+float64(t.back)*3*t.clock.median {
		return false
	}
	t.rec.Problems.Addf(diag.TimeLeap, diag.Dropped, max(t.prevLine-(k-j)+1, 1), "the time leaps ahead in %d rows and comes back", k-j)
	t.pop(j)
	t.back = 0
	return true
}

// pop takes out the rows from j on.
func (t *table) pop(j int) {
	t.nano = t.nano[:j]
	for _, s := range t.slots {
		if s.v != nil {
			s.v = s.v[:j]
		}
	}
}

// restarted finds a count of elapsed time that began again, as when a logger
// appends a second session to its file: many rows in a row that go on from a
// low value. It returns what to add to put them a minute behind the others.
func (t *table) restarted(ns int64, line int) int64 {
	const sure = 20
	if t.clock.kind != clockElapsed || t.back < sure || ns > t.start+int64(sure*3*t.clock.median) {
		return 0
	}
	t.back = 0
	t.rec.Problems.Addf("clock-restart", diag.Suspect, line, "the elapsed time begins again; these rows are put a minute after the ones before")
	return t.nano[len(t.nano)-1] + 60e9 - ns
}

func clip(b []byte) string {
	s := decodeText(b)
	if len(s) > 40 {
		s = s[:40] + "…"
	}
	return s
}

// fromReceiver reports whether the column is a GNSS receiver's.
func (h *heading) fromReceiver() bool {
	switch h.role {
	case roleSpeed:
		return h.source == recording.GNSS
	case roleLat, roleLon, roleAlt, roleCourse, roleVelN, roleVelE, roleVelU, roleVelD:
		return true
	}
	return false
}

// isVoid knows the words with which loggers say that there is no fix.
func isVoid(b []byte) bool {
	if len(b) > len("no fix")+1 || len(b) == 0 || b[0] <= '9' {
		return false
	}
	low := lowered(b)
	switch string(low[:len(b)]) {
	case "v", "nofix", "no fix", "void", "invalid", "false", "no":
		return true
	}
	return false
}

// read gives the cell's value as written, NaN where absent; ok is false where
// the cell holds something that is no value.
func (s *slot) read(cell []byte, f [][]byte, dec byte) (v float64, ok bool) {
	if len(cell) == 0 {
		return math.NaN(), true
	}
	if s.geo {
		if missing(cell) {
			return math.NaN(), true
		}
		v, ok = parseGeo(cell, dec)
		if !ok {
			return math.NaN(), false
		}
		if s.hemi >= 0 {
			if h := field(f, s.hemi); len(h) > 0 && (h[0]|0x20 == 's' || h[0]|0x20 == 'w') && v > 0 {
				v = -v
			}
		}
		return v, true
	}
	v, rest, ok := parseNumber(cell, dec)
	if ok && len(rest) == 0 {
		return v, true
	}
	if missing(cell) {
		return math.NaN(), true
	}
	if ok && rest[0] != '.' && rest[0] != ',' && rest[0] != '\'' && rest[0] != ':' && len(rest) < 16 {
		return v, true // a unit stands behind it
	}
	if v, rest, ok = parseGrouped(cell, dec); ok && len(rest) < 8 {
		return v, true
	}
	return math.NaN(), false
}

// parseGeo reads an angle: decimal degrees, with a hemisphere letter before or
// behind, or degrees, minutes and seconds with their signs.
func parseGeo(b []byte, dec byte) (float64, bool) {
	neg := false
	if c := b[0] | 0x20; c == 's' || c == 'w' || c == 'n' || c == 'e' {
		neg = c == 's' || c == 'w'
		b = trim(b[1:])
	}
	v, rest, ok := parseNumber(b, dec)
	if !ok {
		return 0, false
	}
	if v < 0 || len(b) > 0 && b[0] == '-' {
		neg, v = true, -v
	}
	scale := 60.0
	for len(rest) > 0 {
		switch {
		case rest[0]-'0' <= 9 && scale <= 3600:
			var x float64
			if x, rest, ok = parseNumber(rest, dec); !ok || x >= 60 {
				return 0, false
			}
			v += x / scale
			scale *= 60
		case rest[0]|0x20 == 's' || rest[0]|0x20 == 'w':
			neg = true
			rest = rest[1:]
		case bytes.IndexByte([]byte(" '\"nNeE\xc2\xb0\xba\xe2\x80\xb2\xb3\xb9\x99\x9d:d°m"), rest[0]) >= 0:
			rest = rest[1:]
		default:
			return 0, false
		}
	}
	if neg {
		v = -v
	}
	return v, true
}

// mark notes a change of a lap or marker column.
func (t *table) mark(i int, cell []byte) {
	if string(cell) == t.lastMrk[i] {
		return
	}
	was := t.lastMrk[i]
	t.lastMrk[i] = string(cell)
	if missing(cell) || len(t.rec.Marks) >= 10000 {
		return
	}
	kind := "event"
	if t.markH[i].role == roleLap {
		kind = "lap"
		if was == "" && t.rowsSeen <= 1 {
			return // the lap in which the log begins is no event
		}
	} else if string(cell) == "0" || string(bytes.ToLower(cell)) == "false" {
		return
	}
	t.rec.Marks = append(t.rec.Marks, recording.Mark{Time: t.instant(t.nano[len(t.nano)-1]), Kind: kind,
		Text: fmt.Sprintf("%s %s", t.markH[i].raw, clip(cell))})
}

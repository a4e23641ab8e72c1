package nmea

import (
	"math"
	"strings"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// assembler puts sentences together into a recording. It sees them in the
// log's order, whoever parsed them.
type assembler struct {
	rec    *recording.Recording
	track  *recording.Track
	counts [numIssues]int

	size    int64      // bytes of the log, 0 unknown
	bytes   int64      // bytes of the window
	base    int        // lines before the present piece
	first   []sentence // the window, until policy is settled
	views   []view     // of the window, or of the present piece
	settled bool
	pol     policy
	types   [numKinds]int // sentences used

	cur     epoch
	held    sentence // VTG in front of its instant, kind 0 where none
	clock   timeline
	order   recording.Sequence
	cut     recording.Cut
	speeds  [2][20]int // fixes with speed, by unit (knots, km/h) and decimals
	timeDec uint8
	accel   accelLog
	sky     skyLog
	told    []string // what TXT sentences say
	epochs  int      // instants seen
	voids   int      // sentences or instants without a fix
}

// take consumes a piece.
func (a *assembler) take(q *piece) {
	n := min(mostTold-len(a.told), len(q.lib.told))
	a.told = append(a.told, q.lib.told[:n]...)
	before := int32(len(a.views))
	if a.settled {
		a.views, before = q.views, 0
	} else {
		a.views = append(a.views, q.views...)
	}
	out := q.out
	for i := range out {
		s := &out[i]
		s.line += a.base
		if s.view > 0 {
			s.view += before
		}
	}
	a.base += q.line
	if !a.settled {
		if a.first == nil {
			a.first = make([]sentence, 0, min(window, 4*len(out)))
		}
		a.bytes += int64(len(q.buf))
		n := min(window-len(a.first), len(out))
		a.first = append(a.first, out[:n]...)
		if out = out[n:]; len(a.first) < window {
			return
		}
		a.settle()
	}
	for i := range out {
		a.one(&out[i])
	}
}

func (a *assembler) settle() {
	a.settled = true
	a.pol = settle(a.first)
	for i := range a.first {
		a.one(&a.first[i])
	}
	a.first = nil
	a.reserve()
}

// reserve makes room for the fixes to come, as many to the byte as in the
// window, with a little to spare.
func (a *assembler) reserve() {
	if a.bytes == 0 || a.size <= a.bytes {
		return
	}
	more := 1.02 * float64(a.track.Len()) * float64(a.size-a.bytes) / float64(a.bytes)
	if d := a.order.Drain; d != nil {
		more = min(more, float64(d.Every))
	}
	a.track.Grow(int(more) + 64)
}

// one consumes a sentence.
func (a *assembler) one(s *sentence) {
	switch {
	case s.kind == kindIssue && s.typ[0] == 0:
		a.note(s.issue, s.line)
		return
	case s.kind == kindIssue:
		a.note(s.issue, s.line, s.typ)
		return
	case s.sum == sumWrong && !a.pol.keepWrong[s.kind]:
		is := issueChecksum
		if s.kind == kindOther {
			is = issueChecksumOther
		}
		a.note(is, s.line, s.typ, s.given, s.computed)
		return
	case s.sum == sumMissing && s.kind == kindOther:
		a.note(issueNoChecksumOther, s.line, s.typ)
		return
	case s.sum == sumMissing && !a.pol.keepMissing[s.kind]:
		a.note(issueNoChecksum, s.line, s.typ)
		return
	case s.flags&flagUnusable != 0:
		a.note(issueMalformed, s.line, s.typ)
		return
	}
	a.types[s.kind]++
	if s.flags&flagBadDate != 0 {
		a.note(issueBadDate, s.line, s.typ)
	}
	if s.flags&flagField != 0 {
		a.note(issueField, s.line, s.typ)
	}
	if s.view > 0 && a.cur.open {
		a.sky.take(&a.views[s.view-1], a.cur.tod)
	}
	switch s.kind {
	case kindRMC, kindGGA, kindGNS, kindGLL, kindPUBX:
		a.timed(s)
	case kindVTG:
		a.vtg(s)
	case kindZDA:
		a.zda(s)
	case kindGSA:
		a.cur.addGSA(s)
	case kindGST:
		if a.cur.open && s.tod == a.cur.tod {
			a.cur.psd = s.psd
		}
	case kindXDR:
		a.accel.add(s)
	}
}

// timed consumes a sentence that can make a fix.
func (a *assembler) timed(s *sentence) {
	if s.tod == noTime {
		if s.flags&flagVoid != 0 {
			a.voids++
			a.note(issueNoFix, s.line)
		} else {
			a.note(issueNoTime, s.line, s.typ)
		}
		return
	}
	if !a.cur.open || s.tod != a.cur.tod {
		a.close()
		a.cur.begin(s)
		a.clock.move(s.tod)
		a.timeDec = max(a.timeDec, s.timeDec)
	}
	if a.held.kind == kindVTG {
		a.join(&a.held)
		a.held.kind = kindOther
		a.cur.vtgEarly = !a.pol.vtgLeads
	}
	if s.flags&flagSigned != 0 {
		a.note(issueSigned, s.line)
	}
	if s.flags&flagNavStatus != 0 {
		a.note(issueNavStatus, s.line)
	}
	a.cur.add(s)
}

// vtg consumes a sentence without a time: it belongs to the instant it stands
// with.
func (a *assembler) vtg(s *sentence) {
	if a.pol.vtgLeads || !a.cur.open {
		a.held = *s
		return
	}
	a.join(s)
}

// join gives the open instant a VTG: the first, except that one from before
// the log's first instant yields to a later one.
func (a *assembler) join(s *sentence) {
	if a.cur.vtg.kind == kindOther || a.cur.vtgEarly {
		a.cur.vtg, a.cur.vtgEarly = *s, false
		if a.pol.zdaOpens && s.flags&flagVoid == 0 && s.speed == s.speed {
			a.cur.valid = true
		}
	}
}

// zda consumes a date. It opens no instant of its own: receivers send it for
// the last whole second.
func (a *assembler) zda(s *sentence) {
	if s.day == noDay || s.tod == noTime {
		return
	}
	if a.pol.zdaOpens && (!a.cur.open || s.tod != a.cur.tod) {
		a.timed(s)
	}
	if a.cur.open && s.tod == a.cur.tod {
		a.cur.dated(s.day, rankZDA)
		return
	}
	if a.clock.rank < rankRMC {
		a.shift(a.clock.anchor(s.day, s.tod, rankZDA))
	}
}

// shift moves every fix so far by whole days, when the first good date arrives.
func (a *assembler) shift(days int64) {
	if days == 0 {
		return
	}
	d := days * dayNanos
	move(a.track.Nanos(), d)
	a.order.Steps.Shift(d)
	a.accel.shift(d)
	a.sky.shift(d)
	a.cut.Shift(d)
}

// close turns the open epoch into a fix.
func (a *assembler) close() {
	e := &a.cur
	if !e.open {
		return
	}
	e.open = false
	a.epochs++
	if e.rank != rankNone {
		a.shift(a.clock.anchor(e.day, e.tod, e.rank))
	}
	nano := a.clock.nano()
	a.accel.end(nano)
	a.sky.end(nano)
	from, course, mismatch := e.velocity()
	hasPos, hasSpeed := e.lat == e.lat, from.speed == from.speed
	switch {
	case !e.valid || !hasPos && !hasSpeed:
		a.voids++
		a.note(issueNoFix, e.line)
		return
	case e.flags&flagLeapSecond != 0:
		a.note(issueLeap, e.line)
		return
	}
	if mismatch {
		a.note(issueVTG, e.line)
	}
	if e.weak || e.vtg.kind == kindVTG && e.vtg.flags&flagSuspect != 0 {
		t := e.typ
		if !e.weak {
			t = e.vtg.typ
		}
		a.note(issueMode, e.line, t)
	}
	if e.void {
		a.note(issueVoidPosition, e.line)
	} else if e.rmc && !hasSpeed {
		a.note(issueNoSpeed, e.line)
	}
	if hasSpeed {
		a.speeds[from.flags&flagKMH/flagKMH][min(int(from.speedDec), 19)]++
	}
	var q [recording.Columns]float64
	e.fill(&q, from.speed, course)
	a.order.AddNano(nano, &q, recording.Place{Line: e.line})
}

// keep reports whether a fix is of the part that is read. As long as there is no
// date, a part that has one is not known, and limit cuts later.
func (a *assembler) keep(nano int64) bool { return a.cut.Take(nano) || a.clock.rank == rankNone }

// drained gives fixes away as they come, once the date is known and as long as nothing is
// to be put beside them afterwards.
func (a *assembler) drained(d *recording.Drain) *recording.Drain {
	if d == nil || !a.cut.Part.All() {
		return nil
	}
	return &recording.Drain{Every: d.Every, Take: func(t *recording.Track) int {
		if a.clock.rank < rankZDA || len(a.accel.nano) > 0 {
			return 0
		}
		a.resolution()
		return d.Take(t)
	}}
}

// limit cuts what was kept before the date was known, the acceleration and the
// sky.
func (a *assembler) limit() {
	from, to, ok := a.cut.Ends()
	if !ok || a.cut.Part.All() {
		from, to = math.MinInt64, math.MaxInt64
	}
	a.rec.Sky = a.sky.result(from, to)
	a.track.Limit(from, to)
	a.rec.Accel = a.rec.Accel.Limit(from, to)
}

// finish closes the last instant and fills in what is known of the whole log.
// The error says why there is no fix.
func (a *assembler) finish(utf16 bool) (*recording.Recording, error) {
	if !a.settled {
		a.settle()
	}
	a.close()
	a.order.Close()
	r := a.rec
	if utf16 {
		r.Problems.Addf("utf-16", diag.Note, 1, "the log is in UTF-16 and was converted")
	}
	a.notePolicy()
	r.Accel = a.accel.result(&r.Problems)
	seen := a.track.Len() > 0 || !a.cut.Part.All() && a.cut.Offered()
	a.limit()
	r.Clock = "utc"
	if a.clock.rank == rankNone {
		r.Undated, r.Clock = true, "time-of-day"
		zero := recording.Nano(recording.Epoch0) // instants were counted from 1970-01-01
		move(a.track.Nanos(), zero)
		if r.Accel != nil {
			move(r.Accel.NanoUTC, zero)
		}
	}
	if len(a.told) > 0 {
		r.Logger = map[string]string{"receiver": strings.Join(a.told, "; ")}
	}
	switch d := a.order.Drain; {
	case d != nil && d.Err != nil:
		return r, d.Err
	case !seen:
		return r, a.noFix()
	case a.track.Len() == 0:
		return r, a.cut.Nothing()
	}
	a.describe()
	r.Tracks = []*recording.Track{a.track}
	return r, nil
}

// move moves instants by d ns.
func move(nanos []int64, d int64) {
	for i := range nanos {
		nanos[i] += d
	}
}

package gpx

import (
	"bytes"
	"math"
	"strconv"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// leaf is an element whose text is wanted.
type leaf int

const (
	none leaf = iota
	leafTime
	leafFix
	leafEle
	leafSpeed
	leafCourse
	leafSat
	leafHDOP
	leaves
)

// direct are the elements taken where they stand in the point itself; speed and
// course are taken from its extensions too.
var direct = map[string]leaf{
	"time": leafTime, "ele": leafEle, "speed": leafSpeed, "course": leafCourse,
	"sat": leafSat, "hdop": leafHDOP, "fix": leafFix,
}

// quantity is what a number in a point means, and the range it may have.
type quantity struct {
	what   string
	column recording.Column
	lo, hi float64
}

// quantities are those of the elements that hold numbers.
var quantities = [leaves]quantity{
	leafEle:    {"elevation", recording.Altitude, -1e5, 1e8},
	leafSpeed:  {"speed", recording.Speed, 0, 1e4},
	leafCourse: {"course", recording.Course, 0, 360},
	leafSat:    {"satellite count", recording.Satellites, 0, 1000},
	leafHDOP:   {"dilution of precision", recording.HDOP, 0, 1e6},
}

// positions are those of a point's attributes.
var positions = map[string]quantity{
	"lat": {"position", recording.LatDeg, -90, 90},
	"lon": {"position", recording.LonDeg, -180, 180},
}

// point is a track point while it is read.
type point struct {
	fix  recording.Fix
	line int
	seen [leaves]bool
	bad  string // why it is lost
}

// attr is an attribute without its prefix.
type attr struct{ name, value []byte }

func (p *parser) start(name []byte, attrs []attr) {
	switch {
	case string(name) == "trkpt":
		if p.inPt {
			p.lose("another point begins before this one ends")
		}
		p.begin(attrs)
	case p.inPt:
		p.depth++
		p.leaf, p.text = none, p.text[:0]
		if l := direct[string(name)]; p.depth <= 1 || l == leafSpeed || l == leafCourse {
			p.leaf = l
		}
	case string(name) == "trkseg":
		p.segment++
		p.order.segment(p.src.line)
	case string(name) == "trk":
		p.order.pending = "a track begins"
	}
}

func (p *parser) begin(attrs []attr) {
	p.inPt, p.depth, p.leaf = true, 0, none
	p.point = point{fix: recording.NewFix(time.Time{}), line: p.src.line}
	for _, a := range attrs {
		if q, ok := positions[string(a.name)]; ok {
			p.number(q, a.value)
		}
	}
	q := &p.point.fix.Q
	if math.IsNaN(q[recording.LatDeg]) || math.IsNaN(q[recording.LonDeg]) { // half a position is none
		q[recording.LatDeg], q[recording.LonDeg] = math.NaN(), math.NaN()
	}
}

// value notes a value that cannot be one.
func (p *parser) value(what string, b []byte) {
	s := string(b)
	if len(s) > 40 {
		s = s[:40] + "..."
	}
	p.rec.Problems.Addf(diag.Value, diag.Suspect, p.src.line, "%s %q is no %s and is left out", what, s, what)
}

func (p *parser) end(tag []byte) {
	switch name := string(tag); {
	case !p.inPt:
		if name == "trkseg" && p.segment > 0 {
			p.segment--
		}
		return
	case name == "trkpt":
		p.inPt = false
		p.settle()
		return
	case name == "trkseg" || name == "trk" || name == "gpx":
		p.lose("its end is missing")
		p.inPt = false
		p.end(tag)
		return
	}
	if p.leaf != none {
		p.take(bytes.TrimSpace(p.text))
	}
	p.leaf = none
	p.depth--
}

// take stores the text of an element. An element that comes twice means that
// two points have run together, except for speed and course, which the
// extensions of several makers may repeat: the first is kept.
func (p *parser) take(s []byte) {
	l := p.leaf
	if p.point.seen[l] {
		if l == leafTime {
			p.point.bad = "it has two times"
		}
		return
	}
	if len(s) == 0 {
		return // empty is missing
	}
	p.point.seen[l] = true
	switch l {
	case leafTime:
		t, dec, zone, ok := parseTime(s)
		switch {
		case !ok:
			p.value("time", s)
			return
		case !zone:
			p.noZone.count(p.src.line)
		}
		p.timeDec = max(p.timeDec, dec)
		p.point.fix.Time = t
	case leafFix:
		if string(s) == "none" {
			p.noFix.count(p.src.line)
		}
	default:
		if dec := p.number(quantities[l], s); l == leafSpeed {
			p.speedDec = max(p.speedDec, dec)
		}
	}
}

// number stores a number that has the meaning q and returns its decimals.
func (p *parser) number(q quantity, s []byte) (decimals int) {
	v, decimals, ok := number(s)
	if !ok || v < q.lo || v > q.hi {
		p.value(q.what, s)
		return 0
	}
	p.point.fix.Q[q.column] = v
	return decimals
}

// lose drops the point.
func (p *parser) lose(why string) {
	p.rec.Problems.Addf("point", diag.Dropped, p.point.line, "the point is lost: %s", why)
}

// settle ends a point.
func (p *parser) settle() {
	f := &p.point.fix
	switch {
	case p.point.bad != "":
		p.lose(p.point.bad)
		return
	case f.Time.IsZero():
		p.rec.Problems.Addf(diag.NoTime, diag.Dropped, p.point.line, "the point has no time")
		return
	case !f.Has(recording.Speed) && !f.Has(recording.LatDeg):
		p.lose("it has neither position nor speed")
		return
	}
	p.points++
	if f.Has(recording.Speed) {
		p.speeds++
	}
	p.order.add(f, p.point.line)
	p.track.Expect(p.src.read(), p.size-p.src.read())
}

// number reads a plain decimal number and how many decimals it has.
func number(s []byte) (v float64, decimals int, ok bool) {
	s = bytes.TrimSpace(s)
	point := -1
	for i := range len(s) {
		switch c := s[i]; {
		case c >= '0' && c <= '9', c == '-', c == '+', c == 'e', c == 'E':
		case c == '.':
			point = i
		default:
			return 0, 0, false // no names, no hexadecimal
		}
	}
	v, err := strconv.ParseFloat(string(s), 64)
	if err != nil {
		return 0, 0, false
	}
	return v, digits(s, point), true
}

// maxDecimals is how many decimals of a number, or of a second, are told apart.
const maxDecimals = 9

// digits counts the digits behind the point at i of s, -1 for no point.
func digits(s []byte, i int) int {
	if i < 0 {
		return 0
	}
	tail := s[i+1:]
	return min(len(tail)-len(bytes.TrimLeft(tail, "0123456789")), maxDecimals)
}

// parseTime reads an XML Schema dateTime with any number of decimals.
func parseTime(s []byte) (t time.Time, decimals int, zone, ok bool) {
	for _, layout := range [...]string{"2006-01-02T15:04:05Z07:00", "2006-01-02T15:04:05", "2006-01-02T15:04:05Z0700", "2006-01-02 15:04:05Z07:00"} {
		t, err := time.Parse(layout, string(s)) // a fraction after the seconds is accepted by itself
		if err != nil {
			continue
		}
		if t = t.UTC(); t.Year() < 1970 || t.Year() > 2200 {
			return t, 0, false, false
		}
		return t, digits(s, bytes.IndexAny(s, ".,")), layout != "2006-01-02T15:04:05", true
	}
	return t, 0, false, false
}

package gpx

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// leaf is an element whose text is wanted.
type leaf int

const (
	none leaf = iota
	leafTime
	leafEle
	leafSpeed
	leafCourse
	leafSat
	leafHDOP
	leafFix
)

// direct are the elements taken where they stand in the point itself; speed and
// course are taken from its extensions too.
var direct = map[string]leaf{
	"time": leafTime, "ele": leafEle, "speed": leafSpeed, "course": leafCourse,
	"sat": leafSat, "hdop": leafHDOP, "fix": leafFix,
}

// point is a track point while it is read.
type point struct {
	fix  recording.Fix
	line int
	seen [leafFix + 1]bool
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
		return
	case !p.inPt:
		p.outside(string(name))
		return
	}
	p.depth++
	p.leaf, p.text = none, p.text[:0]
	l := direct[string(name)]
	if l == none || p.depth > 1 && l != leafSpeed && l != leafCourse {
		return
	}
	p.leaf = l
}

// outside handles the elements around points.
func (p *parser) outside(name string) {
	switch name {
	case "trkseg":
		p.segment++
		p.order.segment(p.src.line)
	case "trk":
		p.order.newTrack()
	}
}

func (p *parser) begin(attrs []attr) {
	p.inPt, p.depth, p.leaf = true, 0, none
	p.point = point{fix: recording.NewFix(time.Time{}), line: p.src.line}
	for _, a := range attrs {
		switch string(a.name) {
		case "lat":
			p.angle(a.value, recording.LatDeg, 90)
		case "lon":
			p.angle(a.value, recording.LonDeg, 180)
		}
	}
	q := &p.point.fix.Q
	if math.IsNaN(q[recording.LatDeg]) || math.IsNaN(q[recording.LonDeg]) { // half a position is none
		q[recording.LatDeg], q[recording.LonDeg] = math.NaN(), math.NaN()
	}
}

func (p *parser) angle(s []byte, c recording.Column, limit float64) {
	v, _, ok := number(s)
	if !ok || math.Abs(v) > limit {
		p.value("position", s)
		return
	}
	p.point.fix.Q[c] = v
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
		p.takeTime(s)
	case leafEle:
		p.quantity("elevation", s, recording.Altitude, -1e5, 1e8)
	case leafSpeed:
		if dec, ok := p.quantity("speed", s, recording.Speed, 0, 1e4); ok {
			p.speedDec = max(p.speedDec, dec)
		}
	case leafCourse:
		p.quantity("course", s, recording.Course, 0, 360)
	case leafSat:
		p.quantity("satellite count", s, recording.Satellites, 0, 1000)
	case leafHDOP:
		p.quantity("dilution of precision", s, recording.HDOP, 0, 1e6)
	case leafFix:
		if string(s) == "none" {
			if p.noFix++; p.noFix == 1 {
				p.noFixLine = p.src.line
			}
		}
	}
}

func (p *parser) takeTime(s []byte) {
	t, dec, zone, ok := parseTime(s)
	if !ok {
		p.value("time", s)
		return
	}
	if !zone {
		if p.noZone++; p.noZone == 1 {
			p.noZoneLine = p.src.line
		}
	}
	p.timeDec = max(p.timeDec, dec)
	p.point.fix.Time = t
}

func (p *parser) quantity(what string, s []byte, c recording.Column, lo, hi float64) (int, bool) {
	v, dec, ok := number(s)
	if !ok || v < lo || v > hi {
		p.value(what, s)
		return 0, false
	}
	p.point.fix.Q[c] = v
	return dec, true
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
	if point >= 0 {
		for i := point + 1; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
			decimals++
		}
	}
	return v, min(decimals, 9), true
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
		if i := bytes.IndexAny(s, ".,"); i >= 0 {
			for i++; i < len(s) && s[i] >= '0' && s[i] <= '9'; i++ {
				decimals++
			}
		}
		return t, min(decimals, 9), layout != "2006-01-02T15:04:05", true
	}
	return t, 0, false, false
}

// checkUnit compares the speeds with the positions and says so if they look
// like another unit than m/s: extensions have no unit of their own.
func (p *parser) checkUnit() {
	t := p.track
	speed, lat, lon := t.Col(recording.Speed), t.Col(recording.LatDeg), t.Col(recording.LonDeg)
	if speed == nil || lat == nil {
		return
	}
	const radius = 6371008.8 // m, mean radius of the Earth: enough for a factor
	const degree = math.Pi / 180
	var said, moved float64
	for i := 1; i < t.Len(); i++ {
		dt := float64(t.NanoAt(i)-t.NanoAt(i-1)) / 1e9
		mean := (speed[i] + speed[i-1]) / 2
		dx := (lon[i] - lon[i-1]) * degree * math.Cos(lat[i]*degree)
		dy := (lat[i] - lat[i-1]) * degree
		d := math.Hypot(dx, dy) * radius
		if dt > 3 || mean < 3 || d != d || mean != mean || d > 300*dt {
			continue
		}
		said += mean * dt
		moved += d
	}
	if moved < 100 {
		return
	}
	for _, u := range [...]struct {
		name string
		mps  float64
	}{{"km/h", unit.KMH}, {"mph", unit.MPH}, {"kn", unit.Knot}} {
		if ratio := said / moved * u.mps; math.Abs(ratio-1) < 0.05 {
			p.rec.Problems.Addf("speed-unit", diag.Suspect, 0, "the speeds fit the positions as %s, not as m/s (ratio %s); they are read as m/s",
				u.name, fmt.Sprintf("%.2f", said/moved))
		}
	}
}

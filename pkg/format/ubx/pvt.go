package ubx

import (
	"encoding/binary"
	"math"
	"slices"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// layout gives the offsets of a solution's fields in its payload.
type layout struct {
	name      string
	class, id byte
	size      int // fewest bytes; newer receivers append
	nano      int // ns, signed: the second's fraction
	fix       int // kind of fix; the flags follow
	sats      int // 0 where there are none
	lon       int // 1e-7 degrees; latitude, height and height above mean sea level (mm) follow
	ned       int // mm/s north, east, down; 0 where there are none
	speed     int // mm/s over ground
	course    int // 1e-5 degrees, heading of motion
	hAcc      int // mm
	sAcc      int // mm/s
	source    recording.Source
	track     int // which of a log's
}

// Year, month, day, hour, minute, second and the valid flags lie at 4 to 11 in
// both.
var layouts = []layout{
	{name: "NAV-PVT", class: 0x01, id: 0x07, size: 84, nano: 16, fix: 20, sats: 23, lon: 24, ned: 48,
		speed: 60, course: 64, hAcc: 40, sAcc: 68, source: recording.GNSS},
	{name: "HNR-PVT", class: 0x28, id: 0x00, size: 72, nano: 12, fix: 16, lon: 20,
		speed: 36, course: 44, hAcc: 52, sAcc: 60, source: recording.Inertial, track: 1},
}

// layoutOf returns the layout of a solution, nil for any other frame.
func layoutOf(f frame) *layout {
	for i := range layouts {
		if l := &layouts[i]; f.class == l.class && f.id == l.id && len(f.payload) >= l.size {
			return l
		}
	}
	return nil
}

// log is a log being read.
type log struct {
	rec      *recording.Recording
	tracks   [3]recording.Sequence // by layout, then those in pieces
	pieces   pieces
	measured felt
	// compensated is that of ESF-INS and, under true, of HNR-INS; ref places their tags.
	compensated map[bool]*felt
	ref         tagged
	frames      int
	solutions   int
}

func newLog(name string) *log {
	l := &log{rec: &recording.Recording{Name: name, Format: "ubx", Clock: "utc"}, compensated: map[bool]*felt{false: {}, true: {}}}
	for _, y := range append(slices.Clone(layouts), layout{name: "NAV-VELNED", source: recording.GNSS, track: trackOfPieces}) {
		t := &recording.Track{Source: y.source, Name: y.name, SpeedStep: printed, SpeedUnit: 1, TimeStep: time.Nanosecond}
		if y.track == trackOfPieces {
			t.SpeedStep, t.TimeStep = centimetre, time.Millisecond
		}
		l.tracks[y.track] = recording.Sequence{Track: t, Problems: &l.rec.Problems, Stamp: func(t time.Time) string { return t.Format(clock) }}
	}
	return l
}

// Bits of the valid and flag bytes, and kinds of fix.
const (
	validDate, validTime = 1, 2
	fixOK                = 1

	noFix        = 0
	deadReckoned = 1
	timeOnly     = 5

	// printed is the step of the protocol's speeds and accuracies.
	printed    = 0.001 // m/s, m
	centimetre = 0.01  // m/s, of NAV-VELNED

	trackOfPieces = 2
)

// take adds a solution to its track.
func (l *log) take(f frame) {
	l.frames++
	if l.piece(f) {
		l.solutions++
	}
	if l.acceleration(f) {
		return
	}
	y := layoutOf(f)
	if y == nil {
		return
	}
	l.solutions++
	p := f.payload
	note := func(kind string, e diag.Effect, format string, args ...any) {
		l.rec.Problems.AddfByte(kind, e, f.at, format, args...)
	}
	if k := p[y.fix]; k == noFix || k == timeOnly || p[y.fix+1]&fixOK == 0 {
		note(diag.NoFix, diag.Note, "the receiver had no fix at this instant")
		return
	} else if k == deadReckoned {
		note(diag.Mode, diag.Suspect, "the solution is dead reckoning alone")
	}
	at, ok := instant(p, y)
	if !ok {
		note(diag.NoTime, diag.Dropped, "a %s solution has no valid date and time", y.name)
		return
	}
	l.place(binary.LittleEndian.Uint32(p), at)
	fix := recording.NewFix(at)
	y.fill(p, &fix)
	l.tracks[y.track].Add(&fix, recording.Place{Byte: f.at})
}

// place keeps the first time of week whose instant is known.
func (l *log) place(itow uint32, at time.Time) {
	if !l.ref.is {
		l.ref = tagged{itow, recording.Nano(at), true}
	}
}

const clock = "2006-01-02 15:04:05.999999999"

// instant reads date and time, which must exist. A leap second is refused: UTC
// cannot name it apart from the next.
func instant(p []byte, y *layout) (time.Time, bool) {
	if p[11]&validDate == 0 || p[11]&validTime == 0 || p[8] > 23 || p[9] > 59 || p[10] > 59 {
		return time.Time{}, false
	}
	year, month, day := int(binary.LittleEndian.Uint16(p[4:])), time.Month(p[6]), int(p[7])
	nano := int(int32(binary.LittleEndian.Uint32(p[y.nano:])))
	if year < 1980 || year > 2199 || nano < -1e9 || nano > 1e9 {
		return time.Time{}, false
	}
	d := time.Date(year, month, day, 0, 0, 0, 0, time.UTC)
	if d.Month() != month || d.Day() != day {
		return time.Time{}, false
	}
	return time.Date(year, month, day, int(p[8]), int(p[9]), int(p[10]), nano, time.UTC), true
}

// fill converts the fields to SI.
func (y *layout) fill(p []byte, f *recording.Fix) {
	signed := func(at int) float64 { return float64(int32(binary.LittleEndian.Uint32(p[at:]))) }
	// An accuracy of all ones, or none at all, says that it is not known.
	accuracy := func(at int) float64 {
		if v := binary.LittleEndian.Uint32(p[at:]); v != 0 && v != math.MaxUint32 {
			return float64(v) / 1000
		}
		return math.NaN()
	}
	q := &f.Q
	if lon, lat := signed(y.lon)/1e7, signed(y.lon+4)/1e7; math.Abs(lat) <= 90 && math.Abs(lon) <= 180 {
		q[recording.LonDeg], q[recording.LatDeg] = lon, lat
		q[recording.Altitude] = signed(y.lon+12) / 1000
		q[recording.PosSD] = accuracy(y.hAcc)
	}
	if v := signed(y.speed) / 1000; v >= 0 {
		q[recording.Speed] = v
	}
	if c := signed(y.course) / 1e5; c >= -360 && c <= 360 {
		if c < 0 {
			c += 360
		}
		q[recording.Course] = c
	}
	q[recording.SpeedSD] = accuracy(y.sAcc)
	if y.ned > 0 {
		q[recording.VelNorth], q[recording.VelEast] = signed(y.ned)/1000, signed(y.ned+4)/1000
		q[recording.VelUp] = -signed(y.ned+8) / 1000
	}
	if y.sats > 0 {
		q[recording.Satellites] = float64(p[y.sats])
	}
}

package ubx

import (
	"encoding/binary"
	"math"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/recording"
)

// Messages that give a solution in pieces, as older receivers do: each carries the
// time of week, and those of one are one solution. Class and id, fewest bytes.
const (
	msgPOSLLH  = 0x0102
	msgSOL     = 0x0106
	msgVELNED  = 0x0112
	msgTIMEGPS = 0x0120
	msgTIMEUTC = 0x0121
	msgEOE     = 0x0161
)

var pieceSize = map[int]int{msgPOSLLH: 28, msgSOL: 52, msgVELNED: 36, msgTIMEGPS: 16, msgTIMEUTC: 20, msgEOE: 4}

// gpsEpoch is where GPS weeks count from.
var gpsEpoch = time.Date(1980, 1, 6, 0, 0, 0, 0, time.UTC)

const (
	week = 7 * 24 * time.Hour
	// leapSeconds are those between GPS time and UTC since 2017, where the receiver
	// does not say.
	leapSeconds = 18
)

// epoch gathers the messages of one time of week.
type epoch struct {
	itow  uint32 // ms
	open  bool
	at    int64 // offset of the first
	fix   recording.Fix
	moves bool // NAV-VELNED was there
	utc   time.Time
	gps   time.Time // of NAV-SOL, GPS time
	state byte      // of NAV-SOL: fix
	known bool      // and was there
}

// pieces reads solutions that come in pieces.
type pieces struct {
	epoch
	leap    int // s, of NAV-TIMEGPS
	leapOK  bool
	guessed int // solutions whose leap seconds were assumed
	seen    int // of NAV-VELNED
	dropped int // of those, without a time
	firstAt int64
}

// take adds a message to its epoch and reports whether it was one of a solution.
func (l *log) piece(f frame) bool {
	id := int(f.class)<<8 | int(f.id)
	size, ok := pieceSize[id]
	p := f.payload
	if !ok || len(p) < size {
		return false
	}
	e := &l.pieces
	itow := binary.LittleEndian.Uint32(p)
	if !e.open || itow != e.itow {
		l.finishEpoch()
		e.epoch = epoch{itow: itow, open: true, at: f.at, fix: recording.NewFix(time.Time{})}
	}
	signed := func(at int) float64 { return float64(int32(binary.LittleEndian.Uint32(p[at:]))) }
	positive := func(at int) float64 { return float64(binary.LittleEndian.Uint32(p[at:])) }
	q := &e.fix.Q
	switch id {
	case msgVELNED:
		if e.seen++; e.seen == 1 {
			e.firstAt = f.at
		}
		e.moves = true
		q[recording.VelNorth], q[recording.VelEast], q[recording.VelUp] = signed(4)/100, signed(8)/100, -signed(12)/100
		q[recording.Speed] = positive(20) / 100
		if c := signed(24) / 1e5; c >= -360 && c <= 360 {
			q[recording.Course] = math.Mod(c+360, 360)
		}
		if a := positive(28) / 100; a > 0 && a < math.MaxUint32/100 {
			q[recording.SpeedSD] = a
		}
	case msgPOSLLH:
		if lon, lat := signed(4)/1e7, signed(8)/1e7; math.Abs(lat) <= 90 && math.Abs(lon) <= 180 {
			q[recording.LonDeg], q[recording.LatDeg], q[recording.Altitude] = lon, lat, signed(16)/1000
		}
		if a := positive(20) / 1000; a > 0 && a < math.MaxUint32/1000 {
			q[recording.PosSD] = a
		}
	case msgSOL:
		e.known = true
		if e.state = p[10]; p[11]&fixOK == 0 {
			e.state = noFix
		}
		if weekSet, towSet := p[11]&4 != 0, p[11]&8 != 0; weekSet && towSet {
			e.gps = gpsEpoch.Add(time.Duration(int16(binary.LittleEndian.Uint16(p[8:])))*week +
				time.Duration(itow)*time.Millisecond + time.Duration(int32(binary.LittleEndian.Uint32(p[4:]))))
		}
		q[recording.Satellites] = float64(p[47])
	case msgTIMEGPS:
		if p[11]&4 != 0 {
			e.leap, e.leapOK = int(int8(p[10])), true
		}
	case msgTIMEUTC:
		const valid = 4 // bit of the whole
		if p[19]&valid != 0 {
			e.utc = time.Date(int(binary.LittleEndian.Uint16(p[12:])), time.Month(p[14]), int(p[15]), int(p[16]), int(p[17]), int(p[18]),
				int(int32(binary.LittleEndian.Uint32(p[8:]))), time.UTC)
		}
	case msgEOE:
		l.finishEpoch()
	}
	return id == msgVELNED
}

// finishEpoch makes a fix of what the present epoch has.
func (l *log) finishEpoch() {
	e := &l.pieces
	if !e.open || !e.moves {
		e.open = false
		return
	}
	e.open = false
	switch {
	case e.known && (e.state == noFix || e.state == timeOnly):
		l.rec.Problems.AddfByte(diag.NoFix, diag.Note, e.at, "the receiver had no fix at this instant")
		return
	case e.known && e.state == deadReckoned:
		l.rec.Problems.AddfByte(diag.Mode, diag.Suspect, e.at, "the solution is dead reckoning alone")
	}
	switch {
	case e.utc.Year() >= 1980 && e.utc.Year() < 2200:
		e.fix.Time = e.utc
	case !e.gps.IsZero():
		n := leapSeconds
		if e.leapOK {
			n = e.leap
		} else {
			e.guessed++
		}
		e.fix.Time = e.gps.Add(-time.Duration(n) * time.Second)
	default:
		e.dropped++
		return
	}
	l.place(e.itow, e.fix.Time)
	l.tracks[trackOfPieces].Add(&e.fix, recording.Place{Byte: e.at})
}

// closePieces ends the solutions in pieces; those of a log that has NAV-PVT too are the
// same ones, and left out.
func (l *log) closePieces() {
	l.finishEpoch()
	e := &l.pieces
	seq := &l.tracks[trackOfPieces]
	if l.tracks[0].Track.Len() > 0 {
		seq.Track = seq.Track.Like()
		seq.Steps = recording.Steps{}
		return
	}
	l.rec.Problems.AddMany(diag.Problem{Kind: diag.NoTime, Effect: diag.Dropped, Byte: e.firstAt,
		Text: "a NAV-VELNED has neither a NAV-TIMEUTC nor a NAV-SOL of its instant to give the date"}, e.dropped)
	l.rec.Problems.AddMany(diag.Problem{Kind: "clock", Effect: diag.Note, Byte: e.firstAt,
		Text: "the time is GPS time of NAV-SOL less 18 leap seconds, as since 2017"}, e.guessed)
}

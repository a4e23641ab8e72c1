package nmea

import (
	"math"
	"time"

	"fromrest/pkg/recording"
)

// epoch gathers the sentences of one instant. The best of what they give stands
// in the sentence; its line is that of the first.
type epoch struct {
	sentence
	open  bool
	valid bool     // a sentence gives a fix
	void  bool     // RMC says that there is none
	rmc   bool     // there is an RMC with a fix
	weak  bool     // a mode letter puts the fix in doubt, of a sentence of type typ
	rank  dateRank // of its date

	vtg      sentence // the VTG of this instant, kind 0 where there is none
	vtgEarly bool     // from before the log's first instant

	gsaHDOP float64
	gsaSats int
}

// dateRank orders where a date came from, the better the higher.
type dateRank uint8

const (
	rankNone dateRank = iota
	rankVoid          // an RMC without a fix: the receiver's guess
	rankZDA
	rankRMC
)

// begin opens the epoch at the instant of s.
func (e *epoch) begin(s *sentence) {
	*e = epoch{sentence: blank, open: true, gsaHDOP: math.NaN()}
	e.line, e.tod, e.flags = s.line, s.tod, s.flags&flagLeapSecond
}

// dated gives the epoch a date unless it has a better one.
func (e *epoch) dated(day int32, rank dateRank) {
	if day != noDay && rank > e.rank {
		e.day, e.rank = day, rank
	}
}

// add takes a sentence of the epoch's instant. The first of a type wins; of
// positions the one with the most decimals.
func (e *epoch) add(s *sentence) {
	if s.kind == kindRMC {
		if s.flags&flagVoid != 0 {
			e.dated(s.day, rankVoid)
			e.void = e.void || !e.rmc
			return
		}
		e.dated(s.day, rankRMC)
		if !e.rmc {
			e.rmc, e.void = true, false
			e.speed, e.speedDec, e.course = s.speed, s.speedDec, s.course
			e.flags &^= flagKMH
		}
	}
	if s.flags&flagVoid != 0 || s.kind == kindZDA {
		return
	}
	if s.kind == kindPUBX && !e.rmc && e.speed != e.speed {
		e.speed, e.speedDec, e.course = s.speed, s.speedDec, s.course
		e.flags |= s.flags & flagKMH
	}
	if e.psd != e.psd {
		e.psd = s.psd
	}
	if s.flags&flagSuspect != 0 && !e.weak {
		e.weak, e.typ = true, s.typ
	}
	e.valid = true
	if s.lat == s.lat && (e.lat != e.lat || s.posDec > e.posDec) {
		e.lat, e.lon, e.posDec = s.lat, s.lon, s.posDec
	}
	if e.alt != e.alt {
		e.alt = s.alt
	}
	if e.hdop != e.hdop {
		e.hdop = s.hdop
	}
	if e.sats == noSats {
		e.sats = s.sats
	}
}

// addGSA takes satellites and HDOP for instants whose other sentences have
// none. Receivers of several systems send one GSA for each.
func (e *epoch) addGSA(s *sentence) {
	if s.flags&flagVoid != 0 {
		return
	}
	e.gsaSats += int(s.sats)
	e.gsaHDOP = s.hdop
}

// velocity chooses between RMC and VTG: it returns the one whose speed counts, and
// the course. mismatch is set where both speak of this instant and disagree.
func (e *epoch) velocity() (from *sentence, course float64, mismatch bool) {
	v := &e.vtg
	from, course = &e.sentence, e.course
	switch {
	case e.void || v.kind != kindVTG || v.flags&flagVoid != 0 || v.speed != v.speed:
		return from, course, false
	case e.speed != e.speed:
		from = v
	case v.flags&flagKMH != 0 || v.speedDec <= e.speedDec:
	case !same(v, from):
		return from, course, true
	default:
		from = v
	}
	if course != course {
		course = v.course
	}
	return from, course, false
}

// nothing is a fix in which every quantity is absent.
var nothing = recording.NewFix(time.Time{}).Q

// fill puts the epoch's quantities into q.
func (e *epoch) fill(q *[recording.Columns]float64, speed, course float64) {
	*q = nothing
	q[recording.Speed], q[recording.Course] = speed, course
	q[recording.LatDeg], q[recording.LonDeg] = e.lat, e.lon
	q[recording.Altitude], q[recording.PosSD] = e.alt, e.psd
	q[recording.HDOP] = e.hdop
	if e.hdop != e.hdop {
		q[recording.HDOP] = e.gsaHDOP
	}
	switch {
	case e.sats != noSats:
		q[recording.Satellites] = float64(e.sats)
	case e.gsaSats > 0:
		q[recording.Satellites] = float64(e.gsaSats)
	}
}

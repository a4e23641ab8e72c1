package nmea

import (
	"fmt"
	"math"
	"strings"

	gonmea "github.com/adrianmo/go-nmea"
)

// library reads sentences with go-nmea: every type that the hand-written
// parser leaves alone, and lines of a common type in a form it refuses.
//
// What go-nmea lets pass is checked again, because it takes an empty field for
// zero, accepts NaN, hexadecimal and negative speeds, times and dates that do
// not exist, and cuts times to milliseconds: the values of the common types
// are read from its fields, not from its structs.
type library struct {
	p    *gonmea.SentenceParser
	told []string // what TXT sentences say, the first few
}

const mostTold = 8

// read gives the sentence in f to the library. hand is what the hand-written
// parser said of it.
func (l *library) read(f *fields, s *sentence, hand verdict) (v verdict) {
	if l.p == nil {
		l.p = &gonmea.SentenceParser{
			// The checksum was looked at before, and rules on it are the log's.
			CheckCRC: func(gonmea.BaseSentence, string) error { return nil },
			// XDR's own parser refuses g and m/s2; its fields are read here.
			CustomParsers: map[string]gonmea.ParserFunc{
				gonmea.TypeXDR: func(b gonmea.BaseSentence) (gonmea.Sentence, error) { return b, nil },
			},
		}
	}
	parsed, err := l.parse(string(f.b))
	if hand == foreign && s.kind == kindOther {
		return taken // nothing in it to keep, whatever the library thinks
	}
	if err != nil {
		return refused
	}
	switch m := parsed.(type) {
	case gonmea.BaseSentence:
		if s.kind == kindXDR {
			return readXDR(m.Fields, s)
		}
	case gonmea.TXT:
		if s.sum == sumRight && len(l.told) < mostTold {
			l.told = append(l.told, strings.TrimSpace(m.Message))
		}
		return taken
	case gonmea.RMC:
		return libRMC(m, s)
	case gonmea.VTG:
		return libVTG(m, s)
	case gonmea.GGA:
		return libGGA(m, s)
	}
	return refused
}

// parse calls the library, which panics on some hostile sentences.
func (l *library) parse(raw string) (m gonmea.Sentence, err error) {
	defer func() {
		if r := recover(); r != nil {
			m, err = nil, fmt.Errorf("sentence parser: %v", r)
		}
	}()
	return l.p.Parse(raw)
}

// plain reports whether a field is a finite decimal number, which leaves the
// exponents and plus signs that the hand-written parser refuses.
func plain(field string, v float64) bool {
	return field != "" && !strings.ContainsAny(field, "xXpP_nN") && !math.IsInf(v, 0) && !math.IsNaN(v)
}

func libRMC(m gonmea.RMC, s *sentence) verdict {
	line := s.line
	s.reset()
	s.kind, s.line = kindRMC, line
	if !instant([]byte(m.Fields[0]), s) {
		return refused
	}
	day, ok := date([]byte(m.Fields[8]))
	s.day = day
	if !ok {
		s.flags |= flagBadDate
	}
	if m.Validity != gonmea.ValidRMC {
		s.flags |= flagVoid
		return taken
	}
	if m.FFAMode != "" && suspectMode(m.FFAMode[0]) {
		s.flags |= flagSuspect
	}
	if plain(m.Fields[6], m.Speed) && m.Speed >= 0 {
		s.speed = m.Speed * knot
	} else if m.Fields[6] != "" {
		s.flags |= flagField
	}
	if plain(m.Fields[7], m.Course) && m.Course >= 0 && m.Course <= 360 {
		s.course = m.Course
	}
	libPosition(m.Fields[2:6], m.Latitude, m.Longitude, s)
	return taken
}

// libPosition takes a position if all four of its fields are filled and their
// letters fit.
func libPosition(f []string, lat, lon float64, s *sentence) {
	ns, ew := f[1] == "N" || f[1] == "S", f[3] == "E" || f[3] == "W"
	if ns && ew && plain(f[0], lat) && plain(f[2], lon) && math.Abs(lat) <= 90 && math.Abs(lon) <= 180 {
		s.lat, s.lon = lat, lon
	}
}

func libVTG(m gonmea.VTG, s *sentence) verdict {
	line := s.line
	s.reset()
	s.kind, s.line = kindVTG, line
	switch {
	case m.FFAMode == "N":
		s.flags |= flagVoid
		return taken
	case plain(m.Fields[4], m.GroundSpeedKnots) && m.GroundSpeedKnots >= 0:
		s.speed = m.GroundSpeedKnots * knot
	case plain(m.Fields[6], m.GroundSpeedKPH) && m.GroundSpeedKPH >= 0:
		s.speed = m.GroundSpeedKPH * kmhUnit
		s.flags |= flagKMH
	default:
		return refused
	}
	if m.FFAMode != "" && suspectMode(m.FFAMode[0]) {
		s.flags |= flagSuspect
	}
	if plain(m.Fields[0], m.TrueTrack) && m.TrueTrack >= 0 && m.TrueTrack <= 360 {
		s.course = m.TrueTrack
	}
	return taken
}

func libGGA(m gonmea.GGA, s *sentence) verdict {
	line := s.line
	s.reset()
	s.kind, s.line = kindGGA, line
	if !instant([]byte(m.Fields[0]), s) {
		return refused
	}
	switch m.FixQuality {
	case "", gonmea.Invalid:
		s.flags |= flagVoid
		return taken
	case gonmea.EST:
		s.flags |= flagSuspect
	}
	if m.NumSatellites > 0 && m.NumSatellites < noSats {
		s.sats = uint8(m.NumSatellites)
	}
	if plain(m.Fields[7], m.HDOP) && m.HDOP >= 0 {
		s.hdop = m.HDOP
	}
	if plain(m.Fields[8], m.Altitude) {
		s.alt = m.Altitude
	}
	libPosition(m.Fields[1:5], m.Latitude, m.Longitude, s)
	return taken
}

// readXDR takes acceleration from quadruplets (type, value, unit, name) whose
// type is G and whose unit is an acceleration's. The name tells the axis by its
// last letter. Empty values are absent.
func readXDR(f []string, s *sentence) verdict {
	nan := math.NaN()
	v, any := [3]float64{nan, nan, nan}, false
	for ; len(f) >= 4; f = f[4:] {
		scale := 1.0
		switch f[2] {
		case "g", "G":
			scale = gravity
		case "m/s2", "m/s^2", "M/S2", "m/s/s":
			s.flags |= flagMS2
		default:
			continue
		}
		x, _, ok := number([]byte(f[1]))
		if axis := axisOf(f[3]); f[0] == "G" && ok && axis >= 0 {
			v[axis], any = x*scale, true
		}
	}
	if any {
		s.setAccel(v)
	}
	return taken
}

// axisOf returns 0, 1, 2 for a transducer name that ends in X, Y, Z, else -1.
func axisOf(name string) int {
	if name == "" {
		return -1
	}
	switch name[len(name)-1] | 0x20 {
	case 'x':
		return 0
	case 'y':
		return 1
	case 'z':
		return 2
	}
	return -1
}

package nmea

import (
	"bytes"
	"math"
)

// parse reads a sentence of one of the common types into s, which must be
// reset. It reports false for a form in which such a type is not known, and true
// for every other type, of which it gives the kind alone. It allocates nothing.
func parse(f *fields, s *sentence) bool {
	if bytes.HasPrefix(f.b, []byte("$PUBX,00,")) && f.n > 0 {
		s.kind, s.typ = kindPUBX, [3]byte([]byte("UBX"))
		return parsePUBX(f, s)
	}
	if bytes.HasPrefix(f.b, []byte("$PUBX,04,")) && f.n > 4 { // its date, as ZDA's
		s.kind, s.typ = kindZDA, [3]byte([]byte("UBX"))
		day, ok := f.date(f.at(3))
		if s.day = day; !ok {
			s.flags |= flagBadDate
		}
		return instant(f.at(2), s)
	}
	if len(f.b) < 7 || f.b[0] != '$' || f.n == 0 || f.cut[1] != 6 || f.b[1] == 'P' {
		return true
	}
	s.typ = [3]byte(f.b[3:6])
	var read func(*fields, *sentence) bool
	switch string(f.b[3:6]) {
	case "RMC":
		s.kind, read = kindRMC, parseRMC
	case "VTG":
		s.kind, read = kindVTG, parseVTG
	case "GGA":
		s.kind, read = kindGGA, parseGGA
	case "GNS":
		s.kind, read = kindGNS, parseGNS
	case "GLL":
		s.kind, read = kindGLL, parseGLL
	case "ZDA":
		s.kind, read = kindZDA, parseZDA
	case "GSA":
		s.kind, read = kindGSA, parseGSA
	case "GST":
		s.kind, read = kindGST, parseGST
	case "GSV":
		s.flags = flagGSV
	case "XDR":
		s.kind = kindXDR
	case "TXT":
		s.kind = kindText
	}
	return read == nil || read(f, s)
}

// suspectMode reports a mode letter with which a position is not measured:
// estimated, manual, simulated, not valid. Unknown letters are let pass.
func suspectMode(c byte) bool { return c == 'E' || c == 'M' || c == 'S' || c == 'N' }

// status reads the field that says whether there is a fix, and flags a suspect
// mode. Without a fix, whatever stands in the other fields is none.
func status(f *fields, i, mode int, s *sentence) (fix, ok bool) {
	switch c := f.letter(i); {
	case c == 'V' || c == 0:
		s.flags |= flagVoid
		return false, true
	case c == 'A' && suspectMode(f.letter(mode)):
		s.flags |= flagSuspect
		return true, true
	default:
		return true, c == 'A'
	}
}

// position reads latitude and longitude from four fields starting at i. The sentences of an
// instant often print the same: that is read once.
func position(f *fields, i int, s *sentence) bool {
	text := f.b[f.cut[i]+1 : f.cut[i+4]]
	if !bytes.Equal(text, f.lastAt) {
		lat, dec, sign1, ok1 := angle(f.at(i), f.letter(i+1), 'N', 'S', 90)
		lon, _, sign2, ok2 := angle(f.at(i+2), f.letter(i+3), 'E', 'W', 180)
		if !ok1 || !ok2 {
			return false
		}
		f.lastAt, f.last = append(f.lastAt[:0], text...), place{lat, lon, dec, sign1 || sign2}
	}
	p := &f.last
	if p.lat != p.lat || p.lon != p.lon { // half a position is none
		return true
	}
	s.lat, s.lon, s.posDec = p.lat, p.lon, p.dec
	if p.signed {
		s.flags |= flagSigned
	}
	return true
}

// instant reads the time field.
func instant(p []byte, s *sentence) bool {
	tod, dec, leap, ok := clock(p)
	s.tod, s.timeDec = tod, dec
	if leap {
		s.flags |= flagLeapSecond
	}
	return ok
}

// secondary reads a number without which the sentence is still of use. One
// that cannot be read or lies outside its limits is left out and flagged.
func secondary(p []byte, lo, hi float64, s *sentence) float64 {
	v, _, ok := optional(p)
	if !ok || v < lo || v > hi {
		s.flags |= flagField
		return math.NaN()
	}
	return v
}

func parseRMC(f *fields, s *sentence) bool {
	if f.n < 10 || !instant(f.at(1), s) {
		return false
	}
	day, ok := f.date(f.at(9))
	s.day = day
	if !ok {
		s.flags |= flagBadDate
	}
	if fix, ok := status(f, 2, 12, s); !fix || !ok {
		return ok
	}
	v, dec, ok := optional(f.at(7))
	if !ok || v < 0 {
		return false
	}
	s.speed, s.speedDec = v*knot, dec
	s.course = secondary(f.at(8), 0, 360, s)
	return position(f, 3, s)
}

// parseVTG reads both forms: with unit letters, and the old one of four bare
// numbers.
func parseVTG(f *fields, s *sentence) bool {
	kn, kmh := 5, 7
	switch {
	case f.n >= 9:
		deg, kn, kmh := f.letter(2), f.letter(6), f.letter(8)
		if deg != 'T' && deg != 0 || kn != 'N' && kn != 0 || kmh != 'K' && kmh != 0 {
			return false
		}
	case f.n == 5 && f.letter(2) != 'T':
		kn, kmh = 3, 4
	default:
		return false
	}
	if m := f.letter(9); m == 'N' {
		s.flags |= flagVoid
		return true
	} else if suspectMode(m) {
		s.flags |= flagSuspect
	}
	v, dec, ok := optional(f.at(kn))
	if !ok || v < 0 {
		return false
	}
	unit := knot
	if v != v {
		if v, dec, ok = optional(f.at(kmh)); !ok || v < 0 {
			return false
		}
		unit = kmhUnit
		if v == v {
			s.flags |= flagKMH
		}
	}
	s.speed, s.speedDec = v*unit, dec
	s.course = secondary(f.at(1), 0, 360, s)
	return true
}

// Limits of what is believed to be such a quantity, wide enough for every
// receiver (assumed).
const (
	highestHDOP     = 1e6
	lowestAltitude  = -1e5 // m
	highestAltitude = 1e8  // m
)

// dilution reads satellites, HDOP and altitude, which lie side by side in GGA
// and GNS.
func dilution(f *fields, i int, s *sentence) {
	if n := secondary(f.at(i), 0, noSats-1, s); n == n {
		s.sats = uint8(n)
	}
	s.hdop = secondary(f.at(i+1), 0, highestHDOP, s)
	s.alt = secondary(f.at(i+2), lowestAltitude, highestAltitude, s)
}

func parseGGA(f *fields, s *sentence) bool {
	if f.n < 10 || !instant(f.at(1), s) {
		return false
	}
	switch q := f.letter(6); q {
	case '0', 0:
		s.flags |= flagVoid
		return true
	case '6', '7', '8': // estimated, manual, simulator
		s.flags |= flagSuspect
	case '1', '2', '3', '4', '5', '9':
	default:
		return false
	}
	dilution(f, 7, s)
	return position(f, 2, s)
}

func parseGNS(f *fields, s *sentence) bool {
	if f.n < 10 || !instant(f.at(1), s) {
		return false
	}
	fix, weak := false, false
	for _, c := range f.at(6) { // one letter for each constellation
		switch {
		case c == 'N':
		case c < 'A' || c > 'Z':
			return false
		case suspectMode(c):
			weak = true
		default:
			fix = true
		}
	}
	if !fix && !weak {
		s.flags |= flagVoid
		return true
	}
	switch f.letter(13) {
	case 'U', 'C':
		s.flags |= flagSuspect
	case 'V':
		s.flags |= flagNavStatus
	}
	if !fix {
		s.flags |= flagSuspect
	}
	dilution(f, 7, s)
	return position(f, 2, s)
}

func parseGLL(f *fields, s *sentence) bool {
	if f.n < 6 || !instant(f.at(5), s) {
		return false
	}
	if fix, ok := status(f, 6, 7, s); !fix || !ok {
		return ok
	}
	return position(f, 1, s)
}

func parseZDA(f *fields, s *sentence) bool {
	if f.n < 5 || !instant(f.at(1), s) {
		return false
	}
	if len(f.at(2)) == 0 && len(f.at(3)) == 0 && len(f.at(4)) == 0 {
		return true
	}
	d, n1, ok1 := number(f.at(2))
	m, n2, ok2 := number(f.at(3))
	y, n3, ok3 := number(f.at(4))
	if !ok1 || !ok2 || !ok3 || n1+n2+n3 != 0 || d > 99 || m > 99 || y > 9999 || d < 0 || m < 0 || y < 0 {
		return false
	}
	day, ok := civil(int(y), int(m), int(d))
	s.day = day
	if !ok {
		s.flags |= flagBadDate
	}
	return true
}

func parseGSA(f *fields, s *sentence) bool {
	if f.n < 18 {
		return false
	}
	switch f.letter(2) {
	case '2', '3':
	case '1', 0:
		s.flags |= flagVoid
		return true
	default:
		return false
	}
	s.sats = 0
	for i := 3; i < 15; i++ {
		if len(f.at(i)) > 0 {
			s.sats++
		}
	}
	s.hdop = secondary(f.at(16), 0, highestHDOP, s)
	return true
}

func parseGST(f *fields, s *sentence) bool {
	if f.n < 8 || !instant(f.at(1), s) {
		return false
	}
	a, _, ok1 := optional(f.at(6))
	b, _, ok2 := optional(f.at(7))
	if !ok1 || !ok2 || a < 0 || b < 0 {
		return false
	}
	s.psd = math.Sqrt(a*a + b*b)
	return true
}

// parsePUBX reads the position message of u-blox receivers, which has speed in km/h, the
// status of the fix and the receiver's horizontal accuracy: time 2, position 3 to 6,
// status 8, accuracy 9, speed 11, course 12, HDOP 15, satellites 18.
func parsePUBX(f *fields, s *sentence) bool {
	if f.n < 19 || !instant(f.at(2), s) {
		return false
	}
	switch string(f.at(8)) {
	case "NF", "TT", "":
		s.flags |= flagVoid
		return true
	case "DR":
		s.flags |= flagSuspect
	case "G2", "G3", "D2", "D3", "RK":
	default:
		return false
	}
	v, dec, ok := optional(f.at(11))
	if !ok || v < 0 {
		return false
	}
	s.speed, s.speedDec = v*kmhUnit, dec
	s.flags |= flagKMH
	s.course = secondary(f.at(12), 0, 360, s)
	s.psd = secondary(f.at(9), 0, highestAltitude, s)
	s.hdop = secondary(f.at(15), 0, highestHDOP, s)
	if n := secondary(f.at(18), 0, noSats-1, s); n == n {
		s.sats = uint8(n)
	}
	return position(f, 3, s)
}

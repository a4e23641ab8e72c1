// Package header reads what the header of a column says: what the column holds,
// in which unit, and what measured it.
//
// Its model is a vocabulary: a header is cut into words, a unit is taken off
// them, and the first rule whose words are there gives the column a Role and
// says how surely. Nothing here looks at a column's values.
//
// Limits: the words of English and, for the usual quantities, of a dozen other
// languages; one role a column.
package header

import (
	"strings"
	"unicode"

	"fromrest/pkg/recording"
)

// Role is what a column holds.
type Role int

// The roles. NS and EW are the letters of the hemispheres, VelN to VelU and VelD
// velocity components, AccLong acceleration along the vehicle; Distance only
// helps to find the unit of speed.
const (
	NoRole Role = iota
	Time        // an instant or a part of one
	Date
	Week // GPS week
	Speed
	Lat
	Lon
	NS
	EW
	Alt
	Course
	VelN
	VelE
	VelU
	VelD
	SpeedSD
	PosSD
	HDOP
	Sats
	AccX
	AccY
	AccZ
	AccLong
	Valid
	Lap
	Mark
	Distance
	Year
	Month
	Day
	Hour
	Minute
)

// Mapped is the weight of a role that the user gave.
const Mapped = 100

// Heading is what a column's header says.
type Heading struct {
	Raw   string
	Words []string // in small letters, without the unit
	Unit  Unit     // zero where the header names none

	Role    Role
	Weight  int // how surely the words mean the role
	Source  recording.Source
	Derived bool // smoothed or averaged: taken only when nothing else is there
	Linear  bool // acceleration without gravity
}

// Quantity is the quantity of a role, None for one without a unit.
func (r Role) Quantity() Quantity {
	switch r {
	case Time:
		return Duration
	case Speed, VelN, VelE, VelU, VelD, SpeedSD:
		return Velocity
	case AccX, AccY, AccZ, AccLong:
		return Acceleration
	case Lat, Lon, Course:
		return Angle
	case Alt, PosSD:
		return Length
	}
	return None
}

// Known reports whether the unit of the column's role is known.
func (h *Heading) Known() bool { return h.Unit.Of == h.Role.Quantity() && h.Unit.Of != None }

// FromReceiver reports whether the column is a GNSS receiver's.
func (h *Heading) FromReceiver() bool {
	switch h.Role {
	case Speed:
		return h.Source == recording.GNSS
	case Lat, Lon, Alt, Course, VelN, VelE, VelU, VelD:
		return true
	}
	return false
}

// fold takes accents off the letters of European headers.
var fold = strings.NewReplacer("ä", "a", "ö", "o", "ü", "u", "ß", "ss", "á", "a", "à", "a", "â", "a", "ã", "a", "å", "a",
	"é", "e", "è", "e", "ê", "e", "ë", "e", "ě", "e", "ę", "e", "í", "i", "ì", "i", "î", "i", "ó", "o", "ò", "o", "ô", "o",
	"õ", "o", "ø", "o", "ú", "u", "ù", "u", "ů", "u", "ç", "c", "č", "c", "ć", "c", "š", "s", "ś", "s", "ž", "z", "ł", "l",
	"ñ", "n", "ý", "y", "ř", "r")

// WordsOf cuts a header into lower-case words at signs and at camel case.
func WordsOf(s string) []string {
	var words []string
	var w []rune
	flush := func() {
		if len(w) > 0 {
			words = append(words, fold.Replace(strings.ToLower(string(w))))
			w = nil
		}
	}
	rs := []rune(s)
	for i, r := range rs {
		if !unicode.IsLetter(r) && !unicode.IsDigit(r) && r != '²' && r != '°' && r != '%' {
			flush()
			continue
		}
		if i > 0 && unicode.IsUpper(r) && len(w) > 1 { // one letter belongs to what follows: hAcc, gSpeed, vN
			prevLower := unicode.IsLower(rs[i-1]) || unicode.IsDigit(rs[i-1])
			nextLower := i+1 < len(rs) && unicode.IsLower(rs[i+1]) && unicode.IsUpper(rs[i-1])
			if prevLower || nextLower {
				flush()
			}
		}
		w = append(w, r)
	}
	flush()
	return words
}

// Parse reads a header cell; units is the cell of a units line under it.
func Parse(raw, units string) Heading {
	h := Heading{Raw: strings.TrimSpace(raw)}
	rest := h.Raw
	if units != "" {
		h.Unit, _ = UnitNamed(units, None)
	}
	// Every bracket that holds a unit gives it and is taken out; others are words.
	for _, pair := range []string{"()", "[]", "{}", "<>"} {
		i := strings.LastIndexByte(rest, pair[0])
		j := strings.LastIndexByte(rest, pair[1])
		if i < 0 || j < i {
			continue
		}
		u, ok := UnitNamed(rest[i+1:j], expected(WordsOf(rest[:i])))
		if !ok {
			u, ok = UnitNamed(rest[i+1:j], None)
		}
		if ok {
			h.Unit = u
			rest = rest[:i] + " " + rest[j+1:]
		}
	}
	h.Words = WordsOf(rest)
	if h.Unit.Of == None {
		h.takeUnitWords(rest)
	}
	h.assignRole()
	return h
}

// expected is the quantity of a column of these words as far as it decides
// between units that are spelt alike.
func expected(words []string) Quantity {
	if speedWords.In(words) {
		return Velocity
	}
	return None
}

// takeUnitWords finds a unit in the last words: speed_kmh, v m s, "Speed in mph".
func (h *Heading) takeUnitWords(rest string) {
	const most = 4 // words of a unit
	want := expected(h.Words)
	for k := min(most, len(h.Words)-1); k >= 1; k-- {
		tail := strings.Join(h.Words[len(h.Words)-k:], "")
		u, ok := UnitNamed(tail, want)
		if !ok && k == 1 {
			u, ok = gluedUnit(tail)
		}
		if !ok || len(tail) == 1 && !h.needs(tail, u) {
			continue
		}
		h.Unit = u
		h.Words = h.Words[:len(h.Words)-k]
		if n := len(h.Words); n > 1 && (h.Words[n-1] == "in" || h.Words[n-1] == "unit") {
			h.Words = h.Words[:n-1]
		}
		return
	}
	u, ok := UnitNamed(rest, None)
	switch {
	case ok && u.Of == Velocity: // "km/h" alone
		h.Unit, h.Words = u, []string{"speed"}
	case len(h.Words) != 1:
	case ok && u.Of == Duration:
		h.Unit = u
	default:
		h.Unit, _ = gluedUnit(h.Words[0])
	}
}

// needs reports whether a unit of one letter is meant as one: only after a word
// that needs it.
func (h *Heading) needs(letter string, u Unit) bool {
	switch u.Of {
	case Acceleration:
		return letter == "g" && accelerationNeeds.In(h.Words)
	case Length:
		return letter == "m" && lengthNeeds.In(h.Words)
	}
	return strings.Contains("sgmh", letter)
}

// gluedUnit finds a unit at the end of one word: speedkmh, timems.
func gluedUnit(w string) (Unit, bool) {
	for _, g := range []struct {
		of    Quantity
		names []string
	}{
		{Velocity, []string{"speed", "velocity", "vel", "spd", "geschwindigkeit", "vitesse"}},
		{Duration, []string{"timestamp", "time", "elapsed"}},
	} {
		for _, name := range g.names {
			if s, ok := strings.CutPrefix(w, name); ok && s != "" {
				return UnitNamed(s, g.of)
			}
		}
	}
	return Unit{}, false
}

package csv

import (
	"strings"
	"unicode"

	"fromrest/pkg/recording"
)

// role is what a column holds.
type role int

const (
	noRole   role = iota
	roleTime      // an instant or a part of one, see clock
	roleDate
	roleWeek // GPS week
	roleSpeed
	roleLat
	roleLon
	roleNS // hemisphere letter of latitude
	roleEW
	roleAlt
	roleCourse
	roleVelN
	roleVelE
	roleVelU
	roleVelD
	roleSpeedSD
	rolePosSD
	roleHDOP
	roleSats
	roleAccX
	roleAccY
	roleAccZ
	roleAccLong
	roleValid
	roleLap
	roleMark
	roleDistance // only to check the unit of speed
	roleYear
	roleMonth
	roleDay
	roleHour
	roleMinute
	roleSecond
	roleMilli
)

// heading is what a column's header says.
type heading struct {
	raw     string
	words   []string
	unit    unitDef // zero where the header names none
	hasUnit bool

	role    role
	weight  int // how surely the words mean the role
	source  recording.Source
	derived bool // smoothed or averaged: taken only when nothing else is there
	linear  bool // acceleration without gravity
	group   string
}

// fold takes accents off the letters of European headers.
var fold = strings.NewReplacer("ä", "a", "ö", "o", "ü", "u", "ß", "ss", "á", "a", "à", "a", "â", "a", "ã", "a", "å", "a",
	"é", "e", "è", "e", "ê", "e", "ë", "e", "ě", "e", "ę", "e", "í", "i", "ì", "i", "î", "i", "ó", "o", "ò", "o", "ô", "o",
	"õ", "o", "ø", "o", "ú", "u", "ù", "u", "ů", "u", "ç", "c", "č", "c", "ć", "c", "š", "s", "ś", "s", "ž", "z", "ł", "l",
	"ñ", "n", "ý", "y", "ř", "r")

// wordsOf cuts a header into lower-case words at signs and at camel case.
func wordsOf(s string) []string {
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
		if i > 0 && unicode.IsUpper(r) && len(w) > 0 {
			prevLower := unicode.IsLower(rs[i-1]) || unicode.IsDigit(rs[i-1])
			nextLower := i+1 < len(rs) && unicode.IsLower(rs[i+1]) && unicode.IsUpper(rs[i-1])
			// One letter belongs to what follows: hAcc, gSpeed, vN.
			if (prevLower || nextLower) && len(w) > 1 {
				flush()
			}
		}
		w = append(w, r)
	}
	flush()
	return words
}

// parseHeading reads a header cell; units is the cell of a units line under it.
func parseHeading(raw, units string) heading {
	h := heading{raw: strings.TrimSpace(raw)}
	rest := h.raw
	if u, ok := unitNamed(units, noQuantity); ok && units != "" {
		h.unit, h.hasUnit = u, true
	}
	// Every bracket that holds a unit gives it and is taken out; others are words.
	for _, pair := range []string{"()", "[]", "{}", "<>"} {
		i := strings.LastIndexByte(rest, pair[0])
		j := strings.LastIndexByte(rest, pair[1])
		if i < 0 || j < i {
			continue
		}
		want := noQuantity
		if looksLikeSpeed(wordsOf(rest[:i])) {
			want = velocity
		}
		u, ok := unitNamed(rest[i+1:j], want)
		if !ok {
			u, ok = unitNamed(rest[i+1:j], noQuantity)
		}
		if ok {
			h.unit, h.hasUnit = u, true
			rest = rest[:i] + " " + rest[j+1:]
		}
	}
	h.words = wordsOf(rest)
	if !h.hasUnit {
		h.takeUnitWords(rest)
	}
	h.assignRole()
	return h
}

func looksLikeSpeed(words []string) bool {
	for _, w := range words {
		if isSpeedWord(w) {
			return true
		}
	}
	return false
}

// takeUnitWords finds a unit in the last words: speed_kmh, v m s, "Speed in mph".
func (h *heading) takeUnitWords(rest string) {
	want := noQuantity
	if looksLikeSpeed(h.words) {
		want = velocity
	}
	for k := min(4, len(h.words)-1); k >= 1; k-- {
		tail := strings.Join(h.words[len(h.words)-k:], "")
		u, ok := unitNamed(tail, want)
		if !ok && k == 1 {
			u, ok = gluedUnit(tail)
		}
		if !ok || len(tail) == 1 && tail != "s" && tail != "g" && tail != "m" && tail != "h" {
			continue
		}
		// One-letter words are units only after a word that needs them.
		if len(tail) == 1 && (u.q == acceleration && !hasPrefixWord(h.words, "acc", "beschl", "lat", "long", "force", "ax", "ay", "az") ||
			u.q == length && !hasPrefixWord(h.words, "alt", "dist", "height", "ele", "hoehe", "h")) {
			continue
		}
		h.unit, h.hasUnit = u, true
		h.words = h.words[:len(h.words)-k]
		if n := len(h.words); n > 1 && (h.words[n-1] == "in" || h.words[n-1] == "unit") {
			h.words = h.words[:n-1]
		}
		return
	}
	if len(h.words) == 1 {
		if u, ok := unitNamed(rest, noQuantity); ok && (u.q == velocity || u.q == duration) {
			h.unit, h.hasUnit = u, true
			if u.q == velocity {
				h.words = []string{"speed"}
			}
		} else if u, ok := gluedUnit(h.words[0]); ok {
			h.unit, h.hasUnit = u, true
		}
	} else if u, ok := unitNamed(rest, noQuantity); ok && u.q == velocity { // "km/h" alone
		h.unit, h.hasUnit = u, true
		h.words = []string{"speed"}
	}
}

// gluedUnit finds a unit at the end of one word: speedkmh, timems.
func gluedUnit(w string) (unitDef, bool) {
	for _, p := range []string{"speed", "velocity", "vel", "spd", "geschwindigkeit", "vitesse"} {
		if s, ok := strings.CutPrefix(w, p); ok && s != "" {
			return unitNamed(s, velocity)
		}
	}
	for _, p := range []string{"timestamp", "time", "elapsed"} {
		if s, ok := strings.CutPrefix(w, p); ok && s != "" {
			return unitNamed(s, duration)
		}
	}
	return unitDef{}, false
}

func hasPrefixWord(words []string, prefixes ...string) bool {
	for _, w := range words {
		for _, p := range prefixes {
			if strings.HasPrefix(w, p) {
				return true
			}
		}
	}
	return false
}

func hasWord(words []string, any ...string) bool {
	for _, w := range words {
		for _, a := range any {
			if w == a {
				return true
			}
		}
	}
	return false
}

func isSpeedWord(w string) bool {
	switch w {
	case "spd", "vel", "sog", "vss", "v", "vf", "fart", "speedo", "kmh", "kph", "mph", "geschw":
		return true
	}
	for _, s := range []string{"speed", "velocity", "geschwindigkeit", "vitesse", "velocidad", "velocita",
		"snelheid", "hastighe", "predkosc", "rychlost", "nopeus"} {
		if strings.Contains(w, s) {
			return true
		}
	}
	return false
}

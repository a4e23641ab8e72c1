package header

import (
	"slices"
	"strings"

	"fromrest/pkg/recording"
)

// rule gives a role to the columns of some words. A rule of NoRole passes over
// what looks like a later rule's column and is not.
type rule struct {
	role   Role
	weight int         // how surely the words mean the role
	any    *Vocabulary // one of these is there, where it is set
	and    *Vocabulary // and one of these, where it is set
	not    *Vocabulary // and none of these, where it is set
	unit   Quantity    // what a unit has to measure, None for anything
	stated bool        // and there is one
	most   int         // words, 0 for any number
}

func (r *rule) holds(h *Heading) bool {
	return (r.any == nil || r.any.In(h.Words)) && (r.and == nil || r.and.In(h.Words)) && (r.not == nil || !r.not.In(h.Words)) &&
		(r.unit == None || h.Unit.Of == r.unit || h.Unit.Of == None && !r.stated) &&
		(r.most == 0 || len(h.Words) <= r.most)
}

// positionRules find latitude, longitude, altitude and course.
var positionRules = []rule{
	{role: NoRole, any: spread},
	{role: NoRole, any: Words(`max min`)},
	{role: NoRole, unit: Velocity, stated: true},
	{role: NoRole, unit: Acceleration, stated: true},
	{role: NoRole, unit: Duration, stated: true},
	{role: NoRole, any: Words(`lat lon latitude longitude`), unit: Length, stated: true},
	{role: Lat, weight: 8, any: Words(`lat latitude* breite latitud latitudin* breddegrad latdeg szerokosc breitengrad* geobreite*`)},
	{role: Lon, weight: 8, any: Words(`lon lng long longitude* lange laenge longitud longitudine lengdegrad londeg dlugosc
		langengrad* laengengrad*`)},
	{role: Alt, weight: 6, any: altitudeWords, and: seaLevel, not: notSeaLevel},
	{role: Alt, weight: 4, any: altitudeWords, and: seaLevel},
	{role: Alt, weight: 3, any: altitudeWords, and: notSeaLevel},
	{role: Alt, weight: 5, any: altitudeWords},
	{role: Course, weight: 6, any: Words(`course cog kurs cap rumbo trackangle courseovergound`)},
	{role: Course, weight: 6, any: Words(`head heading`), and: Words(`mot motion`)},
	{role: Course, weight: 6, any: Words(`track`), not: Words(`id name`)},
	{role: NoRole, any: headingWords, and: Words(`mag magnetic compass wind`)},
	{role: Course, weight: 5, any: headingWords},
}

// qualityRules find what the receiver says of its own solution.
var qualityRules = []rule{
	{role: SpeedSD, weight: 6, any: Words(`sacc`), not: notSpeedSpread},
	{role: NoRole, any: Words(`sacc`)},
	{role: SpeedSD, weight: 6, any: speedWords, and: spread, not: notSpeedSpread},
	{role: NoRole, any: speedWords, and: spread},
	{role: NoRole, any: Words(`vacc`)},
	{role: NoRole, any: Words(`vertical* bearing* heading* course* altitude*`), and: spread},
	{role: PosSD, weight: 4, any: precision, unit: Length},
	{role: NoRole, any: precision},
	{role: PosSD, weight: 4, any: positionWords, and: spread, unit: Length},
	{role: NoRole, any: positionWords, and: spread},
	{role: HDOP, weight: 6, any: Words(`hdop`)},
	{role: Sats, weight: 2, any: satellites, and: Words(`view visible`), not: Words(`used`)},
	{role: Sats, weight: 6, any: satellites, and: Words(`used use fix`)},
	{role: Sats, weight: 4, any: satellites},
}

// timeRules find times, dates and their parts.
var timeRules = []rule{
	{role: NoRole, any: notTime},
	{role: Year, weight: 5, any: Words(`year jahr`), most: 1},
	{role: Month, weight: 5, any: Words(`month monat`), most: 1},
	{role: Day, weight: 5, any: Words(`day tag`), most: 1},
	{role: Hour, weight: 5, any: Words(`hour hours stunde`), most: 1},
	{role: Minute, weight: 5, any: Words(`minute minutes`), most: 1},
	{role: Week, weight: 5, any: Words(`week gpsweek wn wno`)},
	{role: Date, weight: 5, any: Words(`date datum fecha dato pvm data jour day dia ^yyyy*`), not: timeWords},
	{role: Time, weight: 6, any: timeWords, unit: Duration},
	{role: Time, weight: 6, any: Words(`timestamp* gpstime* datetime* uhrzeit* elapsed*`), unit: Duration},
	{role: Time, weight: 4, any: Words(`gps utc log sensor boot rel abs host device`), unit: Duration, stated: true, most: 2},
}

// otherRules find what is kept beside the motion.
var otherRules = []rule{
	{role: NoRole, any: lapWords, and: Words(`time distance dist`)},
	{role: Lap, weight: 5, any: lapWords},
	{role: Mark, weight: 5, any: Words(`mark marker event beacon comment annotation note marks trigger`)},
	{role: Valid, weight: 3, any: Words(`valid fix fixtype fixmode gpsfix status fixstatus validity`)},
	{role: Distance, weight: 3, any: distanceWords},
}

// hemispheres are whole headers of the hemisphere's letter, as unitKey folds them.
var hemispheres = map[Role]string{
	NS: "ns nsindicator lathem lathemi latitudehemisphere lathemisphere latref latdir latns",
	EW: "ew ewindicator lonhem lonhemi longitudehemisphere lonhemisphere lonref londir lonew",
}

// How surely words outside the tables of rules mean a role.
const (
	weightWhole = 9 // of a header that can mean nothing else
	weightWord  = 6 // of a usual word
	weightAxis  = 5 // of an axis of acceleration
	weightLoose = 3 // of acceleration without an axis
	weightUnit  = 2 // more where the unit agrees
)

// assignRole reads the role from the words of a header: that of the first part
// that knows them.
func (h *Heading) assignRole() {
	if len(h.Words) == 0 {
		return
	}
	for _, part := range []func(*Heading) (Role, int){
		(*Heading).hemisphere, (*Heading).velocity, (*Heading).acceleration, first(positionRules), first(qualityRules),
		(*Heading).speed, first(timeRules), first(otherRules),
	} {
		if h.Role, h.Weight = part(h); h.Role != NoRole {
			return
		}
	}
}

// first gives the role of the first rule that holds.
func first(rules []rule) func(*Heading) (Role, int) {
	return func(h *Heading) (Role, int) {
		for i := range rules {
			if rules[i].holds(h) {
				return rules[i].role, rules[i].weight
			}
		}
		return NoRole, 0
	}
}

func (h *Heading) hemisphere() (Role, int) {
	if h.Raw == "ns" && h.Unit.Of != None {
		return NoRole, 0
	}
	for role, written := range hemispheres {
		if slices.Contains(strings.Fields(written), unitKey(h.Raw)) {
			return role, weightWhole
		}
	}
	return NoRole, 0
}

// directions are what stands behind a word of velocity in a component's header.
var directions = map[string]Role{"n": VelN, "north": VelN, "northing": VelN, "e": VelE, "east": VelE, "easting": VelE,
	"u": VelU, "up": VelU, "d": VelD, "down": VelD}

// velocity finds velocity along north, east, up and down.
func (h *Heading) velocity() (Role, int) {
	if !h.Unit.fits(Velocity) {
		return NoRole, 0
	}
	j := strings.TrimPrefix(strings.TrimPrefix(strings.Join(h.Words, ""), "gps"), "gnss")
	j = strings.TrimSuffix(strings.Replace(j, "ned", "", 1), "velocity")
	for _, p := range []string{"velocity", "velo", "vel", "speed", "v"} {
		if s, ok := strings.CutPrefix(j, p); ok {
			return directions[s], weightWhole
		}
	}
	if (j == "north" || j == "east") && (h.Unit.Of == Velocity || velocityWord.In(h.Words)) {
		return directions[j], weightWord
	}
	return NoRole, 0
}

// acceleration finds accelerometer axes.
func (h *Heading) acceleration() (Role, int) {
	w := h.Words
	if !h.Unit.fits(Acceleration, Other) || notAcceleration.In(w) && !without.In(w) {
		return NoRole, 0
	}
	j := strings.Join(w, "")
	weight := weightAxis
	if h.Unit.Of == Acceleration {
		weight += weightUnit
	} else if !accelerationWords.In(w) && !strings.Contains(j, "acceleration") && !strings.Contains(j, "accelerometer") {
		return NoRole, 0
	}
	h.Linear = linear.In(w)
	switch {
	case along.In(w):
		return AccLong, weight
	case lateral.In(w):
		return AccY, weight - 1
	case vertical.In(w):
		return AccZ, weight - 1
	}
	if role := axes[h.axis()]; role != NoRole {
		return role, weight
	}
	if (len(w) == 1 || h.Unit.Of != None) && wholeAccel.In(w) && !notWholeAccel.In(w) {
		return AccLong, weightLoose
	}
	return NoRole, 0
}

// axes are the names of the accelerometer's axes.
var axes = map[string]Role{"x": AccX, "0": AccX, "y": AccY, "1": AccY, "z": AccZ, "2": AccZ}

// axis is the letter or digit of the axis that a header names, or some word.
func (h *Heading) axis() string {
	first, last := h.Words[0], h.Words[len(h.Words)-1]
	axis := last
	for _, p := range []string{"accel", "acc", "gforce", "a", "acceleration", "accelerometer"} {
		if s, ok := strings.CutPrefix(last, p); ok && len(s) == 1 {
			axis = s
		}
	}
	if len(axis) != 1 && len(first) == 1 { // "X acceleration"
		axis = first
	}
	if len(axis) != 1 {
		for _, a := range h.Words {
			if a == "x" || a == "y" || a == "z" {
				axis = a
			}
		}
	}
	return axis
}

// speed finds speed over ground and says what measured it.
func (h *Heading) speed() (Role, int) {
	w := h.Words
	if !speedWords.In(w) || notSpeed.In(w) || spread.In(w) || !h.Unit.fits(Velocity) {
		return NoRole, 0
	}
	h.Source = SourceOf(w)
	h.Derived = smoothed.In(w)
	weight := weightWord
	if h.Unit.Of == Velocity {
		weight += weightUnit
	}
	if slices.Contains(w, "2d") {
		weight++
	}
	if slices.Contains(w, "3d") {
		weight--
	}
	return Speed, weight
}

// SourceOf tells what measured a speed by its words, "" where they do not say.
func SourceOf(words []string) recording.Source {
	switch {
	case inertialSpeed.In(words):
		return recording.Inertial
	case wheelSpeed.In(words):
		return recording.Wheel
	case receiverSpeed.In(words):
		return recording.GNSS
	}
	return ""
}

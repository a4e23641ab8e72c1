package csv

import (
	"strings"

	"fromrest/pkg/recording"
)

// Words that take a column out of the running whatever else it is called.
var (
	notSpeed = []string{"rpm", "engine", "motor", "wind", "fan", "pump", "idle", "target", "set", "setpoint", "limit",
		"max", "min", "vmax", "error", "err", "sorted", "vertical", "climb", "angular", "rotation", "rotational",
		"yaw", "roll", "pitch", "turn", "shaft", "clutch", "turbine", "turbo", "cruise", "delta", "diff",
		"difference", "gyro", "quality", "flag", "turn", "count", "engspd", "enginespeed", "transmission",
		"drehzahl", "recommended", "desired", "valid", "status", "type", "source", "unit", "units", "dial"}
	smoothed = []string{"smoothed", "smooth", "filtered", "avg", "average", "mean", "calc", "calculated", "derived"}
	spread   = []string{"accuracy", "acc", "sd", "std", "stdev", "stddev", "sigma", "uncertainty", "err", "error",
		"precision", "sacc", "variance", "dev"}
	notTime = []string{"lap", "engine", "run", "accuracy", "ttff", "sector", "split", "zone", "delta", "dt",
		"interval", "remaining", "best", "sync", "status", "error", "injection", "ignition", "dwell", "age", "response"}
	timeWords = []string{"time", "timestamp", "t", "zeit", "uhrzeit", "zeitstempel", "temps", "heure", "tiempo", "hora",
		"tempo", "ora", "tijd", "tid", "tidpunkt", "klokkeslett", "czas", "cas", "aika", "clock", "utc", "gmt", "epoch", "unix",
		"unixtime", "millis", "micros", "nanos", "elapsed", "uptime", "seconds", "second", "sec", "secs", "datetime", "tow", "itow",
		"sow", "gpstime", "horodatage", "timecode", "ts", "milliseconds", "microseconds", "sekunden", "ms", "us", "ns",
		"s", "localtime", "systemtime", "utctime", "logtime", "timems", "timeus", "times"}
)

// assignRole reads the role from the words of a header.
func (h *heading) assignRole() {
	w := h.words
	if len(w) == 0 {
		return
	}
	set := func(r role, weight int) {
		if h.role == noRole {
			h.role, h.weight = r, weight
		}
	}
	switch unitKey(h.raw) {
	case "ns", "nsindicator", "lathem", "lathemi", "latitudehemisphere", "lathemisphere", "latref", "latdir", "latns":
		if !h.hasUnit || h.raw != "ns" {
			set(roleNS, 9)
		}
	case "ew", "ewindicator", "lonhem", "lonhemi", "longitudehemisphere", "lonhemisphere", "lonref", "londir", "lonew":
		set(roleEW, 9)
	}
	h.velocityComponent(set)
	h.acceleration(set)
	h.position(set)
	h.quality(set)
	h.speedRole(set)
	h.timeRole(set)
	switch {
	case hasWord(w, "lap", "laps", "lapnumber", "runde", "lapno", "tour", "giro", "varv"):
		if !hasWord(w, "time", "distance", "dist") {
			set(roleLap, 5)
		}
	case hasWord(w, "mark", "marker", "event", "beacon", "comment", "annotation", "note", "marks", "trigger"):
		set(roleMark, 5)
	case hasWord(w, "valid", "fix", "fixtype", "fixmode", "gpsfix", "status", "fixstatus", "validity"):
		set(roleValid, 3)
	case hasWord(w, "distance", "dist", "trip", "odometer", "strecke", "distanz", "distancia"):
		set(roleDistance, 3)
	}
}

// velocityComponent finds velocity along north, east, up and down.
func (h *heading) velocityComponent(set func(role, int)) {
	if h.hasUnit && h.unit.q != velocity {
		return
	}
	j := strings.Join(h.words, "")
	j = strings.TrimPrefix(j, "gps")
	j = strings.TrimPrefix(j, "gnss")
	j = strings.TrimSuffix(strings.Replace(j, "ned", "", 1), "velocity")
	for _, p := range []string{"velocity", "velo", "vel", "speed", "v"} {
		s, ok := strings.CutPrefix(j, p)
		if !ok {
			continue
		}
		switch s {
		case "n", "north", "northing":
			set(roleVelN, 9)
		case "e", "east", "easting":
			set(roleVelE, 9)
		case "u", "up":
			set(roleVelU, 9)
		case "d", "down":
			set(roleVelD, 9)
		}
		return
	}
	switch j {
	case "north":
		if hasPrefixWord(h.words, "v") || h.hasUnit {
			set(roleVelN, 6)
		}
	case "east":
		if hasPrefixWord(h.words, "v") || h.hasUnit {
			set(roleVelE, 6)
		}
	}
}

// acceleration finds accelerometer axes.
func (h *heading) acceleration(set func(role, int)) {
	w := h.words
	if h.hasUnit && h.unit.q != acceleration && h.unit.q != other {
		return
	}
	if hasWord(w, "rate", "gyro", "gyroscope", "mag", "magnetometer", "angular", "rotation", "gravity", "accuracy",
		"pedal", "accelerator", "throttle", "hacc", "vacc", "position", "max", "min", "avg") && !hasWord(w, "without") {
		return
	}
	j := strings.Join(w, "")
	known := hasPrefixWord(w, "accel", "beschl", "acel", "accx", "accy", "accz", "gforce", "accelx") ||
		hasWord(w, "acc", "a", "force", "ax", "ay", "az", "a0", "a1", "a2", "ax1", "imu", "lacc", "g") ||
		strings.Contains(j, "acceleration") || strings.Contains(j, "accelerometer") || h.hasUnit && h.unit.q == acceleration
	if !known {
		return
	}
	h.linear = hasPrefixWord(w, "linear", "lin", "user") || hasWord(w, "without", "nog")
	last := w[len(w)-1]
	long := hasPrefixWord(w, "longitudinal", "forward", "langs", "inline") || hasWord(w, "long", "longacc", "lon", "fwd", "lng")
	weight := 5
	if h.hasUnit && h.unit.q == acceleration {
		weight = 7
	}
	switch {
	case long:
		set(roleAccLong, weight)
	case hasPrefixWord(w, "lateral", "quer") || hasWord(w, "lat", "latacc"):
		set(roleAccY, weight-1)
		h.group = "vehicle"
	case hasPrefixWord(w, "vertical") || hasWord(w, "vert"):
		set(roleAccZ, weight-1)
		h.group = "vehicle"
	default:
		h.axis(set, last, j, weight)
	}
}

func (h *heading) axis(set func(role, int), last, j string, weight int) {
	axis := last
	for _, p := range []string{"accel", "acc", "gforce", "a", "acceleration", "accelerometer"} {
		if s, ok := strings.CutPrefix(last, p); ok && len(s) == 1 {
			axis = s
		}
	}
	first := h.words[0]
	if len(axis) != 1 && len(first) == 1 { // "X acceleration"
		axis = first
	}
	if len(axis) != 1 && (hasWord(h.words, "x") || hasWord(h.words, "y") || hasWord(h.words, "z")) {
		for _, a := range h.words {
			if a == "x" || a == "y" || a == "z" {
				axis = a
			}
		}
	}
	h.group = strings.TrimSuffix(j, last)
	switch axis {
	case "x", "0":
		set(roleAccX, weight)
	case "y", "1":
		set(roleAccY, weight)
	case "z", "2":
		set(roleAccZ, weight)
	default:
		if len(h.words) == 1 || h.hasUnit {
			if hasPrefixWord(h.words, "accel", "acc", "beschl", "acel") && !hasWord(h.words, "accuracy") &&
				!hasWord(h.words, "magnitude", "norm", "total", "abs", "sum", "combined", "amplitude") {
				set(roleAccLong, 3)
			}
		}
	}
}

// position finds latitude, longitude, altitude and course.
func (h *heading) position(set func(role, int)) {
	w := h.words
	if h.hasUnit && h.unit.q != angle && h.unit.q != length && h.unit.q != other {
		return
	}
	if hasWord(w, spread...) || hasWord(w, "max", "min") {
		return
	}
	isLength := h.hasUnit && h.unit.q == length
	switch {
	case isLength && hasWord(w, "lat", "lon", "latitude", "longitude"):
	case hasWord(w, "lat", "latitude", "breite", "latitud", "latitudine", "breddegrad", "latdeg", "szerokosc") || hasPrefixWord(w, "latitude", "breitengrad", "geobreite"):
		set(roleLat, 8)
	case hasWord(w, "lon", "lng", "long", "longitude", "lange", "laenge", "longitud", "longitudine", "lengdegrad", "londeg", "dlugosc") || hasPrefixWord(w, "longitude", "langengrad", "laengengrad"):
		set(roleLon, 8)
	case hasWord(w, "alt", "altitude", "height", "hohe", "hoehe", "elevation", "ele", "msl", "hmsl", "altitud", "hoogte"):
		weight := 5
		if hasWord(w, "msl", "sea") {
			weight++
		}
		if hasPrefixWord(w, "ellip", "baro", "wgs", "geoid") || hasWord(w, "pressure") {
			weight -= 2
		}
		set(roleAlt, weight)
	case hasWord(w, "course", "cog", "kurs", "cap", "rumbo", "trackangle", "courseovergound") || hasWord(w, "track") && !hasWord(w, "id", "name"):
		set(roleCourse, 6)
	case hasWord(w, "heading", "bearing", "hdg", "azimuth", "headmot", "direction", "richtung"):
		if !hasWord(w, "mag", "magnetic", "compass", "wind") {
			set(roleCourse, 5)
		}
	}
}

// quality finds what the receiver says of its own solution.
func (h *heading) quality(set func(role, int)) {
	w := h.words
	j := strings.Join(w, "")
	switch {
	case hasWord(w, "sacc") || looksLikeSpeed(w) && hasWord(w, spread...):
		if !hasPrefixWord(w, "vert", "variance") {
			set(roleSpeedSD, 6)
		} else {
			set(noRole, 0)
		}
	case hasWord(w, "vacc") || hasPrefixWord(w, "vertical", "bearing", "heading", "course", "altitude") && hasWord(w, spread...):
	case hasWord(w, "hacc", "epe", "eph", "haccuracy") || hasPrefixWord(w, "accuracy", "horizontalaccuracy") && (h.role == noRole) ||
		hasPrefixWord(w, "horizontal", "position", "location", "gps", "pos") && hasWord(w, spread...):
		if !h.hasUnit || h.unit.q == length {
			set(rolePosSD, 4)
		}
	case hasWord(w, "hdop"):
		set(roleHDOP, 6)
	case hasWord(w, "sats", "sat", "satellites", "nsat", "numsv", "sv", "svs", "nsats", "satcount", "siv") || strings.HasPrefix(j, "satellitesused"):
		weight := 4
		if hasWord(w, "used", "use", "fix") {
			weight = 6
		}
		if hasWord(w, "view", "visible") && !hasWord(w, "used") {
			weight = 2
		}
		set(roleSats, weight)
	}
}

// speedRole finds speed over ground and says what measured it.
func (h *heading) speedRole(set func(role, int)) {
	w := h.words
	if h.role != noRole || !looksLikeSpeed(w) || hasWord(w, notSpeed...) || hasWord(w, spread...) {
		return
	}
	if h.hasUnit && h.unit.q != velocity {
		return
	}
	h.source = sourceOf(w)
	h.derived = hasWord(w, smoothed...)
	weight := 6
	if h.hasUnit {
		weight = 8
	}
	if hasWord(w, "2d") {
		weight++
	}
	if hasWord(w, "3d") {
		weight--
	}
	set(roleSpeed, weight)
}

// sourceOf tells what measured a speed by its words, "" where they do not say.
func sourceOf(w []string) recording.Source {
	switch {
	case hasWord(w, "ref", "reference", "ins", "imu", "inertial", "fused", "ekf", "kalman", "vf"):
		return recording.Inertial
	case hasPrefixWord(w, "obd", "wheel", "vss", "odo", "can", "ecu", "vehicle", "speedo", "tacho", "abs", "ecm", "bus", "raddreh") || hasWord(w, "drive", "car", "fl", "fr", "rl", "rr", "rad"):
		return recording.Wheel
	case hasPrefixWord(w, "gps", "gnss", "sog", "ground", "location", "loc", "doppler"):
		return recording.GNSS
	}
	return ""
}

// timeRole finds times, dates and their parts.
func (h *heading) timeRole(set func(role, int)) {
	w := h.words
	if h.role != noRole || hasWord(w, notTime...) {
		return
	}
	isDate := hasWord(w, "date", "datum", "fecha", "dato", "pvm", "data", "jour", "day", "dia") || strings.HasPrefix(w[0], "yyyy")
	switch {
	case len(w) == 1 && (w[0] == "year" || w[0] == "jahr"):
		set(roleYear, 5)
	case len(w) == 1 && (w[0] == "month" || w[0] == "monat"):
		set(roleMonth, 5)
	case len(w) == 1 && (w[0] == "day" || w[0] == "tag"):
		set(roleDay, 5)
	case len(w) == 1 && (w[0] == "hour" || w[0] == "hours" || w[0] == "stunde"):
		set(roleHour, 5)
	case len(w) == 1 && (w[0] == "minute" || w[0] == "minutes"):
		set(roleMinute, 5)
	case hasWord(w, "week", "gpsweek", "wn", "wno"):
		set(roleWeek, 5)
	case isDate && !hasWord(w, timeWords...):
		set(roleDate, 5)
	case h.hasUnit && h.unit.q != duration:
	case hasWord(w, timeWords...) || hasPrefixWord(w, "timestamp", "gpstime", "datetime", "uhrzeit", "elapsed"):
		set(roleTime, 6)
	case h.hasUnit && h.unit.q == duration && len(w) <= 2 && hasWord(w, "gps", "utc", "log", "sensor", "boot", "rel", "abs", "host", "device"):
		set(roleTime, 4)
	}
}

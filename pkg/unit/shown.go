package unit

import (
	"strconv"
	"strings"
)

// Shown is the pair of units in which a reader is shown speeds and the distances
// beside them.
type Shown struct {
	Speed       string  // name: "mph" or "km/h"
	SpeedPer    float64 // m/s
	Distance    string  // name: "ft" or "m"
	DistancePer float64 // m
}

// ShownIn returns the units of a reader who asked for speeds in "kmh", and those of
// a reader of mph for every other word.
func ShownIn(units string) Shown {
	if units == "kmh" {
		return Shown{"km/h", KMH, "m", 1}
	}
	return Shown{"mph", MPH, "ft", Foot}
}

// Printed is the name of a target as a reader is shown it in print: with an en dash
// between two speeds, "0–60 mph" for "0-60 mph". Names in data keep the hyphen.
func Printed(target string) string {
	from, to, ok := strings.Cut(target, "-")
	if _, err := strconv.ParseFloat(from, 64); !ok || err != nil || to == "" || to[0] < '0' || to[0] > '9' {
		return target
	}
	return from + "–" + to
}

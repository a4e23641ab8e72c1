package unit

import (
	"fmt"
	"math"
	"regexp"
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

// Heading is a direction in degrees from true north as a reader is shown it, in three
// digits; "" for NaN.
func Heading(deg float64) string {
	if math.IsNaN(deg) {
		return ""
	}
	return fmt.Sprintf("%03.0f°", math.Mod(math.Round(deg)+360, 360))
}

// Printed is a text as a reader is shown it in print: with an en dash between two speeds,
// "0–60 mph" for "0-60 mph", and with a minus sign before a number. It has as many letters
// as the text. Names in data keep the hyphen.
func Printed(text string) string {
	if !strings.Contains(text, "-") {
		return text
	}
	return negative.ReplaceAllString(between.ReplaceAllString(text, "${1}–${2}"), "${1}−${2}")
}

var (
	between  = regexp.MustCompile(`((?:^|[^\w.–-])\d+(?:\.\d+)?)-(\d+(?:\.\d+)? (?:mph|km/h)\b)`)
	negative = regexp.MustCompile(`(?m)(^|[\s(|>])-(\d)`)
)

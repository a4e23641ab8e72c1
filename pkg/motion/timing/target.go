// Package timing measures a run: times to speeds and distances from the launch
// and from the rollout, speed-to-speed pulls, trap speeds and braking, each with
// its uncertainty.
package timing

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"fromrest/pkg/unit"
)

// Target is something a run is timed to.
type Target struct {
	Name string
	// From and To are speeds in m/s: From is 0 for a target from rest and more
	// for a pull. To is 0 for a distance target.
	From, To float64
	Distance float64 // m, 0 for a speed target
}

// IsDistance reports whether the target is a distance.
func (t Target) IsDistance() bool { return t.Distance > 0 }

// IsPull reports whether the target is timed from one speed to another.
func (t Target) IsPull() bool { return t.Distance == 0 && t.From > 0 }

// Standard returns the targets every run is timed to, in table order: 0-10 to
// 0-100 mph, 0-100 km/h, then the distances, then the pulls.
func Standard() []Target {
	var ts []Target
	for v := 10; v <= 100; v += 10 {
		ts = append(ts, Target{Name: fmt.Sprintf("0-%d mph", v), To: float64(v) * unit.MPH})
	}
	ts = append(ts, Target{Name: "0-100 km/h", To: 100 * unit.KMH},
		Target{Name: "60 ft", Distance: 60 * unit.Foot},
		Target{Name: "330 ft", Distance: 330 * unit.Foot},
		Target{Name: "1/8 mile", Distance: unit.Mile / 8},
		Target{Name: "1000 ft", Distance: 1000 * unit.Foot},
		Target{Name: "1/4 mile", Distance: unit.Mile / 4},
		Target{Name: "30-50 mph", From: 30 * unit.MPH, To: 50 * unit.MPH},
		Target{Name: "50-70 mph", From: 50 * unit.MPH, To: 70 * unit.MPH},
		Target{Name: "80-120 km/h", From: 80 * unit.KMH, To: 120 * unit.KMH})
	return ts
}

var (
	speedTarget    = regexp.MustCompile(`^(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*(mph|km/h|kmh|m/s)$`)
	distanceTarget = regexp.MustCompile(`^(?:(\d+)/(\d+)|(\d+(?:\.\d+)?))\s*(ft|m|km|mile|miles|mi)$`)
)

// ParseTarget reads a target as a user writes it: "0-45 mph", "40-70 km/h",
// "200 m", "1/2 mile". The name is normalised.
func ParseTarget(s string) (Target, error) {
	s = strings.TrimSpace(strings.ToLower(s))
	if m := speedTarget.FindStringSubmatch(s); m != nil {
		a, _ := strconv.ParseFloat(m[1], 64)
		b, _ := strconv.ParseFloat(m[2], 64)
		per, name := speedUnit(m[3])
		if b <= a {
			return Target{}, fmt.Errorf("target %q: the second speed must be the higher", s)
		}
		return Target{Name: m[1] + "-" + m[2] + " " + name, From: a * per, To: b * per}, nil
	}
	if m := distanceTarget.FindStringSubmatch(s); m != nil {
		return parseDistance(s, m)
	}
	return Target{}, fmt.Errorf("target %q: want speeds such as 0-45 mph or a distance such as 200 m", s)
}

func parseDistance(s string, m []string) (Target, error) {
	n, name := 0.0, m[3]
	if m[1] != "" {
		a, _ := strconv.ParseFloat(m[1], 64)
		b, _ := strconv.ParseFloat(m[2], 64)
		if b > 0 {
			n = a / b
		}
		name = m[1] + "/" + m[2]
	} else {
		n, _ = strconv.ParseFloat(m[3], 64)
	}
	per := map[string]float64{"ft": unit.Foot, "m": 1, "km": 1000, "mi": unit.Mile, "mile": unit.Mile, "miles": unit.Mile}[m[4]]
	word := m[4]
	if per == unit.Mile {
		word = "mile"
	}
	if !(n*per >= 1) || n*per > 100000 {
		return Target{}, fmt.Errorf("target %q: want a distance from 1 m to 100 km", s)
	}
	return Target{Name: name + " " + word, Distance: n * per}, nil
}

func speedUnit(s string) (per float64, name string) {
	switch s {
	case "mph":
		return unit.MPH, "mph"
	case "m/s":
		return 1, "m/s"
	}
	return unit.KMH, "km/h"
}

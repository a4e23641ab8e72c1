package timing

import (
	"fmt"
	"regexp"
	"slices"
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
	return append(ts, others...)
}

// others are the targets beside 0-10 to 0-100 mph.
var others = []Target{
	{Name: "0-100 km/h", To: 100 * unit.KMH},
	{Name: "60 ft", Distance: 60 * unit.Foot},
	{Name: "330 ft", Distance: 330 * unit.Foot},
	{Name: "1/8 mile", Distance: unit.Mile / 8},
	{Name: "1000 ft", Distance: 1000 * unit.Foot},
	{Name: "1/4 mile", Distance: unit.Mile / 4},
	{Name: "30-50 mph", From: 30 * unit.MPH, To: 50 * unit.MPH},
	{Name: "50-70 mph", From: 50 * unit.MPH, To: 70 * unit.MPH},
	{Name: "80-120 km/h", From: 80 * unit.KMH, To: 120 * unit.KMH},
}

// Metric returns the targets of a reader of metric units, in table order: 0-50 to
// 0-120 km/h, 100 m to 1000 m, and the pull from 80 to 120 km/h.
func Metric() []Target { return slices.Clone(metric) }

var metric = []Target{
	{Name: "0-50 km/h", To: 50 * unit.KMH},
	{Name: "0-80 km/h", To: 80 * unit.KMH},
	{Name: "0-100 km/h", To: 100 * unit.KMH},
	{Name: "0-120 km/h", To: 120 * unit.KMH},
	{Name: "100 m", Distance: 100},
	{Name: "400 m", Distance: 400},
	{Name: "1000 m", Distance: 1000},
	{Name: "80-120 km/h", From: 80 * unit.KMH, To: 120 * unit.KMH},
}

// Known reports whether a name is that of a target of Standard or Metric, and no user's own.
func Known(name string) bool {
	return slices.ContainsFunc(append(Standard(), Metric()...), func(t Target) bool { return t.Name == name })
}

var (
	speedTarget    = regexp.MustCompile(`^(\d+(?:\.\d+)?)\s*-\s*(\d+(?:\.\d+)?)\s*(mph|km/h|kmh|m/s)$`)
	distanceTarget = regexp.MustCompile(`^(?:(\d+)/(\d+)|(\d+(?:\.\d+)?))\s*(ft|m|km|mile|miles|mi)$`)
)

// units are those that targets are written in: the name in a target's own, and
// the size in m/s or m.
var units = map[string]struct {
	name string
	size float64
}{
	"mph": {"mph", unit.MPH}, "km/h": {"km/h", unit.KMH}, "kmh": {"km/h", unit.KMH}, "m/s": {"m/s", 1},
	"ft": {"ft", unit.Foot}, "m": {"m", 1}, "km": {"km", 1000},
	"mi": {"mile", unit.Mile}, "mile": {"mile", unit.Mile}, "miles": {"mile", unit.Mile},
}

// ParseTarget reads a target as a user writes it: "0-45 mph", "40-70 km/h",
// "200 m", "1/2 mile", with a hyphen or an en dash. The name is normalised.
func ParseTarget(s string) (Target, error) {
	s = strings.ReplaceAll(strings.TrimSpace(strings.ToLower(s)), "–", "-")
	if m := speedTarget.FindStringSubmatch(s); m != nil {
		u := units[m[3]]
		t := Target{Name: m[1] + "-" + m[2] + " " + u.name, From: number(m[1]) * u.size, To: number(m[2]) * u.size}
		if number(m[2]) <= number(m[1]) {
			return Target{}, fmt.Errorf("target %q: the second speed must be the higher", s)
		}
		return t, nil
	}
	if m := distanceTarget.FindStringSubmatch(s); m != nil {
		u, n, name := units[m[4]], number(m[3]), m[3]
		if m[1] != "" {
			n, name = number(m[1])/number(m[2]), m[1]+"/"+m[2]
		}
		if d := n * u.size; d >= leastTarget && d <= mostTarget {
			return Target{Name: name + " " + u.name, Distance: d}, nil
		}
		return Target{}, fmt.Errorf("target %q: want a distance from 1 m to 100 km", s)
	}
	return Target{}, fmt.Errorf("target %q: want speeds such as 0-45 mph or a distance such as 200 m", s)
}

// number is the value of digits that a target's pattern let through.
func number(s string) float64 {
	x, _ := strconv.ParseFloat(s, 64)
	return x
}

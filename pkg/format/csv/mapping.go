package csv

import (
	"fmt"
	"os"
	"strings"

	"fromrest/pkg/recording"
)

// MappedColumn says what one column holds.
type MappedColumn struct {
	Role   string // a name of Roles
	Column string // the header's text, or "#3" for the third column
	Unit   string // "" leaves the unit to the header
	Source recording.Source
}

// Mapping is what a user says of a logger's table. The zero Mapping says that
// there is no header; use ParseMapping or ReadMapping.
type Mapping struct {
	Columns []MappedColumn

	delim, decimal byte // 0 to be found
	header         int  // line of the header, 0 for none, -1 to be found
	order          string
}

// roleNames are the names a mapping uses.
var roleNames = map[string]role{
	"time": roleTime, "date": roleDate, "week": roleWeek,
	"speed": roleSpeed, "lat": roleLat, "lon": roleLon, "lat-hemisphere": roleNS, "lon-hemisphere": roleEW,
	"altitude": roleAlt, "course": roleCourse,
	"north": roleVelN, "east": roleVelE, "up": roleVelU, "down": roleVelD,
	"speed-sd": roleSpeedSD, "position-sd": rolePosSD, "hdop": roleHDOP, "satellites": roleSats,
	"ax": roleAccX, "ay": roleAccY, "az": roleAccZ, "along": roleAccLong,
	"lap": roleLap, "mark": roleMark, "ignore": noRole,
}

// quantityOf says what unit a role takes.
func quantityOf(r role) quantity {
	switch r {
	case roleTime:
		return duration
	case roleSpeed, roleVelN, roleVelE, roleVelU, roleVelD, roleSpeedSD:
		return velocity
	case roleAccX, roleAccY, roleAccZ, roleAccLong:
		return acceleration
	case roleLat, roleLon, roleCourse:
		return angle
	case roleAlt, rolePosSD:
		return length
	}
	return noQuantity
}

// timeForms are the words for a time's form beside the units of duration.
var timeForms = []string{"iso", "tod", "hhmmss", "gps", "day"}

// ParseMapping reads a mapping of the form "role=column:unit,role=column". A
// column is the header's text, in double quotes where it holds a comma or a
// colon, or "#3" for the third column. The unit may be left out where the header
// gives it.
func ParseMapping(s string) (*Mapping, error) {
	m := &Mapping{header: -1}
	rest := strings.TrimSpace(s)
	for rest != "" {
		name, after, ok := strings.Cut(rest, "=")
		if !ok {
			return nil, fmt.Errorf("columns: %q has no =; write role=column:unit", rest)
		}
		col, unitWord, tail, err := cutColumn(after)
		if err != nil {
			return nil, err
		}
		if err := m.add(strings.TrimSpace(name), col, unitWord, ""); err != nil {
			return nil, fmt.Errorf("columns: %w", err)
		}
		rest = strings.TrimSpace(tail)
	}
	if len(m.Columns) == 0 {
		return nil, fmt.Errorf("columns: nothing is mapped")
	}
	return m, nil
}

// cutColumn reads column[:unit] up to the next comma.
func cutColumn(s string) (col, unitWord, rest string, err error) {
	s = strings.TrimLeft(s, " ")
	if strings.HasPrefix(s, `"`) {
		end := strings.IndexByte(s[1:], '"')
		if end < 0 {
			return "", "", "", fmt.Errorf("columns: a quote is not closed in %s", s)
		}
		col, s = s[1:1+end], s[end+2:]
		unitWord, rest, _ = strings.Cut(s, ",")
		unitWord = strings.TrimSpace(unitWord)
		if unitWord != "" && unitWord[0] != ':' {
			return "", "", "", fmt.Errorf("columns: %q follows a quoted column", unitWord)
		}
		return col, strings.TrimSpace(strings.TrimPrefix(unitWord, ":")), rest, nil
	}
	s, rest, _ = strings.Cut(s, ",")
	if i := strings.LastIndexByte(s, ':'); i >= 0 {
		return strings.TrimSpace(s[:i]), strings.TrimSpace(s[i+1:]), rest, nil
	}
	return strings.TrimSpace(s), "", rest, nil
}

// add checks and adds one column.
func (m *Mapping) add(name, col, unitWord string, source recording.Source) error {
	r, ok := roleNames[name]
	if !ok {
		return fmt.Errorf("%q is no role; roles are %s", name, strings.Join(Roles(), ", "))
	}
	if col == "" {
		return fmt.Errorf("%s: no column is named", name)
	}
	switch source {
	case "", recording.GNSS, recording.Wheel, recording.Inertial:
	default:
		return fmt.Errorf("%s: source %q is none of gnss, wheel, inertial", name, source)
	}
	if unitWord != "" {
		if err := checkUnit(r, unitWord); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
	}
	m.Columns = append(m.Columns, MappedColumn{name, col, unitWord, source})
	return nil
}

func checkUnit(r role, word string) error {
	q := quantityOf(r)
	if r == roleTime {
		for _, f := range timeForms {
			if word == f {
				return nil
			}
		}
	}
	if _, ok := unitNamed(word, q); !ok || q == noQuantity {
		return fmt.Errorf("%q is no unit for it; units are %s", word, strings.Join(unitsFor(r), ", "))
	}
	return nil
}

func unitsFor(r role) []string {
	switch quantityOf(r) {
	case duration:
		return append([]string{"s", "ms", "us", "ns", "min", "h"}, timeForms...)
	case velocity:
		return []string{"m/s", "km/h", "mph", "kn", "cm/s", "mm/s", "ft/s"}
	case acceleration:
		return []string{"m/s2", "g", "mg", "cm/s2", "ft/s2"}
	case angle:
		return []string{"deg", "rad", "deg*1e-7"}
	case length:
		return []string{"m", "km", "ft"}
	}
	return []string{"none"}
}

// Roles lists the names of what a column can hold, for messages and help.
func Roles() []string {
	return []string{"time", "date", "week", "speed", "lat", "lon", "lat-hemisphere", "lon-hemisphere", "altitude", "course",
		"north", "east", "up", "down", "speed-sd", "position-sd", "hdop", "satellites",
		"ax", "ay", "az", "along", "lap", "mark", "ignore"}
}

// mappingOf reads Options.Columns: nothing, a mapping or the path of a file.
func mappingOf(s string) (*Mapping, error) {
	switch {
	case strings.TrimSpace(s) == "":
		return &Mapping{header: -1}, nil
	case !strings.Contains(s, "=") || strings.HasSuffix(s, ".toml"):
		f, err := os.Open(s)
		if err != nil {
			return nil, fmt.Errorf("columns: %w", err)
		}
		defer f.Close()
		return ReadMapping(f, s)
	}
	return ParseMapping(s)
}

func (m *Mapping) dialect() dialect {
	return dialect{delim: m.delim, decimal: m.decimal, header: m.header, order: m.order}
}

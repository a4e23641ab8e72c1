package csv

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
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

	speedUnit      header.Unit // of every speed that is not mapped with one, none to be found
	delim, decimal byte        // 0 to be found
	header         int         // line of the header, 0 for none, -1 to be found
	order          string      // of the numbers of a date, "" to be found
}

// mappable are the roles that a mapping names.
var mappable = []struct {
	name string
	role header.Role
}{
	{"time", header.Time}, {"date", header.Date}, {"week", header.Week}, {"speed", header.Speed},
	{"lat", header.Lat}, {"lon", header.Lon}, {"lat-hemisphere", header.NS}, {"lon-hemisphere", header.EW},
	{"altitude", header.Alt}, {"course", header.Course},
	{"north", header.VelN}, {"east", header.VelE}, {"up", header.VelU}, {"down", header.VelD},
	{"speed-sd", header.SpeedSD}, {"position-sd", header.PosSD}, {"hdop", header.HDOP}, {"satellites", header.Sats},
	{"ax", header.AccX}, {"ay", header.AccY}, {"az", header.AccZ}, {"along", header.AccLong},
	{"lap", header.Lap}, {"mark", header.Mark}, {"ignore", header.NoRole},
}

// unitNames are the units that messages offer.
var unitNames = map[header.Quantity][]string{
	header.None:         {"none"},
	header.Duration:     append([]string{"s", "ms", "us", "ns", "min", "h"}, clock.Forms...),
	header.Velocity:     {"m/s", "km/h", "mph", "kn", "cm/s", "mm/s", "ft/s"},
	header.Acceleration: {"m/s2", "g", "mg", "cm/s2", "ft/s2"},
	header.Angle:        {"deg", "rad", "deg*1e-7"},
	header.Length:       {"m", "km", "ft"},
}

// Roles lists the names of what a column can hold, for messages and help.
func Roles() []string {
	var names []string
	for _, m := range mappable {
		names = append(names, m.name)
	}
	return names
}

func roleNamed(name string) (header.Role, bool) {
	i := slices.Index(Roles(), name)
	if i < 0 {
		return header.NoRole, false
	}
	return mappable[i].role, true
}

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
		col, unit, tail, err := cutColumn(after)
		if err != nil {
			return nil, err
		}
		if err := m.add(strings.TrimSpace(name), col, unit, ""); err != nil {
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
func cutColumn(s string) (col, unit, rest string, err error) {
	s = strings.TrimLeft(s, " ")
	if quoted, ok := strings.CutPrefix(s, `"`); ok {
		col, after, closed := strings.Cut(quoted, `"`)
		if !closed {
			return "", "", "", fmt.Errorf("columns: a quote is not closed in %s", s)
		}
		unit, rest, _ = strings.Cut(after, ",")
		unit = strings.TrimSpace(unit)
		if unit != "" && unit[0] != ':' {
			return "", "", "", fmt.Errorf("columns: %q follows a quoted column", unit)
		}
		return col, strings.TrimSpace(strings.TrimPrefix(unit, ":")), rest, nil
	}
	s, rest, _ = strings.Cut(s, ",")
	if i := strings.LastIndexByte(s, ':'); i >= 0 {
		s, unit = s[:i], s[i+1:]
	}
	return strings.TrimSpace(s), strings.TrimSpace(unit), rest, nil
}

// add checks and adds one column.
func (m *Mapping) add(name, col, unit string, source recording.Source) error {
	r, ok := roleNamed(name)
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
	q := r.Quantity()
	_, known := header.UnitNamed(unit, q)
	if r == header.Time && slices.Contains(clock.Forms, unit) {
		known = true
	}
	if unit != "" && (!known || q == header.None) {
		return fmt.Errorf("%s: %q is no unit for it; units are %s", name, unit, strings.Join(unitNames[q], ", "))
	}
	m.Columns = append(m.Columns, MappedColumn{name, col, unit, source})
	return nil
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
		defer func() { _ = f.Close() }()
		return ReadMapping(f, s)
	}
	return ParseMapping(s)
}

// MapsSpeed reports whether a mapping, as Options.Columns has it, names the unit of a
// speed.
func MapsSpeed(columns string) bool {
	m, err := mappingOf(columns)
	return err == nil && slices.ContainsFunc(m.Columns, func(c MappedColumn) bool { return c.Role == "speed" && c.Unit != "" })
}

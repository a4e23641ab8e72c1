package can

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"unicode/utf8"

	"go.einride.tech/can/pkg/dbc"

	"fromrest/pkg/format/csv/header"
)

// databaseForm is vehicle.dbc#WheelSpeed, with the message in front of the signal where several
// have one of that name, and a unit behind it where the database gives another or none.
var databaseForm = regexp.MustCompile(`(?i)^\s*speed\s*=\s*(.+\.dbc)#(?:([a-z_]\w*)\.)?([a-z_]\w*)(?::(\S+))?\s*$`)

// Database is the path of the database file that columns names, "" where there is none.
func Database(columns string) string {
	if m := databaseForm.FindStringSubmatch(columns); m != nil {
		return m[1]
	}
	return ""
}

// fromDatabase finds the signal that columns names in its database file. Definitions that
// the library cannot read, and those behind them, are none.
func fromDatabase(columns string) (s signal, err error) {
	m := databaseForm.FindStringSubmatch(columns)
	path, message, name, unit := m[1], m[2], m[3], m[4]
	f, err := os.Open(path)
	if err != nil {
		return s, err
	}
	defer func() { _ = f.Close() }() // only read
	b, err := io.ReadAll(io.LimitReader(f, longestDatabase))
	if err != nil {
		return s, err
	}
	p := dbc.NewParser(path, inUTF8(b))
	broken := p.Parse()
	var found []string
	var of *dbc.MessageDef
	var is *dbc.SignalDef
	floats := map[string]bool{}
	for _, d := range p.Defs() {
		switch d := d.(type) {
		case *dbc.SignalValueTypeDef:
			floats[fmt.Sprint(d.MessageID, d.SignalName)] = d.SignalValueType != dbc.SignalValueTypeInt
		case *dbc.MessageDef:
			for i := range d.Signals {
				if string(d.Signals[i].Name) == name && (message == "" || string(d.Name) == message) {
					of, is = d, &d.Signals[i]
					found = append(found, string(d.Name)+"."+name)
				}
			}
		}
	}
	switch {
	case is == nil && broken != nil:
		return s, fmt.Errorf("no signal %s in it, as far as it can be read: %w", name, broken)
	case is == nil:
		return s, fmt.Errorf("%s: no signal %s in it", path, name)
	case len(found) > 1:
		return s, fmt.Errorf("%s: the signal is one of %s; write which", path, strings.Join(found, ", "))
	case is.IsMultiplexed:
		return s, fmt.Errorf("%s: %s is multiplexed, which is not read", path, found[0])
	case floats[fmt.Sprint(of.MessageID, is.Name)]:
		return s, fmt.Errorf("%s: %s is a floating-point number, which is not read", path, found[0])
	}
	s = signal{id: of.MessageID.ToCAN(), start: int(min(is.StartBit, 8*mostPayload)), bits: int(min(is.Size, 65)), little: !is.IsBigEndian, signed: is.IsSigned,
		factor: is.Factor, off: is.Offset}
	if unit != "" {
		s.unit, err = header.SpeedUnit(unit)
	} else if u, ok := header.UnitNamed(is.Unit, header.Velocity); ok {
		s.unit = u
	} else {
		err = fmt.Errorf("%s: the unit of %s is %q; say which it is, as in --columns 'speed=%s#%s:km/h'", path, found[0], is.Unit, path, found[0])
	}
	return s, err
}

// inUTF8 is text in UTF-8: what is not, as a degree sign often, is Latin-1.
func inUTF8(b []byte) []byte {
	if utf8.Valid(b) {
		return b
	}
	out := make([]rune, len(b))
	for i, c := range b {
		out[i] = rune(c)
	}
	return []byte(string(out))
}

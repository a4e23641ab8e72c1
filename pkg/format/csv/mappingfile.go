package csv

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/BurntSushi/toml"

	"fromrest/pkg/recording"
	"fromrest/pkg/tomltext"
)

// mappingFile is the TOML file kept for a logger.
type mappingFile struct {
	Delimiter string                `toml:"delimiter"`  // one sign, or "tab" or "space"
	Decimal   string                `toml:"decimal"`    // "." or ","
	Header    *int                  `toml:"header"`     // line of the header, 0 for none
	DateOrder string                `toml:"date-order"` // "dmy", "mdy" or "ymd"
	Columns   map[string]columnLine `toml:"columns"`
}

// columnLine is "Speed:km/h" or a table of column, unit and source.
type columnLine struct {
	Column string `toml:"column"`
	Unit   string `toml:"unit"`
	Source string `toml:"source"`
}

// UnmarshalTOML takes both forms.
func (c *columnLine) UnmarshalTOML(v any) error {
	switch v := v.(type) {
	case string:
		col, unitWord, rest, err := cutColumn(v)
		if err != nil {
			return err
		}
		if rest != "" {
			return errors.New("one column a line")
		}
		c.Column, c.Unit = col, unitWord
	case map[string]any:
		for k, x := range v {
			s, ok := x.(string)
			if !ok {
				return fmt.Errorf("%s is no text", k)
			}
			switch k {
			case "column":
				c.Column = s
			case "unit":
				c.Unit = s
			case "source":
				c.Source = s
			default:
				return fmt.Errorf("unknown key %q; keys are column, unit, source", k)
			}
		}
	default:
		return errors.New("neither text nor a table")
	}
	return nil
}

// ReadMapping reads a mapping from a TOML file; name is used in messages. An
// unknown key is an error that names its line.
func ReadMapping(r io.Reader, name string) (*Mapping, error) {
	text, err := io.ReadAll(io.LimitReader(r, mostMapping))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if line := tomltext.TooDeep(string(text)); line > 0 {
		return nil, fmt.Errorf("%s: line %d: nested too deeply", name, line)
	}
	var f mappingFile
	meta, err := toml.Decode(string(text), &f)
	if err != nil {
		var pe toml.ParseError
		if errors.As(err, &pe) {
			return nil, fmt.Errorf("%s: line %d: %s", name, pe.Position.Line, pe.Message)
		}
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for _, k := range meta.Undecoded() {
		if len(k) > 2 && k[0] == "columns" {
			continue // decoded by UnmarshalTOML
		}
		return nil, fmt.Errorf("%s: line %d: unknown key %q; keys are delimiter, decimal, header, date-order, columns",
			name, keyLine(string(text), k), k.String())
	}
	m := &Mapping{header: -1, order: f.DateOrder}
	if f.Header != nil {
		m.header = max(*f.Header, 0)
	}
	if err := m.signs(&f); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	for _, k := range meta.Keys() { // in the order of the file
		if len(k) != 2 || k[0] != "columns" {
			continue
		}
		c := f.Columns[k[1]]
		if err := m.add(k[1], c.Column, c.Unit, recording.Source(c.Source)); err != nil {
			return nil, fmt.Errorf("%s: line %d: %w", name, keyLine(string(text), k), err)
		}
	}
	return m, nil
}

func (m *Mapping) signs(f *mappingFile) error {
	switch f.Delimiter {
	case "":
	case "tab":
		m.delim = '\t'
	case "space":
		m.delim = ' '
	default:
		if len(f.Delimiter) != 1 {
			return fmt.Errorf("delimiter %q is not one sign, tab or space", f.Delimiter)
		}
		m.delim = f.Delimiter[0]
	}
	switch f.Decimal {
	case "":
	case ".", ",":
		m.decimal = f.Decimal[0]
	default:
		return fmt.Errorf("decimal %q is neither . nor ,", f.Decimal)
	}
	switch f.DateOrder {
	case "", "dmy", "mdy", "ymd":
	default:
		return fmt.Errorf("date-order %q is none of dmy, mdy, ymd", f.DateOrder)
	}
	return nil
}

// keyLine finds the line on which a key stands, 1 where it cannot.
func keyLine(text string, key toml.Key) int {
	return max(1, tomltext.New(text).Line(strings.Join(key, "."), 0))
}

package csv

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
)

// Sight is what a person must see of a table to say what its columns hold.
type Sight struct {
	Columns []MappedColumn // each with the role and unit that were found, "" where none was
	Rows    [][]string     // the first of them
	Asks    string         // why the table cannot be read as it stands, "" where it can
}

// MappingRole is what a column can be said to hold, with the units it can be in.
type MappingRole struct {
	Name  string
	Units []string // none where it has no unit
}

// MappingRoles lists what columns can be said to hold.
func MappingRoles() []MappingRole {
	var out []MappingRole
	for _, m := range mappable {
		r := MappingRole{Name: m.name}
		if q := m.role.Quantity(); q != header.None {
			r.Units = unitNames[q]
		}
		out = append(out, r)
	}
	return out
}

// String is the mapping as Options.Columns has it, of its columns alone.
func (m *Mapping) String() string {
	var out []string
	for _, c := range m.Columns {
		s := c.Role + "=" + quoteColumn(c.Column)
		if c.Unit != "" {
			s += ":" + c.Unit
		}
		out = append(out, s)
	}
	return strings.Join(out, ",")
}

// Sighted looks at a table through a mapping, as far as one was given: r is its beginning, and rows
// is how many of them to show. What was found is found as Read does. The error is for a text
// that is no table, and for a mapping that cannot be read.
func Sighted(ctx context.Context, r io.Reader, columns string, rows int) (*Sight, error) {
	head, err := io.ReadAll(io.LimitReader(r, sightBytes))
	if err != nil {
		return nil, err
	}
	m, err := mappingOf(columns)
	if err != nil {
		return nil, err
	}
	l, err := text.NewLines(bytes.NewReader(head))
	if err != nil {
		return nil, err
	}
	d, ok := findDialect(l, m)
	if !ok {
		return nil, ErrNoTable
	}
	s := &Sight{}
	p, _ := newPlan("", d, m) // what is wrong is told by the reading below
	for i := range p.cols {
		s.Columns = append(s.Columns, MappedColumn{Column: p.columnName(i)})
	}
	for _, row := range d.rows[:min(rows, len(d.rows))] {
		var cells []string
		for _, c := range row {
			cells = append(cells, text.Decode(text.Trim(c)))
		}
		s.Rows = append(s.Rows, cells)
	}
	rec, err := Read(ctx, bytes.NewReader(head[:bytes.LastIndexByte(head, '\n')+1]), "", Options{Columns: columns})
	if err != nil {
		s.Asks = strings.TrimPrefix(err.Error(), ": ")
	}
	found, err := ParseMapping(rec.Columns)
	if err != nil {
		found = p.guessed()
	}
	for _, c := range found.Columns {
		if i := p.findColumn(c.Column); i >= 0 && s.Columns[i].Role == "" {
			s.Columns[i].Role, s.Columns[i].Unit = c.Role, c.Unit
		}
	}
	return s, nil
}

// sightBytes is how much of a table is looked at; assumed, more than any foreword.
const sightBytes = 1 << 20

// guessed is what the heads and the cells of a table say that is not read.
func (p *plan) guessed() *Mapping {
	m := &Mapping{}
	for i, h := range p.cols {
		for _, of := range mappable {
			if of.role != h.Role || of.role == header.NoRole {
				continue
			}
			c := MappedColumn{Role: of.name, Column: p.columnName(i)}
			if h.Known() {
				c.Unit = h.Unit.Name
			}
			m.Columns = append(m.Columns, c)
		}
	}
	return m
}

// NewMapping is the mapping that says of some columns what they hold; of those without a
// role it says nothing. The error names the first that cannot be.
func NewMapping(columns []MappedColumn) (*Mapping, error) {
	m := &Mapping{header: -1}
	for _, c := range columns {
		if c.Role == "" {
			continue
		}
		if strings.ContainsAny(c.Column, "\"\r\n") {
			return nil, fmt.Errorf("column %q cannot be named; it is called by its number, such as #3", c.Column)
		}
		if err := m.add(c.Role, c.Column, c.Unit, ""); err != nil {
			return nil, err
		}
	}
	if len(m.Columns) == 0 {
		return nil, errors.New("nothing is said of any column")
	}
	return m, nil
}

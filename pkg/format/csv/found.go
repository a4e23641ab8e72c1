package csv

import (
	"strconv"
	"strings"

	"fromrest/pkg/format/csv/header"
)

// found is the mapping that would read the table as it was read, as ParseMapping takes
// it: "time=utc_ms:ms,speed=Speed:km/h". A clock of a column each for hours, minutes and
// seconds, which no mapping names, is left out.
func (t *table) found() string {
	names := map[header.Role]string{}
	for _, m := range mappable {
		names[m.role] = m.name
	}
	var out []string
	add := func(role string, col int, unit string) {
		if role == "" || col < 0 {
			return
		}
		s := role + "=" + quoteColumn(t.columnName(col))
		if unit != "" {
			s += ":" + unit
		}
		out = append(out, s)
	}
	c := t.clock
	add("time", c.Col, c.Form)
	add("date", c.Date, "")
	add("week", c.Week(), "")
	for _, s := range t.slots {
		role, unit := names[s.h.Role], ""
		if s.h.Known() {
			unit = s.h.Unit.Name
		}
		if s.h.Role == header.Speed {
			if p := t.rec.Primary(); unit == "" || p != nil && p.Name != "" && p.Name != s.h.Raw {
				continue // the others are read beside it by what their headers say
			}
			if strings.Contains(s.h.Raw, ", ") && t.slot(header.VelN) != nil && s.col == t.slot(header.VelN).col {
				continue // made of components
			}
		}
		add(role, s.col, unit)
		switch s.h.Role {
		case header.Lat:
			add("lat-hemisphere", s.hemi, "")
		case header.Lon:
			add("lon-hemisphere", s.hemi, "")
		}
	}
	return strings.Join(out, ",")
}

// columnName is a column's header where no other has it, else its number.
func (p *plan) columnName(col int) string {
	name := p.cols[col].Raw
	n := 0
	for _, h := range p.cols {
		if strings.EqualFold(h.Raw, name) {
			n++
		}
	}
	if name == "" || n != 1 || strings.Contains(name, `"`) {
		return "#" + strconv.Itoa(col+1)
	}
	return name
}

package csv

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"

	"fromrest/pkg/recording"
)

func sniffReader(head []byte) io.Reader {
	r, err := utf8Reader(bytes.NewReader(head))
	if err != nil {
		return bytes.NewReader(nil)
	}
	return r
}

// plan is what is read from which column.
type plan struct {
	name  string
	d     *dialect
	m     *Mapping
	cols  []heading
	clock *clock
	other []*clock
	slots []*slot
	marks []int
	valid int
}

// newPlan decides roles and clock. A plan with slots but without a clock comes
// with an error.
func newPlan(name string, d *dialect, m *Mapping) (*plan, error) {
	p := &plan{name: name, d: d, m: m, valid: -1}
	p.cols = make([]heading, max(len(d.headings), d.fields))
	copy(p.cols, d.headings)
	units := map[int]string{}
	if err := p.applyMapping(units); err != nil {
		return p, err
	}
	p.guessRoles()
	p.chooseSlots()
	clocks := findClocks(d, p.cols, units)
	for _, c := range clocks {
		if p.clock == nil || c.better(p.clock) {
			p.clock = c
		}
	}
	if p.clock == nil {
		return p, p.noClock()
	}
	p.clock.setBy(clocks, d.rows)
	p.clock.fromFirst(d.rows)
	for _, c := range clocks {
		if c != p.clock && c.name != p.clock.anchor {
			p.other = append(p.other, c)
		}
	}
	return p, nil
}

// at says where the columns are named, for messages.
func (p *plan) at() string {
	if p.d.header > 0 {
		return fmt.Sprintf("%s: line %d", p.name, p.d.header)
	}
	return fmt.Sprintf("%s: line %d", p.name, p.d.data)
}

func (p *plan) noClock() error {
	for i, h := range p.cols {
		if h.role == roleTime && len(cellsOf(p.d.rows, i)) > 0 {
			return fmt.Errorf("%s: the unit of column %q cannot be told; say it with --columns 'time=%s:ms'",
				p.at(), p.label(i), quoteColumn(p.label(i)))
		}
	}
	return fmt.Errorf("%s: no column with the time was found among %s; say it with --columns 'time=COLUMN:s'",
		p.at(), p.columnList())
}

// label is a column's header, or its number.
func (p *plan) label(i int) string {
	if p.cols[i].raw != "" {
		return p.cols[i].raw
	}
	return columnNumber(i)
}

func quoteColumn(s string) string {
	if strings.ContainsAny(s, ",:=") {
		return `"` + s + `"`
	}
	return s
}

func (p *plan) columnList() string {
	var names []string
	for i := range p.cols {
		if len(names) == 12 {
			names = append(names, "…")
			break
		}
		names = append(names, strconv.Quote(p.label(i)))
	}
	return strings.Join(names, ", ")
}

// applyMapping puts the user's word above what the headers say.
func (p *plan) applyMapping(units map[int]string) error {
	for _, mc := range p.m.Columns {
		r := roleNames[mc.Role]
		i := p.findColumn(mc.Column)
		if i < 0 {
			return fmt.Errorf("%s: no column %q; columns are %s", p.at(), mc.Column, p.columnList())
		}
		for k := range p.cols {
			if p.cols[k].role == r && k != i && r != noRole && !p.mapped(k) {
				if r == roleSpeed { // others stay, behind it
					p.cols[k].weight = min(p.cols[k].weight, 1)
				} else {
					p.cols[k].role = noRole
				}
			}
		}
		h := &p.cols[i]
		h.role, h.weight, h.derived = r, 100, false
		if mc.Source != "" {
			h.source = mc.Source
		}
		if mc.Unit != "" {
			if u, ok := unitNamed(mc.Unit, quantityOf(r)); ok {
				h.unit, h.hasUnit = u, true
			}
			if r == roleTime {
				units[i] = h.unit.name
				for _, f := range timeForms {
					if mc.Unit == f {
						units[i] = f
					}
				}
			}
		}
	}
	return nil
}

func (p *plan) mapped(k int) bool { return p.cols[k].weight == 100 }

// findColumn finds a column by its header, without regard to case where that
// is clear, by its header without the unit, or by number.
func (p *plan) findColumn(name string) int {
	for i, h := range p.cols {
		if h.raw == name && name != "" {
			return i
		}
	}
	found := -1
	for i, h := range p.cols {
		if strings.EqualFold(h.raw, name) || strings.EqualFold(strings.Join(h.words, " "), name) {
			if found >= 0 {
				return -1
			}
			found = i
		}
	}
	if found >= 0 {
		return found
	}
	if s, ok := strings.CutPrefix(name, "#"); ok || p.d.header == 0 {
		if n, err := strconv.Atoi(s); err == nil && n >= 1 && n <= len(p.cols) {
			return n - 1
		}
	}
	return -1
}

// single roles: the best column of each is taken.
var singleRoles = []role{roleLat, roleLon, roleAlt, roleCourse, roleVelN, roleVelE, roleVelU, roleVelD,
	roleSpeedSD, rolePosSD, roleHDOP, roleSats, roleAccX, roleAccY, roleAccZ, roleAccLong, roleDistance}

// chooseSlots decides which columns are kept.
func (p *plan) chooseSlots() {
	ns, ew := p.find(roleNS), p.find(roleEW)
	for _, r := range singleRoles {
		if i := p.find(r); i >= 0 {
			s := &slot{col: i, h: p.cols[i], hemi: -1}
			switch r {
			case roleLat:
				s.geo, s.hemi = true, ns
			case roleLon:
				s.geo, s.hemi = true, ew
			}
			p.slots = append(p.slots, s)
		}
	}
	for i, h := range p.cols {
		switch h.role {
		case roleSpeed:
			if p.hasNumbers(i) {
				p.slots = append(p.slots, &slot{col: i, h: h, hemi: -1})
			}
		case roleLap, roleMark:
			p.marks = append(p.marks, i)
		case roleValid:
			p.valid = i
		}
	}
	p.nameSources()
}

// find gives the column that holds a role most surely and has values, or -1.
func (p *plan) find(r role) int {
	best := -1
	for i, h := range p.cols {
		if h.role != r || best >= 0 && h.weight <= p.cols[best].weight {
			continue
		}
		if r == roleNS || r == roleEW {
			if !p.isHemisphere(i) {
				continue
			}
		} else if !p.hasNumbers(i) {
			continue
		}
		best = i
	}
	return best
}

func (p *plan) hasNumbers(i int) bool {
	good, full := 0, 0
	for _, c := range cellsOf(p.d.rows, i) {
		full++
		if _, ok := (&slot{col: i, hemi: -1, geo: p.cols[i].role == roleLat || p.cols[i].role == roleLon}).read(c, nil, p.d.decimal); ok {
			good++
		}
	}
	return good > 0 && good*2 > full
}

func (p *plan) isHemisphere(i int) bool {
	good, full := 0, 0
	for _, c := range cellsOf(p.d.rows, i) {
		full++
		if k := c[0] | 0x20; k == 'n' || k == 's' || k == 'e' || k == 'w' {
			good++
		}
	}
	return good > 0 && good*2 > full
}

// nameSources says what measured each speed where its header does not.
func (p *plan) nameSources() {
	pos := p.find(roleLat) >= 0 && p.find(roleLon) >= 0
	bus := false
	for _, h := range p.cols {
		if hasPrefixWord(h.words, "rpm", "throttle", "coolant", "gear", "brake", "odom", "obd", "ecu") || hasWord(h.words, "engine", "drehzahl", "pedal") {
			bus = true
		}
	}
	bus = bus || sourceOf(wordsOf(p.name)) == recording.Wheel
	for _, s := range p.slots {
		if s.h.role != roleSpeed || s.h.source != "" {
			continue
		}
		switch {
		case pos:
			s.h.source = recording.GNSS
		case bus:
			s.h.source = recording.Wheel
		}
	}
}

// table prepares the columns to be filled.
func (p *plan) table(rec *recording.Recording) *table {
	t := &table{clock: p.clock, slots: p.slots, decimal: p.d.decimal, valid: p.valid, marks: p.marks, rec: rec}
	for _, i := range p.marks {
		t.markH = append(t.markH, p.cols[i])
	}
	t.lastMrk = make([]string, len(p.marks))
	rec.Clock = p.clock.kind
	rec.Undated = p.clock.kind == clockTOD
	return t
}

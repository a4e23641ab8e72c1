package csv

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
	"fromrest/pkg/recording"
)

// plan is what is read from which column.
type plan struct {
	*dialect
	name  string // of the log
	cols  []header.Heading
	forms map[int]string // how the user says that a column writes time
	// settled are the columns whose unit the user says.
	settled map[int]bool
	order   string // of the numbers of a date, "" to be found
	clock   *clock.Clock
	other   []*clock.Clock // not used, of no further help
	slots   []*slot
	marks   []int
	notes   []string // on units
	valid   int      // column of the receiver's validity word, -1
}

// newPlan decides roles and clock. A plan with slots but without a clock comes
// with an error.
func newPlan(name string, d *dialect, m *Mapping) (*plan, error) {
	p := &plan{dialect: d, name: name, forms: map[int]string{}, settled: map[int]bool{}, order: m.order, valid: -1}
	p.cols = make([]header.Heading, max(len(d.headings), d.fields))
	copy(p.cols, d.headings)
	if err := p.applyMapping(m); err != nil {
		return p, err
	}
	for i := range p.cols {
		if h := &p.cols[i]; m.speedUnit.SI > 0 && h.Role == header.Speed && !p.settled[i] {
			h.Unit = m.speedUnit
			p.settled[i] = true
		}
	}
	p.cellUnits()
	p.guessRoles()
	p.chooseSlots()
	if p.clock, p.other = clock.Choose(clock.Find(p.sample())); p.clock == nil {
		return p, p.noClock()
	}
	return p, nil
}

// sample is what clocks are found in.
func (p *plan) sample() *clock.Sample {
	return &clock.Sample{Columns: p.cols, Rows: p.rows, Decimal: p.decimal, Order: p.order, Forms: p.forms}
}

// at says where the columns are named, for messages.
func (p *plan) at() string { return fmt.Sprintf("%s: line %d", p.name, cmp.Or(p.header, p.data)) }

func (p *plan) noClock() error {
	for i, h := range p.cols {
		if h.Role == header.Time && len(text.Column(p.rows, i)) > 0 {
			if why := clock.Why(p.sample(), i); why != "" {
				return fmt.Errorf("%s: column %q is no clock: %s; name the column with the time with --columns 'time=COLUMN:s'", p.at(), p.label(i), why)
			}
			return fmt.Errorf("%s: the unit of column %q cannot be told; say it with --columns 'time=%s:ms'",
				p.at(), p.label(i), quoteColumn(p.label(i)))
		}
	}
	return fmt.Errorf("%s: no column with the time was found among %s; say it with --columns 'time=COLUMN:s'",
		p.at(), p.columnList())
}

// cellUnits takes the units that stand in the cells, behind the numbers: a unit written
// with each value goes before that of the header.
func (p *plan) cellUnits() {
	for i := range p.cols {
		h := &p.cols[i]
		q := h.Role.Quantity()
		if p.settled[i] || q != header.Velocity && q != header.Acceleration {
			continue
		}
		named, n, all := map[header.Unit]int{}, 0, 0
		var most header.Unit
		for _, c := range text.Column(p.rows, i) {
			_, rest, ok := text.Number(c, p.decimal)
			if !ok {
				continue
			}
			n++
			if u, ok := header.UnitNamed(text.Decode(text.Trim(rest)), q); ok && len(rest) > 0 {
				all++
				if named[u]++; named[u] > named[most] {
					most = u
				}
			}
		}
		if all > 0 && float64(all) >= nearlyAll*float64(n) && most != h.Unit {
			if h.Known() {
				p.notes = append(p.notes, fmt.Sprintf("column %q says %s in its header and %s in its cells, which was taken", p.label(i), h.Unit.Name, most.Name))
			}
			h.Unit = most
		}
	}
}

// label is a column's header, or its number.
func (p *plan) label(i int) string { return cmp.Or(p.cols[i].Raw, fmt.Sprintf("#%d", i+1)) }

func quoteColumn(s string) string {
	if strings.ContainsAny(s, ",:=") {
		return `"` + s + `"`
	}
	return s
}

func (p *plan) columnList() string {
	const most = 12 // names in a message
	var names []string
	for i := range min(len(p.cols), most) {
		names = append(names, strconv.Quote(p.label(i)))
	}
	if len(p.cols) > most {
		names = append(names, "…")
	}
	return strings.Join(names, ", ")
}

// applyMapping puts the user's word above what the headers say.
func (p *plan) applyMapping(m *Mapping) error {
	for _, mc := range m.Columns {
		r, _ := roleNamed(mc.Role)
		i := p.findColumn(mc.Column)
		if i < 0 {
			return fmt.Errorf("%s: no column %q; columns are %s", p.at(), mc.Column, p.columnList())
		}
		for k := range p.cols {
			switch {
			case p.cols[k].Role != r || k == i || p.mapped(k):
			case r == header.Speed: // others stay, behind it
				p.cols[k].Weight = min(p.cols[k].Weight, 1)
			default:
				p.cols[k].Role = header.NoRole
			}
		}
		h := &p.cols[i]
		h.Role, h.Weight, h.Derived = r, header.Mapped, false
		if mc.Source != "" {
			h.Source = mc.Source
		}
		if u, ok := header.UnitNamed(mc.Unit, r.Quantity()); ok {
			h.Unit = u
			p.settled[i] = true
		}
		if mc.Unit != "" && r == header.Time {
			p.forms[i] = h.Unit.Name
			if slices.Contains(clock.Forms, mc.Unit) {
				p.forms[i] = mc.Unit
			}
		}
	}
	return nil
}

func (p *plan) mapped(k int) bool { return p.cols[k].Weight == header.Mapped }

// findColumn finds a column by its header, without regard to case where that
// is clear, by its header without the unit, or by number; -1 for none.
func (p *plan) findColumn(name string) int {
	if i := slices.IndexFunc(p.cols, func(h header.Heading) bool { return h.Raw == name }); i >= 0 && name != "" {
		return i
	}
	alike := func(h header.Heading) bool {
		return strings.EqualFold(h.Raw, name) || strings.EqualFold(strings.Join(h.Words, " "), name)
	}
	if i := slices.IndexFunc(p.cols, alike); i >= 0 {
		if slices.ContainsFunc(p.cols[i+1:], alike) {
			return -1
		}
		return i
	}
	s, numbered := strings.CutPrefix(name, "#")
	n, err := strconv.Atoi(s)
	if err != nil || n < 1 || n > len(p.cols) || !numbered && p.header > 0 {
		return -1
	}
	return n - 1
}

// singleRoles are those of which the best column is taken.
var singleRoles = []header.Role{header.Lat, header.Lon, header.Alt, header.Course,
	header.VelN, header.VelE, header.VelU, header.VelD, header.SpeedSD, header.PosSD, header.HDOP, header.Sats,
	header.AccX, header.AccY, header.AccZ, header.AccLong, header.Distance}

// chooseSlots decides which columns are kept.
func (p *plan) chooseSlots() {
	hemispheres := map[header.Role]header.Role{header.Lat: header.NS, header.Lon: header.EW}
	for _, r := range singleRoles {
		if i := p.find(r); i >= 0 {
			s := p.slot(i)
			if letter, ok := hemispheres[r]; ok {
				s.hemi = p.find(letter)
			}
			p.slots = append(p.slots, s)
		}
	}
	for i, h := range p.cols {
		switch h.Role {
		case header.Speed:
			if p.hasNumbers(i) {
				p.slots = append(p.slots, p.slot(i))
			}
		case header.Lap, header.Mark:
			p.marks = append(p.marks, i)
		case header.Valid:
			p.valid = i
		}
	}
	p.nameSources()
}

// slot is a column to be kept.
func (p *plan) slot(i int) *slot {
	s := newSlot(i, p.cols[i])
	q := s.h.Role.Quantity()
	s.own = s.h.Known() && !p.settled[i] && (q == header.Velocity || q == header.Acceleration)
	return s
}

// find gives the column that holds a role most surely and has values, or -1.
func (p *plan) find(r header.Role) int {
	best := -1
	for i, h := range p.cols {
		if h.Role == r && (best < 0 || h.Weight > p.cols[best].Weight) && p.hasNumbers(i) {
			best = i
		}
	}
	return best
}

// hasNumbers reports whether most cells of a column hold a value of its role.
func (p *plan) hasNumbers(i int) bool {
	s := newSlot(i, p.cols[i])
	cells := text.Column(p.rows, i)
	return 2*count(cells, func(c []byte) bool {
		if s.h.Role == header.NS || s.h.Role == header.EW {
			return text.IsHemisphere(c)
		}
		_, ok := s.read(c, nil, p.decimal)
		return ok
	}) > len(cells)
}

// count is the number of cells that are so.
func count(cells [][]byte, so func([]byte) bool) int {
	n := 0
	for _, c := range cells {
		if so(c) {
			n++
		}
	}
	return n
}

// busWords are of columns that a vehicle's bus gives beside its speed.
var busWords = header.Words(`rpm* throttle* coolant* gear* brake* odom* obd* ecu* engine drehzahl pedal`)

// nameSources says what measured each speed where its header does not.
func (p *plan) nameSources() {
	var source recording.Source
	switch {
	case p.find(header.Lat) >= 0 && p.find(header.Lon) >= 0:
		source = recording.GNSS
	case slices.ContainsFunc(p.cols, func(h header.Heading) bool { return busWords.In(h.Words) }),
		header.SourceOf(header.WordsOf(p.name)) == recording.Wheel:
		source = recording.Wheel
	}
	for _, s := range p.slots {
		if s.h.Role == header.Speed && s.h.Source == "" {
			s.h.Source = source
		}
	}
}

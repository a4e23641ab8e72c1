package csv

import (
	"math"

	"fromrest/pkg/recording"
)

// guessRoles reads by their values the columns that no header explains: the
// time, the position, a speed that agrees with the position, three axes that
// feel one g. Where the header is missing and one column is left beside the
// time, it is the speed, in a unit still to be told.
func (p *plan) guessRoles() {
	if !p.hasRole(roleTime) && !(p.hasRole(roleHour) && p.hasRole(roleMinute)) {
		p.guessTime()
	}
	if p.hasRole(roleSpeed) || p.d.header > 0 && (p.hasRole(roleAccX) || p.hasRole(roleAccLong)) {
		return
	}
	if !p.hasRole(roleLat) && !p.hasRole(roleLon) {
		p.guessPosition()
	}
	if p.d.header > 0 && !p.hasRole(roleLat) {
		return
	}
	p.guessSpeed()
}

func (p *plan) hasRole(r role) bool {
	for i := range p.cols {
		if p.cols[i].role == r {
			return true
		}
	}
	return false
}

// guessTime takes the columns that rise as a clock does.
func (p *plan) guessTime() {
	date := -1
	for i := range p.cols {
		h := &p.cols[i]
		if h.role != noRole || p.mapped(i) {
			continue
		}
		if date < 0 && p.isDates(i) {
			h.role, date = roleDate, i
		}
	}
	for i := range p.cols {
		h := &p.cols[i]
		if h.role != noRole || p.mapped(i) || h.hasUnit && h.unit.q != duration {
			continue
		}
		c := newClock(p.d, p.cols, i, date, -1, "")
		if c == nil {
			continue
		}
		c.measure(p.d.rows)
		if c.valid > 0.9 && c.back < 0.02 && (c.distinct > 0.5 || c.spread) && c.jitter < 1 && !p.isCounter(i) {
			h.role, h.weight = roleTime, 1
		}
	}
}

// isCounter recognises a running number: every row one more.
func (p *plan) isCounter(i int) bool {
	v := p.sample(i)
	if len(v) < 2 || len(p.cols) < 3 {
		return false
	}
	for k := 1; k < len(v); k++ {
		if v[k]-v[k-1] != 1 {
			return false
		}
	}
	return true
}

func (p *plan) isDates(i int) bool {
	n, good := 0, 0
	for _, c := range cellsOf(p.d.rows, i) {
		n++
		if st, ok := parseStamp(c); ok && st.date && !st.clock && !allDigits(c) {
			good++
		}
	}
	return n > 0 && good*10 >= n*9
}

// sample gives the numbers of a column in the sample, NaN where there is none.
func (p *plan) sample(i int) []float64 {
	out := make([]float64, len(p.d.rows))
	s := &slot{col: i, hemi: -1}
	for k, f := range p.d.rows {
		if v, ok := s.read(field(f, i), f, p.d.decimal); ok {
			out[k] = v
		} else {
			out[k] = math.NaN()
		}
	}
	return out
}

// guessPosition looks for two neighbouring columns that are fine and move
// little, as latitude and longitude do.
func (p *plan) guessPosition() {
	like := func(i int, limit float64) bool {
		if p.cols[i].role != noRole || p.mapped(i) || printedStep(cellsOf(p.d.rows, i), p.d.decimal) < 5 {
			return false
		}
		lo, hi, n := math.Inf(1), math.Inf(-1), 0
		for _, v := range p.sample(i) {
			if v == v && v != 0 {
				lo, hi = min(lo, v), max(hi, v)
				n++
			}
		}
		return n > 1 && lo >= -limit && hi <= limit && hi-lo < 2 && hi > lo && max(math.Abs(lo), math.Abs(hi)) > 0.5
	}
	for i := 0; i+1 < len(p.cols); i++ {
		if like(i, 90) && like(i+1, 180) {
			p.cols[i].role, p.cols[i+1].role = roleLat, roleLon
			return
		}
	}
}

// guessSpeed looks for the column that agrees with the change of position, or
// for the only one there is.
func (p *plan) guessSpeed() {
	var left []int
	for i := range p.cols {
		if p.cols[i].role != noRole || p.mapped(i) || p.isCounter(i) || !p.hasNumbers(i) {
			continue
		}
		if v := p.sample(i); isConstant(v) {
			continue
		}
		left = append(left, i)
	}
	if p.hasRole(roleLat) && p.hasRole(roleLon) {
		for _, i := range left {
			if p.agrees(i) {
				p.cols[i].role, p.cols[i].weight, p.cols[i].source = roleSpeed, 2, recording.GNSS
				return
			}
		}
		return
	}
	if p.d.header > 0 {
		return
	}
	for k := 0; k+2 < len(left); k++ {
		x, y, z := &slot{v: p.sample(left[k])}, &slot{v: p.sample(left[k+1])}, &slot{v: p.sample(left[k+2])}
		if g, _ := gravityUnit(x, y, z); g > 0 && left[k+2] == left[k]+2 {
			p.cols[left[k]].role, p.cols[left[k]+1].role, p.cols[left[k]+2].role = roleAccX, roleAccY, roleAccZ
			left = append(left[:k], left[k+3:]...)
			break
		}
	}
	if len(left) == 1 {
		p.cols[left[0]].role, p.cols[left[0]].weight = roleSpeed, 2
	}
}

func isConstant(v []float64) bool {
	for _, x := range v {
		if x == x && x != v[0] {
			return false
		}
	}
	return true
}

// agrees reports whether the column is the speed of the positions in some unit.
func (p *plan) agrees(i int) bool {
	clocks := findClocks(p.d, p.cols, nil)
	if len(clocks) == 0 {
		return false
	}
	t := &table{decimal: p.d.decimal, rec: &recording.Recording{}}
	s := &slot{v: p.sample(i)}
	for k, c := range p.cols {
		if c.role == roleLat || c.role == roleLon {
			g := &slot{col: k, h: c, v: p.sample(k)}
			t.degrees(g)
			t.slots = append(t.slots, g)
		}
	}
	for _, f := range p.d.rows {
		ns, ok := clocks[0].read(f)
		if n := len(t.nano); !ok || n > 0 && ns < t.nano[n-1] {
			if n == 0 {
				return false
			}
			ns = t.nano[n-1]
		}
		t.nano = append(t.nano, ns)
	}
	_, ok := t.againstPosition(s)
	return ok
}

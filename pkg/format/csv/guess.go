package csv

import (
	"math"
	"slices"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/format/csv/text"
	"fromrest/pkg/recording"
)

// guessRoles reads by their values the columns that no header explains: the
// time, the position, a speed that agrees with the position, three axes that
// feel one g. Where the header is missing and one column is left beside the
// time, it is the speed, in a unit still to be told.
func (p *plan) guessRoles() {
	if p.header == 0 && !p.has(header.Lat) && !p.has(header.Lon) {
		p.guessPosition(1) // a straight drive's latitude rises as a clock does, and a clock stands first
	}
	if !p.has(header.Time) && (!p.has(header.Hour) || !p.has(header.Minute)) {
		p.guessTime()
	} else {
		p.guessEpoch()
	}
	p.guessAxes()
	if p.has(header.Speed) || p.header > 0 && (p.has(header.AccX) || p.has(header.AccLong)) {
		return
	}
	if !p.has(header.Lat) && !p.has(header.Lon) {
		p.guessPosition(0)
	}
	if p.header == 0 || p.has(header.Lat) {
		p.guessSpeed()
	}
}

func (p *plan) has(r header.Role) bool {
	return slices.ContainsFunc(p.cols, func(h header.Heading) bool { return h.Role == r })
}

// open reports whether nothing is known of column i.
func (p *plan) open(i int) bool { return p.cols[i].Role == header.NoRole && !p.mapped(i) }

// guessTime takes the columns that rise as a clock does.
func (p *plan) guessTime() {
	date := -1
	for i := range p.cols {
		if date < 0 && p.open(i) && p.isDates(i) {
			p.cols[i].Role, date = header.Date, i
		}
	}
	for i := range p.cols {
		h := &p.cols[i]
		if p.open(i) && (h.Unit.Of == header.None || h.Unit.Of == header.Duration) && clock.Rises(p.sample(), i, date) && !p.isCounter(i) {
			h.Role, h.Weight = header.Time, 1
		}
	}
}

// guessAxes takes columns that are called x, y and z, and no more, for an
// accelerometer's where they feel one g.
func (p *plan) guessAxes() {
	if p.has(header.AccX) || p.has(header.AccLong) {
		return
	}
	var at [3]int
	var axes [3]*slot
	for a, name := range []string{"x", "y", "z"} {
		i := slices.IndexFunc(p.cols, func(h header.Heading) bool {
			return len(h.Words) == 1 && h.Words[0] == name && h.Unit.Of == header.None
		})
		if i < 0 || !p.open(i) {
			return
		}
		at[a], axes[a] = i, &slot{v: p.values(i)}
	}
	if g, unit := gravityUnit(axes[:]); g > 0 && unit != inCounts {
		for a, i := range at {
			p.cols[i].Role, p.cols[i].Weight = header.AccX+header.Role(a), 1
		}
	}
}

// guessEpoch takes a column of no known name that counts from 1970 for a clock beside
// those that the header names: a stamp of the host or of a video's name may be there.
func (p *plan) guessEpoch() {
	for i := range p.cols {
		if h := &p.cols[i]; p.open(i) && (h.Unit.Of == header.None || h.Unit.Of == header.Duration) && clock.Counts1970(p.sample(), i) {
			h.Role, h.Weight = header.Time, 1
		}
	}
}

// isCounter recognises a running number: every row one more.
func (p *plan) isCounter(i int) bool {
	v := p.values(i)
	for k := 1; k < len(v); k++ {
		if v[k]-v[k-1] != 1 {
			return false
		}
	}
	return len(v) >= 2 && len(p.cols) >= 3
}

// isDates reports whether nearly all cells hold a date alone.
func (p *plan) isDates(i int) bool {
	cells := text.Column(p.rows, i)
	n := count(cells, func(c []byte) bool {
		st, ok := text.ParseStamp(c)
		return ok && st.Dated && !st.Clocked && !text.AllDigits(c)
	})
	return n > 0 && float64(n) >= nearlyAll*float64(len(cells))
}

// values gives the numbers of a column in the sample, NaN where there is none.
func (p *plan) values(i int) []float64 {
	out := make([]float64, len(p.rows))
	s := &slot{col: i, hemi: -1}
	for k, f := range p.rows {
		out[k], _ = s.read(text.Field(f, i), f, p.decimal)
	}
	return out
}

// guessPosition looks for two neighbouring columns, from one on, that are fine and move
// little, as latitude and longitude do.
func (p *plan) guessPosition(from int) {
	like := func(i int, limit float64) bool {
		if !p.open(i) || text.Decimals(text.Column(p.rows, i), p.decimal) < fineDecimals {
			return false
		}
		lo, hi := math.Inf(1), math.Inf(-1)
		for _, v := range p.values(i) {
			if v == v && v != 0 {
				lo, hi = min(lo, v), max(hi, v)
			}
		}
		return lo >= -limit && hi <= limit && hi-lo < mostTravel && hi > lo && max(math.Abs(lo), math.Abs(hi)) > leastAngle
	}
	for i := from; i+1 < len(p.cols); i++ {
		if like(i, 90) && like(i+1, 180) {
			p.cols[i].Role, p.cols[i+1].Role = header.Lat, header.Lon
			return
		}
	}
}

// guessSpeed looks for the column that agrees with the change of position, or
// for the only one there is.
func (p *plan) guessSpeed() {
	var left []int
	for i := range p.cols {
		if p.open(i) && !p.isCounter(i) && p.hasNumbers(i) && !isConstant(p.values(i)) {
			left = append(left, i)
		}
	}
	if p.has(header.Lat) && p.has(header.Lon) {
		if k := slices.IndexFunc(left, p.agrees); k >= 0 {
			h := &p.cols[left[k]]
			h.Role, h.Weight, h.Source = header.Speed, 2, recording.GNSS
		}
		return
	}
	if p.header > 0 {
		return
	}
	for k := 0; k+2 < len(left); k++ {
		var axes [3]*slot
		for a := range axes {
			axes[a] = &slot{v: p.values(left[k+a])}
		}
		if g, _ := gravityUnit(axes[:]); g > 0 && left[k+2] == left[k]+2 {
			for a := range axes {
				p.cols[left[k+a]].Role = header.AccX + header.Role(a)
			}
			left = slices.Delete(left, k, k+3)
			break
		}
	}
	if len(left) == 1 {
		p.cols[left[0]].Role, p.cols[left[0]].Weight = header.Speed, 2
	}
}

func isConstant(v []float64) bool {
	return !slices.ContainsFunc(v, func(x float64) bool { return x == x && x != v[0] })
}

// agrees reports whether the column is the speed of the positions in some unit.
func (p *plan) agrees(i int) bool {
	clocks := clock.Find(p.sample())
	if len(clocks) == 0 {
		return false
	}
	t := &table{plan: &plan{}, rec: &recording.Recording{}}
	for k, h := range p.cols {
		if h.Role == header.Lat || h.Role == header.Lon {
			g := &slot{col: k, h: h, v: p.values(k)}
			t.degrees(g)
			t.slots = append(t.slots, g)
		}
	}
	last := int64(math.MinInt64)
	for _, f := range p.rows {
		ns, ok := clocks[0].Read(f)
		if !ok && last == math.MinInt64 {
			return false
		}
		if ok && ns > last {
			last = ns
		}
		t.nano = append(t.nano, last)
	}
	return t.againstPosition(&slot{v: p.values(i)}).Of != header.None
}

package csv

import (
	"math"

	"fromrest/pkg/diag"
	"fromrest/pkg/format/csv/clock"
)

// sensor is what one sensor wrote into a table.
type sensor struct {
	nano  []int64
	rows  []int32 // its rows, nil for all
	cols  [][]float64
	speed []float64 // what orders the rows by how quickly values change, nil for nothing
}

func (s *sensor) row(i int) int32 {
	if s.rows == nil {
		return int32(i)
	}
	return s.rows[i]
}

// changed reports whether row i of the sensor differs from the one before.
func (s *sensor) changed(i int) bool {
	a, b := s.row(i-1), s.row(i)
	for _, c := range s.cols {
		if c[a] != c[b] && (c[a] == c[a] || c[b] == c[b]) {
			return true
		}
	}
	return false
}

// refresh finds out whether a sensor's columns are written more often than the
// sensor delivers, the last values being repeated. It returns the rows to keep,
// nil for all: the first row of each change, or, where values are alike for
// longer because the vehicle stands, one row each sensor period. at gives, for
// each kept row, the row whose values belong to it, since columns of one delivery
// can be written a row apart; period is in ns.
//
// Identical values are genuine at standstill and at low speed with coarse
// columns, so the period is taken from the faster half of the log alone.
func (s *sensor) refresh() (keep, at []int32, period float64) {
	n := len(s.rows)
	if s.rows == nil {
		n = len(s.nano)
	}
	fast := math.Inf(-1)
	if s.speed != nil {
		fast = fastest(s.speed) / 2
	}
	if n < leastRepeats || fast == 0 {
		return nil, nil, 0
	}
	times := s.repeats(n, fast)
	if times == nil {
		return nil, nil, 0
	}
	period = clusterPeriod(times)
	last := math.Inf(-1) // ns of the delivery kept last
	for i := range n {
		t := float64(s.nano[s.row(i)] - s.nano[s.row(0)])
		switch {
		case i > 0 && s.changed(i):
			if t-last < sameDelivery*period && len(at) > 0 {
				at[len(at)-1] = s.row(i) // the rest of the same delivery
				continue
			}
		case i > 0 && (t-last < nextDelivery*period || s.speed != nil && math.Abs(s.speed[s.row(i)]) > fast/standingPart):
			continue // held: nothing new is known
		}
		keep = append(keep, s.row(i))
		at = append(at, s.row(i))
		last = t
	}
	if float64(len(keep)) > worthJoining*float64(n) {
		return nil, nil, 0
	}
	return keep, at, period
}

// repeats returns the times between changes in ns, nil where rows are seldom
// repeated.
func (s *sensor) repeats(n int, fast float64) (times []float64) {
	long, start := 0, 0
	rows := 0 // that lie in the times
	for i := 1; i < n && len(times) < enoughChanges; i++ {
		if !s.changed(i) {
			continue
		}
		if start > 0 && (s.speed == nil || math.Abs(s.speed[s.row(i)]) >= fast) {
			times = append(times, float64(s.nano[s.row(i)]-s.nano[s.row(start)]))
			rows += i - start
			if i-start > 1 {
				long++
			}
		}
		start = i
	}
	k := float64(len(times))
	if len(times) < leastChanges || float64(long) < oftenRepeated*k || float64(rows) < rowsAChange*k {
		return nil
	}
	return times
}

// clusterPeriod is the usual time between deliveries, where a delivery may show
// as two changes close together.
func clusterPeriod(times []float64) float64 {
	top := quantile(times, 3, 4)
	var joined []float64
	sum := 0.0
	for _, t := range times {
		sum += t
		if sum >= top*wholeDelivery {
			joined = append(joined, sum)
			sum = 0
		}
	}
	return clock.Median(joined)
}

// spreadTicks gives rows that share a coarse time stamp evenly spaced instants
// inside it.
func (t *table) spreadTicks() {
	usual := t.clock.PerTick
	if usual == 0 {
		return
	}
	tick := int64(t.clock.Median)
	for i, j := 0, 0; i < len(t.nano); i = j {
		base := t.nano[i]
		for j < len(t.nano) && t.nano[j] == base {
			j++
		}
		length, n, skip := tick, j-i, 0
		if j < len(t.nano) {
			length = min(t.nano[j]-base, tick*3/2)
		}
		if i == 0 { // the log may begin inside a tick
			skip = max(usual-n, 0)
		}
		if j == len(t.nano) {
			n = max(usual, n)
		}
		t.ticks = append(t.ticks, int32(i))
		t.tickNano = append(t.tickNano, base)
		for k := i; k < j; k++ {
			t.nano[k] = base + length*int64(k-i+skip)/int64(n+skip)
		}
	}
	t.rec.Problems.Addf("clock", diag.Suspect, 1, "about %d rows share each time stamp of column %q; they were spread evenly over it",
		usual, t.clock.Name)
}

// atTicks gives each time stamp with the first row that carries it and is among
// rows, which are in order, nil for all.
func (t *table) atTicks(rows []int32) (nano []int64, at []int32) {
	if rows == nil {
		return t.tickNano, t.ticks
	}
	for i, first := range t.ticks {
		for len(rows) > 0 && rows[0] < first {
			rows = rows[1:]
		}
		if len(rows) == 0 {
			break
		}
		if i+1 < len(t.ticks) && rows[0] >= t.ticks[i+1] {
			continue // every row of the stamp is damaged
		}
		nano, at = append(nano, t.tickNano[i]), append(at, rows[0])
	}
	return nano, at
}

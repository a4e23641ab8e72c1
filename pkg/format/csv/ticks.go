package csv

import (
	"fromrest/pkg/diag"
)

// spreadTicks gives rows that share a coarse time stamp evenly spaced instants
// inside it.
func (t *table) spreadTicks() {
	if !t.clock.spread {
		return
	}
	tick := int64(t.clock.median)
	for i := 0; i < len(t.nano); {
		j := i + 1
		for j < len(t.nano) && t.nano[j] == t.nano[i] {
			j++
		}
		length, n, skip := tick, j-i, 0
		if j < len(t.nano) {
			length = min(t.nano[j]-t.nano[i], tick*3/2)
		}
		if i == 0 && n < t.clock.perTick { // the log begins inside a tick
			skip = t.clock.perTick - n
		}
		if j == len(t.nano) && n < t.clock.perTick {
			n = t.clock.perTick
		}
		base := t.nano[i]
		t.ticks = append(t.ticks, int32(i))
		t.tickNano = append(t.tickNano, base)
		for k := i; k < j; k++ {
			t.nano[k] = base + length*int64(k-i+skip)/int64(n+skip)
		}
		i = j
	}
	t.rec.Problems.Addf("clock", diag.Suspect, 1, "about %d rows share each time stamp of column %q; they were spread evenly over it",
		t.clock.perTick, t.clock.name)
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

package csv

import (
	"slices"

	"fromrest/pkg/recording"
)

// trail is how many rows outside the part are kept for judging the order of the
// rows that follow.
const trail = 4096

// forget drops rows outside the part once twice the trail has gathered. Rows stay
// in order, so those outside are before the part or, once it has ended, behind it.
func (t *table) forget() {
	if t.cut.Part.All() {
		return
	}
	k := len(t.nano)
	t.inside = min(t.inside, k) // rows may have been taken out again
	if t.cut.Take(recording.Nano(t.instant(t.nano[k-1]))) {
		if t.inside == 0 && k > 1 {
			t.drop(0, k-1)
			k = 1
		}
		t.inside = k
		return
	}
	if k-t.inside >= 2*trail {
		t.drop(t.inside, k-trail)
	}
}

// drop takes out the rows from i to before j.
func (t *table) drop(i, j int) {
	t.nano = slices.Delete(t.nano, i, j)
	for _, s := range t.slots {
		if s.v != nil {
			s.v = slices.Delete(s.v, i, j)
		}
	}
	if t.overMidnight > j {
		t.overMidnight -= j - i
	}
}

// limit leaves only the rows of the part, once their instants are settled.
func (t *table) limit() error {
	from, to, ok := t.cut.Ends()
	if t.cut.Part.All() || !ok {
		return nil
	}
	i, _ := slices.BinarySearch(t.nano, from)
	j, _ := slices.BinarySearch(t.nano, to)
	if i >= j {
		return t.cut.Nothing()
	}
	t.drop(j, len(t.nano))
	t.drop(0, i)
	a, _ := slices.BinarySearch(t.ticks, int32(i))
	b, _ := slices.BinarySearch(t.ticks, int32(j))
	t.ticks, t.tickNano = t.ticks[a:b], t.tickNano[a:b]
	for k := range t.ticks {
		t.ticks[k] -= int32(i)
	}
	return nil
}

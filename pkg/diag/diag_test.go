package diag

import "testing"

func TestListKeepsFirstAndCountsAll(t *testing.T) {
	var a, b List
	for i := 1; i <= 250; i++ {
		a.Addf("checksum", Dropped, i, "bad")
	}
	b.Addf("order", Note, 7, "late")
	b.Merge(&a)
	b.Merge(&a)
	gs := b.Groups()
	if len(gs) != 2 || gs[0].Kind != "order" || b.Count(Note) != 1 {
		t.Fatalf("%d groups, %d notes", len(gs), b.Count(Note))
	}
	g := gs[1]
	if g.Count != 500 || b.Count(Dropped) != 500 || len(g.Kept) != 100 || g.First().Line != 1 || g.Kept[99].Line != 100 {
		t.Errorf("count %d, kept %d, first %s, last %s", g.Count, len(g.Kept), g.First().Place(), g.Kept[len(g.Kept)-1].Place())
	}
}

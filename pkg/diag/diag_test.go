package diag

import (
	"reflect"
	"testing"
)

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

func TestListIsTheSameAfterEncoding(t *testing.T) {
	var a, b, empty List
	for i := 1; i <= 250; i++ {
		a.Addf("checksum", Dropped, i, "bad \xff\x00 bytes")
	}
	a.Add(Problem{Kind: "truncated", Effect: Note, Byte: 1 << 40})
	for _, l := range []*List{&a, &empty} {
		data, err := l.MarshalBinary()
		if err != nil {
			t.Fatal(err)
		}
		if err := b.UnmarshalBinary(data); err != nil || !reflect.DeepEqual(*l, b) {
			t.Errorf("%v: %+v\nwant %+v", err, b, *l)
		}
	}
	data, _ := a.MarshalBinary()
	_ = b.UnmarshalBinary(data)
	b.Addf("checksum", Dropped, 9, "one more")
	if n := b.Count(Dropped); n != 251 {
		t.Errorf("%d problems after one more", n)
	}
	if err := b.UnmarshalBinary(data[:len(data)/2]); err == nil || b.Count(Dropped) != 251 {
		t.Errorf("half of the bytes: %v, %d problems", err, b.Count(Dropped))
	}
}

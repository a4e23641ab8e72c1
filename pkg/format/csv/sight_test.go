package csv

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

// A table that asks for a unit shows its rows and what was found; with the unit it is read.
func TestSighted(t *testing.T) {
	var b strings.Builder
	b.WriteString("stamp;how_fast;note, of mine\n")
	for i := range 60 {
		fmt.Fprintf(&b, "%d;%d;x\n", 1000+100*i, i)
	}
	s, err := Sighted(context.Background(), strings.NewReader(b.String()), "", 3)
	if err != nil || s.Asks == "" || len(s.Rows) != 3 || s.Rows[1][0] != "1100" || len(s.Columns) != 3 || s.Columns[1].Column != "how_fast" {
		t.Fatalf("%+v %v", s, err)
	}
	s.Columns[0].Role, s.Columns[0].Unit = "time", "ms"
	s.Columns[1].Role, s.Columns[1].Unit = "speed", "km/h"
	s.Columns[2].Role = "mark"
	m, err := NewMapping(s.Columns)
	if err != nil || m.String() != `time=stamp:ms,speed=how_fast:km/h,mark="note, of mine"` {
		t.Fatalf("%v %v", m, err)
	}
	s, err = Sighted(context.Background(), strings.NewReader(b.String()), m.String(), 3)
	if err != nil || s.Asks != "" || s.Columns[1] != (MappedColumn{"speed", "how_fast", "km/h", ""}) {
		t.Errorf("%+v %v", s, err)
	}
	// What is found by itself is what --columns-found prints.
	known := strings.Replace(b.String(), "stamp;how_fast", "time (ms);speed (km/h)", 1)
	rec, err := Read(context.Background(), strings.NewReader(known), "x", Options{})
	if err != nil {
		t.Fatal(err)
	}
	s, err = Sighted(context.Background(), strings.NewReader(known), "", 1)
	if err != nil || s.Asks != "" {
		t.Fatalf("%+v %v", s, err)
	}
	if m, err = NewMapping(s.Columns); err != nil || m.String() != strings.ReplaceAll(rec.Columns, ", ", ",") {
		t.Errorf("%v, want %s: %v", m, rec.Columns, err)
	}
	if _, err := Sighted(context.Background(), strings.NewReader("no table\n"), "", 3); err == nil {
		t.Error("what is no table is shown")
	}
	for _, c := range []MappedColumn{{"speed", "v", "kg", ""}, {"fuel", "v", "", ""}, {"speed", "a\"b", "", ""}} {
		if _, err := NewMapping([]MappedColumn{c}); err == nil {
			t.Errorf("%+v is taken", c)
		}
	}
}

package tomltext

import "testing"

// A key goes out with its line, and nothing else moves.
func TestUnset(t *testing.T) {
	const text = "title = \"day\" # kept\nplace = \"x\"\n\n[vehicle]\nplace = \"kept\"\nmass_kg = 2.0\n\n[[run]]\nid = \"a#1\"\nfuel_l = 3.0\n\n[[run]]\nid = \"a#2\"\nfuel_l = 4.0\n"
	n := New(text)
	if !n.Unset("", "place") || !n.Unset("vehicle", "mass_kg") || !n.UnsetIn(Entry{"run", "id", "a#2"}, "fuel_l") {
		t.Fatal("a key is not found")
	}
	if n.Unset("", "mass_kg") || n.Unset("wheels", "place") || n.UnsetIn(Entry{"run", "id", "a#3"}, "fuel_l") {
		t.Error("a key is found that is not there")
	}
	const want = "title = \"day\" # kept\n\n[vehicle]\nplace = \"kept\"\n\n[[run]]\nid = \"a#1\"\nfuel_l = 3.0\n\n[[run]]\nid = \"a#2\"\n"
	if n.String() != want {
		t.Errorf("%q, want %q", n, want)
	}
}

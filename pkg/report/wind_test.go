package report

import (
	"strings"
	"testing"

	"fromrest/pkg/sheet"
)

// A wind that was read at several times is said with each, in the head and in the paragraph.
func TestWindsAreSaid(t *testing.T) {
	sh, err := sheet.Parse("[conditions]\nwind_mps = 9\nwind_from_deg = 10\ngust_mps = 12\n[[wind]]\nat = \"09:30\"\nmps = 2\nfrom_deg = 64\n[[wind]]\nat = \"10:45\"\nmps = 3.5\nfrom_deg = 70\ngust_mps = 5\n", "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	want := "2 m/s from 064° at 09:30; 3.5 m/s from 070°, gusts 5 m/s at 10:45 UTC"
	if s := HeadOf(sh).Conditions; s != "wind "+want {
		t.Error(s)
	}
	if s := conditionsSentence(sh); !strings.Contains(s, want) || strings.Contains(s, "9 m/s") {
		t.Error(s)
	}
}

package sheet

import (
	"math"
	"strings"
	"testing"
	"time"
)

func TestWindAtSeveralTimes(t *testing.T) {
	s, err := Parse("[[wind]]\nat = \"10:30\"\nmps = 4.0\nfrom_deg = 90\n[[wind]]\nat = \"09:30\"\nmps = 4.0\nfrom_deg = 0\nu95_mps = 0.6\n", "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		at                   string
		speed, from, between float64
	}{{"09:00", 4, 0, 0}, {"09:30", 4, 0, 0}, {"10:00", 4 / math.Sqrt2, 45, 4 * math.Sqrt2 / 2}, {"10:30", 4, 90, 0}, {"23:00", 4, 90, 0}} {
		at, _ := time.Parse("15:04", c.at)
		w, ok := s.WindAt(at)
		if !ok || math.Abs(w.Speed-c.speed) > 1e-9 || math.Abs(w.From-c.from) > 1e-9 || math.Abs(w.Between-c.between) > 1e-9 {
			t.Errorf("%s: %+v, want %g m/s from %g°, %g between", c.at, w, c.speed, c.from, c.between)
		}
	}
	if _, ok := (&Sheet{}).WindAt(time.Time{}); ok {
		t.Error("a wind without a reading")
	}
	_, err = Parse("[[wind]]\nat = \"soon\"\nmps = 400\nfrom_deg = 0\n", "s.toml")
	if err == nil || !strings.Contains(err.Error(), "line 2") || !strings.Contains(err.Error(), "line 3") {
		t.Errorf("%v", err)
	}
}

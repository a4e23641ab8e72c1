package sheet

import (
	"strings"
	"testing"
	"time"
)

// What was written on the card by number is the run's of that place; its own entry goes before it, and
// a row that nothing was written in asks for no run.
func TestCardByNumber(t *testing.T) {
	text := `[[card]]
run = 1 # calm, out
oil_c = 90
motor_c = 40
start_method = "idle"
[[card]]
run = 2
spoiled = "a gust"
remark = "from the left"
[[card]]
run = 3
[[run]]
id = "a#1"
oil_c = 95
`
	s, err := Parse(text, "s.toml")
	if err != nil {
		t.Fatal(err)
	}
	logs := []Log{{Name: "a", Path: "a.nmea"}}
	runs := []Run{{ID: "a#2", Launch: time.Date(2026, 5, 9, 9, 9, 0, 0, time.UTC)}, {ID: "a#1", Launch: time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)}}
	r, err := s.Resolve(logs, runs)
	if err != nil {
		t.Fatal(err)
	}
	out, err := r.Assign([]int{2, 1}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if n := out[1].Noted; *n.Oil != 95 || *n.Motor != 40 || n.Start != "idle" {
		t.Errorf("%+v", n)
	}
	if out[0].Excluded != "a gust" || out[0].Remark != "from the left" || out[1].Excluded != "" {
		t.Errorf("%+v", out)
	}
	for want, more := range map[string]string{"there is no run 4": "[[card]]\nrun = 4\noil_c = 9\n", "already on the card": "[[card]]\nrun = 1\n", "count from 1": "[[card]]\nrun = 0\n"} {
		s, err := Parse(text+more, "s.toml")
		if err == nil {
			r, _ := s.Resolve(logs, runs)
			_, err = r.Assign([]int{2, 1}, nil)
		}
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "line 1") {
			t.Errorf("%s: %v", want, err)
		}
	}
}

package report

import (
	"bytes"
	"strings"
	"testing"

	"fromrest/pkg/sheet"
)

// A past session is offered with its numbers and taken only once it stands in the sheet:
// one of the same vehicle before any other.
func TestPastSessionsAreOffered(t *testing.T) {
	stored := func(vehicle string) []byte {
		res := twoModes()
		res.Sheet = &sheet.Sheet{Vehicle: sheet.Vehicle{Name: vehicle}}
		var b bytes.Buffer
		if err := StoredJSON(&b, res); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	res := twoModes()
	res.Sheet = &sheet.Sheet{Vehicle: sheet.Vehicle{Name: "van"}}
	bodies := [][]byte{stored("van"), stored("van"), stored("truck"), []byte("{"), []byte("{}")}
	line := Offer(res, bodies)
	for _, want := range []string{"In 2 past sessions of this vehicle runs scattered by 0.", "[[past]] target = \"0-30 mph\", from = \"rollout\", scatter_s = 0.", `vehicle = "van"`} {
		if !strings.Contains(line, want) {
			t.Errorf("%q lacks %q", line, want)
		}
	}
	if line := Offer(res, bodies[2:]); !strings.Contains(line, "In 1 past session of other vehicles") || !strings.Contains(line, `vehicle = ""`) {
		t.Errorf("another vehicle: %q", line)
	}
	_, table, _ := strings.Cut(strings.TrimSuffix(line, "."), "[[past]] ")
	sh, err := sheet.Parse("[[past]]\n"+strings.ReplaceAll(table, ", ", "\n"), "s.toml")
	if err != nil || len(sh.Past) != 1 || sh.Past[0].Vehicle != "van" {
		t.Fatalf("what is offered is no sheet: %v", err)
	}
	res.Sheet = sh
	if Offer(res, bodies) != "" {
		t.Error("offered although the sheet has one")
	}
}

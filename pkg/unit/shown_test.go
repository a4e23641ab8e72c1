package unit_test

import (
	"testing"

	"fromrest/pkg/unit"
)

func TestPrinted(t *testing.T) {
	for in, want := range map[string]string{"0-60 mph": "0–60 mph", "80-120 km/h": "80–120 km/h", "1/4 mile": "1/4 mile", "60 ft": "60 ft", "full-1": "full-1", "": "", "1-": "1-"} {
		if got := unit.Printed(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

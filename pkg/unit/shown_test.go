package unit_test

import (
	"testing"

	"fromrest/pkg/unit"
)

func TestPrinted(t *testing.T) {
	for in, want := range map[string]string{"0-60 mph": "0–60 mph", "80-120 km/h": "80–120 km/h", "1/4 mile": "1/4 mile", "full-1": "full-1", "": "", "1-": "1-",
		"at 0-60 mph (0-100 km/h) it is -0.02 s": "at 0–60 mph (0–100 km/h) it is −0.02 s", "2026-05-09 12 mph": "2026-05-09 12 mph", "run-0-60 mph": "run-0-60 mph",
		"a -1\n-2 b --at -x 1e-5": "a −1\n−2 b --at -x 1e-5"} {
		if got := unit.Printed(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

package unit_test

import (
	"math"
	"testing"

	"fromrest/pkg/unit"
)

func TestHeading(t *testing.T) {
	for in, want := range map[float64]string{64.2: "064°", 359.7: "000°", -10: "350°", math.NaN(): ""} {
		if got := unit.Heading(in); got != want {
			t.Errorf("%v: %q, want %q", in, got, want)
		}
	}
}

func TestPrinted(t *testing.T) {
	for in, want := range map[string]string{"0-60 mph": "0–60 mph", "80-120 km/h": "80–120 km/h", "1/4 mile": "1/4 mile", "full-1": "full-1", "": "", "1-": "1-",
		"at 0-60 mph (0-100 km/h) it is -0.02 s": "at 0–60 mph (0–100 km/h) it is −0.02 s", "2026-05-09 12 mph": "2026-05-09 12 mph", "run-0-60 mph": "run-0-60 mph",
		"a -1\n-2 b --at -x 1e-5": "a −1\n−2 b --at -x 1e-5"} {
		if got := unit.Printed(in); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

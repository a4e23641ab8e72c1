package uncert

import (
	"math"
	"testing"
)

func TestCombine(t *testing.T) {
	// GUM example H.1, parts as in the GTC documentation (read at the source);
	// combined 31.671 nm and 16.75 degrees of freedom are computed from them.
	u := []float64{25, 16.599, 6.7, 5.8, 3.9, 2.88679}
	// Parts printed to 0.1 nm leave (6.7 + 5.8 + 3.9)·0.05/31.7 = 0.026 nm open.
	if got := Combine(u...); math.Abs(got-31.671) > 0.026 {
		t.Errorf("H.1 combines to %.4f nm, want 31.671", got)
	}
	// GUM G.4.1 (from memory, agreed by two sources): 1.03 %, 19.0.
	u = []float64{0.25, 0.57, 0.82}
	if got := Combine(u...); math.Abs(got-1.03) > 0.005 {
		t.Errorf("G.4.1 combines to %.4f %%, want 1.03", got)
	}
}

func TestRoundHalfUp(t *testing.T) {
	for _, c := range []struct {
		x    float64
		p    int
		want string
	}{{3.55, 1, "3.6"}, {3.49, 1, "3.5"}, {3.20, 1, "3.2"}, {-3.55, 1, "-3.6"}, {-0.04, 1, "0.0"},
		{math.Copysign(0, -1), 2, "0.00"}, {9.96, 1, "10.0"}, {2.5, 0, "3"}} {
		if got := RoundHalfUp(c.x, c.p); got != c.want {
			t.Errorf("%g to %d places is %q, want %q", c.x, c.p, got, c.want)
		}
	}
	if v, h := Format(5.1176, 0.0996); v != "5.12" || h != "0.10" {
		t.Errorf("5.1176 ± 0.0996 prints as %s ± %s", v, h)
	}
}

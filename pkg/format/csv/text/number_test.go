package text

import "testing"

func TestNumbers(t *testing.T) {
	for in, want := range map[string]float64{"1": 1, "-0.5": -0.5, "+12.25": 12.25, ".5": 0.5, "1e3": 1000, "1.5E-2": 0.015,
		"0.1": 0.1, "123456789012345678901": 123456789012345678901, "\u22124.5": -4.5, "9007199254740993": 9007199254740993} {
		v, rest, ok := Number([]byte(in), '.')
		if !ok || len(rest) > 0 || v != want {
			t.Errorf("%s: %v, rest %q, %v", in, v, rest, ok)
		}
	}
	if v, _, ok := grouped([]byte("1.234,5"), ','); !ok || v != 1234.5 {
		t.Errorf("1.234,5: %v", v)
	}
	if n, _, ok := Scaled([]byte("1392364131182.354"), '.', 1e6); !ok || n != 1392364131182354000 {
		t.Errorf("%d", n)
	}
	if n := testing.AllocsPerRun(100, func() { Number([]byte("13.731513"), '.') }); n > 0 {
		t.Errorf("%v allocations a number", n)
	}
}

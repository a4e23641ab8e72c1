package motion

import (
	"math"
	"testing"
)

// The root of cos x = x is 0.73908513321516 (the Dottie number, OEIS A003957); those of the
// others are exact.
func TestRoot(t *testing.T) {
	for name, c := range map[string]struct {
		lo, hi, want float64
		f            func(float64) float64
	}{
		"cosine":      {0, 1, 0.7390851332151607, func(x float64) float64 { return x - math.Cos(x) }},
		"falling":     {0, 3, math.Sqrt2, func(x float64) float64 { return 2 - x*x }},
		"flat":        {-1, 2, 0, func(x float64) float64 { return x * x * x }},
		"at an end":   {1, 2, 1, func(x float64) float64 { return x - 1 }},
		"steep":       {0, 1, 0.001, func(x float64) float64 { return math.Log(x/0.001 + 1e-300) }},
		"none, above": {2, 3, 2, func(x float64) float64 { return x }},
		"none, below": {2, 3, 3, func(x float64) float64 { return x - 10 }},
	} {
		calls := 0
		got := Root(c.lo, c.hi, 1e-12, func(x float64) float64 { calls++; return c.f(x) })
		if math.Abs(got-c.want) > 1e-6 || name == "cosine" && calls > 12 {
			t.Errorf("%s: %.12f in %d calls, want %.12f", name, got, calls, c.want)
		}
	}
}

func TestTraceLater(t *testing.T) {
	tr := Trace{T: []float64{-1, 0, 1, 2}, S: []float64{0, 0, 1, 4}, V: []float64{0, 0, 2, 4}, A: []float64{0, 2, 2, 2},
		SS: []float64{0, 0, 0, 0}, SV: []float64{1, 1, 1, 1}, SA: []float64{0, 0, 0, 0}}
	got := tr.Later(0.25)
	if got.Len() != 3 || got.T[0] != -1 || got.V[1] != 0.5 || got.V[2] != 2.5 || got.S[2] != 1.75 || got.SV[2] != 1 {
		t.Errorf("a quarter later: %+v", got)
	}
	if tr.Len() != 4 || tr.V[2] != 2 {
		t.Errorf("the trace itself changed: %+v", tr)
	}
	if got := tr.Later(-0.5); got.Len() != 3 || got.T[0] != 0 || got.V[1] != 1 {
		t.Errorf("half a second earlier: %+v", got)
	}
}

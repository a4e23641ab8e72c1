package stats

import (
	"errors"
	"math"
	"testing"
)

// R 4.2.2 on PlantGrowth: aov, TukeyHSD; qtukey.
func TestPlantGrowth(t *testing.T) {
	ctrl := []float64{4.17, 5.58, 5.18, 6.11, 4.50, 4.61, 5.17, 4.53, 5.33, 5.14}
	trt1 := []float64{4.81, 4.17, 4.41, 3.59, 5.87, 3.83, 6.03, 4.89, 4.32, 4.69}
	trt2 := []float64{6.31, 5.12, 5.54, 5.50, 5.37, 5.29, 4.92, 6.15, 5.80, 5.26}
	// One-way analysis of variance of three groups of ten.
	const dfWithin = 27.0
	var means []float64
	within := 0.0
	for _, g := range [][]float64{ctrl, trt1, trt2} {
		s := Describe(g)
		means, within = append(means, s.Mean), within+s.Var()/3
	}
	f := 10 * Describe(means).Var() / within
	near(t, "F", f, 4.84609, 5e-6)
	near(t, "F exceeded with that p", FQuantile(0.01591, 2, dfWithin), f, 2e-3)
	se := math.Sqrt(within / 10)
	for _, c := range []struct {
		x, y    []float64
		diff, p float64
	}{{trt1, ctrl, -.371, .390871144}, {trt2, ctrl, .494, .197995991}, {trt2, trt1, .865, .012006424}} {
		d := Describe(c.x).Mean - Describe(c.y).Mean
		near(t, "difference", d, c.diff, 1e-12)
		near(t, "Tukey p", TukeyP(math.Abs(d)/se, 3, dfWithin), c.p, 2e-7)
	}
	q := TukeyQuantile(.05, 3, dfWithin)
	near(t, "Tukey lo", .865-q*se, .173783949, 1e-6)
	near(t, "Tukey hi", .865+q*se, 1.556216051, 1e-6)
	near(t, "qtukey(.95,3,10)", TukeyQuantile(.05, 3, 10), 3.87677674919, 1e-6)
	// Two means: the studentized range is √2 times Student's t.
	near(t, "qtukey(.95,2,7)", TukeyQuantile(.05, 2, 7), math.Sqrt2*TQuantile(.95, 7), 1e-6)
	near(t, "qtukey(.95,2,1)", TukeyQuantile(.05, 2, 1), math.Sqrt2*TQuantile(.95, 1), 1e-3)
	near(t, "qtukey(.95,2,Inf)", TukeyQuantile(.05, 2, math.Inf(1)), math.Sqrt2*TQuantile(.95, math.Inf(1)), 1e-7)
}

// R 4.2.2 p.adjust.
func TestHolm(t *testing.T) {
	p := []float64{.001, .008, .039, .041, .042}
	for _, c := range []struct {
		name string
		in   []float64
		want []float64
	}{
		{"Holm", p, []float64{.005, .032, .117, .117, .117}},
		{"Holm", []float64{.01, .02, .03, .04, .05}, []float64{.05, .08, .09, .09, .09}},
		{"Holm unordered", []float64{.042, .001, math.NaN(), .041, .008, .039}, []float64{.117, .005, math.NaN(), .117, .032, .117}},
	} {
		for i, got := range Holm(c.in) {
			if math.IsNaN(c.want[i]) {
				if !math.IsNaN(got) {
					t.Errorf("%s: a missing test got p %g", c.name, got)
				}
				continue
			}
			near(t, c.name, got, c.want[i], 1e-12)
		}
	}
}

func TestTooLittleOrNotANumber(t *testing.T) {
	one, nan := []float64{1}, []float64{1, math.NaN()}
	for name, err := range map[string]error{
		"welch":       second(Welch(Describe(one), Describe(sleep1))),
		"permutation": second(TwoSamplePermutation(nil, one, PermutationOptions{})),
	} {
		if !errors.Is(err, ErrTooFew) {
			t.Errorf("%s: %v, want too few values", name, err)
		}
	}
	if _, err := TwoSamplePermutation(nan, one, PermutationOptions{}); !errors.Is(err, ErrNotFinite) {
		t.Errorf("permutation: %v, want not finite", err)
	}
}

func second[T any](_ T, err error) error { return err }

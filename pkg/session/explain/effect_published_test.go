package explain

import (
	"math"
	"testing"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// costs are what grade and wind take from a vehicle of 1 kg without rotating parts.
func costs(r *resistance, grade, wind float64) (g, w cost) {
	c := &RunConditions{Grade: uncert.Value{X: grade}, HeadWind: uncert.Value{X: wind}}
	in := c.influences(r)
	return in[0].base, in[1].base
}

// Computed from the closed forms: g·sin(atan s), and drag at 60 mph with 0.45 × 2.8 m²
// in air of 1.225 kg/m³.
func TestGradeAndWindForces(t *testing.T) {
	r := &resistance{load: &RoadLoad{Factor: uncert.Value{X: 1}}, dragPerKg: 0.5 * 1.225 * 0.45 * 2.8, air: SessionAir{PowerFactor: nothing}}
	for _, x := range [][2]float64{{0.001, .009807}, {0.005, .049033}, {0.01, .098062}, {0.02, .196094}, {0.10, .975798}} {
		if g, _ := costs(r, x[0], 0); math.Abs(g(20, 1)-x[1]) > 0.6e-6 {
			t.Errorf("grade of %g: %.6f m/s², want %.6f", x[0], g(20, 1), x[1])
		}
	}
	v := 60 * unit.MPH
	still := r.dragPerKg * v * v
	_, head := costs(r, 0, 5)
	_, tail := costs(r, 0, -5)
	for _, x := range []struct {
		what      string
		got, want float64
		tol       float64
	}{{"still", still, 555.229, 6e-4}, {"5 m/s head", still + head(v, 1), 781.524, 6e-4}, {"5 m/s tail", still + tail(v, 1), 367.521, 6e-4},
		// The mean of both directions is above still air: two ways do not cancel wind.
		{"both ways", (head(v, 1) + tail(v, 1)) / 2, 19.29, 6e-3}} {
		if math.Abs(x.got-x.want) > x.tol {
			t.Errorf("%s: %.3f N, want %.3f", x.what, x.got, x.want)
		}
	}
}

// What a sheet says of the air decides what its number rests on, and how well it is
// known.
func TestAirOfSheets(t *testing.T) {
	at := func(x float64) *float64 { return &x }
	full := sheet.Conditions{Temperature: at(303.15), Pressure: at(96500), Humidity: at(0.4)}
	damp := sheet.Conditions{Temperature: at(303.15), Pressure: at(96500)}
	high := sheet.Conditions{Altitude: at(1500)}
	air := func(c sheet.Conditions, engine string) SessionAir {
		return AirOf(&sheet.Sheet{Conditions: c, Vehicle: sheet.Vehicle{Engine: engine}})
	}
	a, b, h, none := air(full, ""), air(damp, ""), air(high, ""), air(sheet.Conditions{}, "naturally aspirated")
	if a.Basis != Measured || b.Basis != Measured || h.Basis != Assumed || none.Basis != "" {
		t.Errorf("bases %q, %q, %q, %q", a.Basis, b.Basis, h.Basis, none.Basis)
	}
	if !(a.Density.U < b.Density.U && b.Density.U < h.Density.U) {
		t.Errorf("uncertainties %.4f, %.4f and %.4f kg/m³: the less is said, the larger", a.Density.U, b.Density.U, h.Density.U)
	}
	if !math.IsNaN(none.PowerFactor.X) || !math.IsNaN(a.PowerFactor.X) {
		t.Error("a power factor without air or without an engine")
	}
	na, turbo, ev := air(full, "naturally aspirated").PowerFactor, air(full, "turbocharged").PowerFactor, air(full, "electric").PowerFactor
	// 965 hPa of which 17 hPa vapour: 94.8 kPa dry at 30 °C; 95 kPa gives 1.059957 (computed
	// from the formula of J1349, which is read as quoted).
	if math.Abs(na.X-1.0625) > 0.001 || na.U < 0.005 || na.U > 0.01 {
		t.Errorf("naturally aspirated: %.4f, u %.4f", na.X, na.U)
	}
	if turbo.X != 1 || math.Abs(turbo.U-0.25*(na.X-1)) > 1e-12 || ev.X != 1 || ev.U != 0 {
		t.Errorf("turbocharged %v, electric %v", turbo, ev)
	}
}

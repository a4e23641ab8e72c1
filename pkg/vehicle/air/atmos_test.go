package air

import (
	"math"
	"testing"

	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.7g, want %.7g within %.2g", what, got, want, tol)
	}
}

func TestStandardAtmosphere(t *testing.T) {
	// Computed from the 1976 constants; they agree with the printed tables at 1,
	// 2, 3, 5 and 10 km geometric (from memory) and the feet table (read:
	// engineeringtoolbox.com/standard-atmosphere-d_604.html).
	for _, r := range [][4]float64{{-500, 291.400, 107477.51, 1.284890}, {0, 288.150, 101325, 1.224999}, {500, 284.900, 95460.84, 1.167268},
		{1000, 281.650, 89874.57, 1.111642}, {1500, 278.400, 84556.00, 1.058067}, {2000, 275.150, 79495.22, 1.006490},
		{2500, 271.900, 74682.53, 0.956858}, {3000, 268.650, 70108.54, 0.909121}, {4000, 262.150, 61640.24, 0.819129},
		{5000, 255.650, 54019.91, 0.736115}, {8000, 236.150, 35599.81, 0.525167}, {11000, 216.650, 22632.06, 0.363918}} {
		a, err := Standard(r[0])
		if err != nil {
			t.Fatal(err)
		}
		near(t, "T", a.Temperature, r[1], 0.0005)
		near(t, "P", a.Pressure, r[2], 0.006)
		near(t, "rho", a.Density, r[3], 0.6e-6)
		near(t, "inverse", DensityAltitude(a.Density), r[0], 1e-4)
	}
	// Geometric altitude, printed digits from memory.
	for _, r := range [][4]float64{{1000, 281.651, 89876, 1.1117}, {2000, 275.154, 79501, 1.0066}, {3000, 268.659, 70121, 0.90925},
		{5000, 255.676, 54048, 0.73643}, {10000, 223.252, 26499, 0.41351}} {
		a, _ := Standard(Geopotential(r[0]))
		near(t, "T geometric", a.Temperature, r[1], 0.0006)
		near(t, "P geometric", a.Pressure, r[2], 1.1)
		near(t, "rho geometric", a.Density, r[3], 6e-5)
	}
	// Read table in feet, psi and 1e-4 slug/ft³: its digits are those of geometric
	// altitude, though it does not say so.
	const slug = 515.378818
	for _, r := range [][3]float64{{0, 14.696, 23.77}, {5000, 12.228, 20.48}, {10000, 10.108, 17.56}, {15000, 8.297, 14.96}, {20000, 6.759, 12.67}, {-5000, 17.554, 27.45}} {
		a, _ := Standard(Geopotential(r[0] * unit.Foot))
		near(t, "psi", a.Pressure/unit.PSI, r[1], 0.0006)
		near(t, "slug/ft3", a.Density/slug*1e4, r[2], 0.01)
	}
	for _, h := range []float64{-5001, 32001, math.NaN()} {
		if _, err := Standard(h); err == nil {
			t.Errorf("%g m was accepted", h)
		}
	}
	if !math.IsNaN(DensityAltitude(3)) || !math.IsNaN(DensityAltitude(0)) {
		t.Error("a density no altitude has must give NaN")
	}
	if a, _ := Standard(20000); math.Abs(a.Pressure-5474.9) > 0.5 { // from memory
		t.Errorf("20 km: %.1f Pa", a.Pressure)
	}
}

func TestVapourPressure(t *testing.T) {
	// Smithsonian tables, read: wahiduddin.net/calc/density_altitude.htm; within
	// 0.35 % from 0 to 40 °C; the last is the IAPWS value computed.
	for _, r := range [][2]float64{{0, 6.1078}, {10, 12.272}, {20, 23.373}, {30, 42.430}, {40, 73.8511}} {
		got := SaturationPressure(r[0]+unit.ZeroCelsius) / 100
		near(t, "saturation", got/r[1], 1, 0.0035)
	}
	// CIPM-2007 column, coefficients from memory, computed.
	for _, r := range [][2]float64{{0, 6.1121}, {10, 12.2811}, {20, 23.3916}, {25, 31.6976}, {30, 42.4680}, {40, 73.8482}} {
		near(t, "CIPM", SaturationPressure(r[0]+unit.ZeroCelsius)/100, r[1], 0.00006)
	}
	// Worked example, read at the same place: 40 % at 30 °C is 16.97 hPa.
	near(t, "16.97 hPa", VapourPressure(303.15, 0.4)/100, 16.97, 0.02)
}

func TestDensity(t *testing.T) {
	// CIPM-2007 (coefficients from memory), the ideal mixture, and its density
	// altitude in m, all computed.
	for _, r := range [][6]float64{{15, 101325, 0, 1.22552, 1.22501, -0.1}, {20, 101325, 0, 1.20456, 1.20412, 178.7},
		{20, 101325, .5, 1.19931, 1.19888, 223.9}, {20, 100000, .5, 1.18356, 1.18313, 360.7}, {25, 99000, 0, 1.15712, 1.15676, 593.0},
		{25, 101325, .5, 1.17732, 1.17695, 414.9}, {30, 101325, .8, 1.15001, 1.14969, 656.0}, {35, 100000, .6, 1.11639, 1.11613, 958.9},
		{0, 101325, 0, 1.29305, 1.29228, -560.5}, {40, 84000, .2, 0.92842, 0.92828, 2796.9}, {10, 90000, .7, 1.10378, 1.10332, 1076.5}} {
		got := Density(r[0]+unit.ZeroCelsius, r[1], r[2])
		near(t, "against CIPM", got/r[3], 1, 6e-4)
		// The column was computed with another vapour formula, 0.3 % lower.
		near(t, "ideal mixture", got, r[4], 6e-5)
		near(t, "density altitude", DensityAltitude(got), r[5], 0.6)
	}
	if Density(300, 1e5, 1) >= Density(300, 1e5, 0) {
		t.Error("humid air must be lighter than dry air")
	}
}

func TestDensityUncertainty(t *testing.T) {
	r := Reading{uncert.Value{X: 293.15, U: 1}, uncert.Value{X: 101325, U: 100}, uncert.Value{X: 0.5, U: 0.1}}
	d := r.Density()
	// 1 K in 293 is 0.34 %, and 0.1 % of pressure, 0.09 % of humidity.
	near(t, "relative", d.U/d.X, uncert.Combine(1/293.15+0.0003, 0.001, 0.0009, 0.0003), 2e-4)
	a := r.DensityAltitude()
	near(t, "altitude", a.X, 223.9, 0.6)
	if a.U < 30 || a.U > 45 { // about 9.6 m for 0.1 %
		t.Errorf("density altitude's uncertainty %.1f m", a.U)
	}
}

func TestPowerFactor(t *testing.T) {
	// Computed from the formula, which is read
	// (passionford.com/forum/6282141-post33.html): kPa dry, °C, factor.
	for _, r := range [][3]float64{{99, 25, 1}, {95, 30, 1.059957}, {90, 35, 1.139599}, {100, 15, 0.968432}, {85, 20, 1.182774}} {
		f, err := PowerFactor(NaturallyAspirated, r[1]+unit.ZeroCelsius, r[0]*1000)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "J1349", f, r[2], 0.6e-6)
	}
	for _, e := range []Engine{Turbocharged, Diesel, Electric, UnknownEngine} {
		if _, err := PowerFactor(e, 298.15, 99000); err == nil {
			t.Errorf("a %q engine was corrected", e)
		}
	}
	if _, err := PowerFactor(NaturallyAspirated, math.NaN(), 99000); err == nil {
		t.Error("air of NaN K was accepted")
	}
}

func TestProfilesAtTheirEdges(t *testing.T) {
	find := func(name string) Profile {
		for _, p := range Profiles() {
			if p.Name == name {
				return p
			}
		}
		t.Fatalf("no profile %s", name)
		return Profile{}
	}
	for _, c := range []struct {
		profile string
		q       Quantity
		x       float64
		want    Verdict
	}{
		{"GB/T 12547-2009", MeanWind, 3.0, Inside}, {"GB/T 12547-2009", MeanWind, 3.1, Outside},
		{"GB/T 12547-2009", Grade, 0.001, Inside}, {"GB/T 12547-2009", Grade, 0.0011, Outside},
		{"GB/T 12547-2009", Humidity, 0.949, Inside}, {"GB/T 12547-2009", Humidity, 0.95, Outside},
		{"SAE J1263:2010", Grade, 0.005, Outside}, {"SAE J1263:2010", Temperature, 35 + unit.ZeroCelsius, Inside},
		{"40 CFR 1066.310", MeanWind, 6 * unit.MPH, Inside}, {"40 CFR 1066.310", RunsEachWay, 7, Outside},
		{"SAE J1263:2010", Directions, 1, Outside}, {"SAE J1263:2010", Directions, 2, Inside},
	} {
		fs := find(c.profile).Check(Conditions{c.q: {X: c.x}})
		for _, f := range fs {
			want := Unknown
			if f.Clause.Quantity == c.q {
				want = c.want
			}
			if f.Verdict != want {
				t.Errorf("%s, %s = %g: %s, want %s", c.profile, f.Clause.Text(), c.x, f.Verdict, want)
			}
		}
	}
	fs := find("40 CFR 1066.310").Check(Conditions{MeanWind: {X: 1}, Grade: {X: 0.00018, U: 0.00005}, RunsEachWay: {X: 8}})
	if fs[1].Verdict != Marginal || Overall(fs) != Marginal {
		t.Errorf("a grade of 0.018 ± 0.01 %% against 0.02 %%: %s", fs[1].Verdict)
	}
}

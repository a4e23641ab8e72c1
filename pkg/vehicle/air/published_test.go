package air

import (
	"math"
	"testing"

	"fromrest/pkg/unit"
)

func fahrenheit(k float64) float64 { return (k-unit.ZeroCelsius)*9/5 + 32 }

func TestStandardAtmosphereInFeet(t *testing.T) {
	// Computed from the 1976 constants: geopotential feet, kg/m³ and, where given,
	// its ratio to sea level.
	for _, r := range [][3]float64{{1000, 1.189553, .97106}, {2000, 1.154897, 0}, {3000, 1.121018, 0}, {5000, 1.055546, .86167},
		{6000, 1.023928, 0}, {8000, 0.962870, 0}, {10000, 0.904637, .73848}} {
		a, err := Standard(r[0] * unit.Foot)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "kg/m3", a.Density, r[1], 0.6e-6)
		if r[2] > 0 {
			near(t, "sigma", a.Density/StandardDensity, r[2], 0.6e-5)
		}
	}
	// Read: engineeringtoolbox.com/standard-atmosphere-d_604.html, °F. Its digits are
	// those of geometric altitude.
	for _, r := range [][2]float64{{0, 59}, {5000, 41.17}, {10000, 23.36}, {15000, 5.55}, {20000, -12.26}, {-5000, 76.84}} {
		a, _ := Standard(Geopotential(r[0] * unit.Foot))
		near(t, "°F", fahrenheit(a.Temperature), r[1], 0.0151)
	}
	// Read: engineersedge.com/calculators/standard_atmospheric_data_15729.htm, psia,
	// a fit that is up to 0.02 % off.
	for _, r := range [][2]float64{{1000, 14.175}, {2000, 13.664}, {3000, 13.173}, {5000, 12.230}} {
		a, _ := Standard(r[0] * unit.Foot)
		near(t, "psia of the fit", a.Pressure/unit.PSI/r[1], 1, 3e-4)
		// The formula printed there.
		near(t, "psia of its formula", 14.696*math.Pow(1-6.8754e-6*r[0], 5.2559)/r[1], 1, 2e-4)
	}
	if a, _ := Standard(1000 * unit.Foot); math.Abs(fahrenheit(a.Temperature)-55.4) > 0.06 {
		t.Errorf("1000 ft: %.2f °F, want 55.4", fahrenheit(a.Temperature))
	}
}

// The power law of the lowest layer, read: scipp.ucsc.edu/outreach/balloon/atmos;
// its 44329 m is rounded (44330.77 computed).
func TestPowerLawOfTheLowestLayer(t *testing.T) {
	for _, h := range []float64{0, 1500, 3000, 8000, 10999} {
		a, _ := Standard(h)
		x := 1 - h/44330.77
		near(t, "temperature", a.Temperature, StandardTemperature*x, 1e-3)
		near(t, "pressure", a.Pressure/StandardPressure, math.Pow(x, 5.255876), 1e-6)
		near(t, "density", a.Density/StandardDensity, math.Pow(x, 4.255876), 1e-6)
		near(t, "temperature with 44329", a.Temperature, StandardTemperature*(1-h/44329), 0.005)
	}
}

func TestVapourPressureAgainstOtherFormulas(t *testing.T) {
	// Formulas from memory, values computed, hPa at 0, 10, 20, 25, 30 and 40 °C. Ours
	// is to lie within 0.35 % of each.
	at := []float64{0, 10, 20, 25, 30, 40}
	for name, row := range map[string][6]float64{
		"WMO":                 {6.1120, 12.2603, 23.3260, 31.6006, 42.3372, 73.6746},
		"Buck 1996":           {6.1121, 12.2786, 23.3834, 31.6853, 42.4513, 73.8236},
		"Goff-Gratch 1946":    {6.1034, 12.2641, 23.3585, 31.6520, 42.4060, 73.7381},
		"Wobus":               {6.1080, 12.2723, 23.3724, 31.6701, 42.4298, 73.7786},
		"Wagner-Pruss, IAPWS": {6.1121, 12.2811, 23.3919, 31.6982, 42.4692, 73.8511},
	} {
		for i, c := range at {
			near(t, name, SaturationPressure(c+unit.ZeroCelsius)/100/row[i], 1, 0.0035)
		}
	}
	// Smithsonian tables below freezing, over water; read:
	// wahiduddin.net/calc/density_altitude.htm. The formula is made for 0 to 40 °C.
	for _, r := range [][3]float64{{-10, 2.8627, 0.005}, {-30, 0.5088, 0.02}} {
		near(t, "below freezing", SaturationPressure(r[0]+unit.ZeroCelsius)/100/r[1], 1, r[2])
	}
}

func TestDensityAltitudeInFeet(t *testing.T) {
	// Computed from the ideal mixture: °C, Pa, relative humidity, ft.
	for _, r := range [][4]float64{{15, 101325, 0, 0}, {20, 101325, 0, 586}, {20, 101325, .5, 735}, {20, 100000, .5, 1184}, {25, 99000, 0, 1946},
		{25, 101325, .5, 1361}, {30, 101325, .8, 2152}, {35, 100000, .6, 3146}, {0, 101325, 0, -1839}, {40, 84000, .2, 9176}, {10, 90000, .7, 3532}} {
		got := DensityAltitude(Density(r[0]+unit.ZeroCelsius, r[1], r[2])) / unit.Foot
		near(t, "ft", got, r[3], 2) // the column used a vapour pressure 0.3 % lower
	}
}

func TestFactorIsOneAtItsReference(t *testing.T) {
	f, err := PowerFactor(NaturallyAspirated, ReferenceTemperature, ReferencePressure)
	if err != nil {
		t.Fatal(err)
	}
	near(t, SAEJ1349, f, 1, 1e-9)
}

// Every profile says where it comes from, and every clause how it was read: none is from
// memory.
func TestProfilesSayHowTheyWereRead(t *testing.T) {
	names := map[string]bool{}
	for _, p := range Profiles() {
		if p.Source == "" || p.About == "" || len(p.Clause) == 0 || names[p.Name] {
			t.Errorf("%s: incomplete or twice", p.Name)
		}
		names[p.Name] = true
		for _, c := range p.Clause {
			if c.Read != ReadText && c.Read != ReadSummary {
				t.Errorf("%s, %s: read %q", p.Name, c.Text(), c.Read)
			}
		}
	}
	// What published procedures limit.
	has := map[Quantity]bool{}
	for _, p := range Profiles() {
		for _, c := range p.Clause {
			has[c.Quantity] = true
		}
	}
	for _, q := range []Quantity{MeanWind, CrossWind, Grade, Directions, RunsEachWay, Temperature, Humidity} {
		if !has[q] {
			t.Errorf("no profile limits %s", q)
		}
	}
}

package explain

import (
	"fmt"
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/air"
)

// ReferenceDensity is the density in kg/m³ of the air that times are corrected to.
var ReferenceDensity = air.Density(air.ReferenceTemperature, air.ReferencePressure, 0)

// SessionAir is the air that a sheet describes and what it does to the engine.
type SessionAir struct {
	Density     uncert.Value // kg/m³
	Altitude    uncert.Value // m, density altitude
	Basis       Basis        // of the density; "" where the sheet says nothing of the air
	From        string       // in words
	PowerFactor uncert.Value // power in the reference air over power in this air, NaN where not known
	PowerFrom   string       // in words: what the factor rests on, or why there is none
	PowerBasis  Basis
}

// AirOf works out the air of a session.
func AirOf(sh *sheet.Sheet) SessionAir {
	r := readingOf(&sh.Conditions)
	a := SessionAir{Basis: r.basis, From: r.from, Density: r.Density(), Altitude: r.DensityAltitude(), PowerFactor: nothing}
	e := air.Engine(sh.Vehicle.Engine)
	switch {
	case r.basis == "":
		a.PowerFrom = "not known: temperature_c, pressure_hpa and humidity_percent would give it"
	case e == air.UnknownEngine:
		a.PowerFrom = "left out: engine = \"naturally aspirated\", \"turbocharged\", \"diesel\" or \"electric\" would give it"
	case e == air.Electric:
		a.PowerFactor, a.PowerBasis = uncert.Value{X: 1}, Assumed
		a.PowerFrom = "assumed: an electric motor's power does not depend on the air"
	default:
		f, err := powerFactor(r.Reading)
		if err != nil {
			a.PowerFrom = "not known: " + err.Error()
			break
		}
		a.PowerFactor, a.PowerBasis, a.PowerFrom = f, Modelled, air.SAEJ1349+", naturally aspirated"
		if e != air.NaturallyAspirated {
			a.PowerFactor, a.PowerBasis = uncert.Value{X: 1, U: boostShare * math.Abs(f.X-1)}, Assumed
			a.PowerFrom = fmt.Sprintf("assumed: a %s engine's power does not follow the air; a quarter of what a naturally aspirated one would lose is allowed for", e)
		}
	}
	return a
}

// reading is the air as far as a sheet says, with the standard atmosphere for the
// rest.
type reading struct {
	air.Reading
	basis Basis   // "" where the sheet says nothing of the air
	rho   float64 // kg/m³
	from  string  // what rho rests on, in words
}

// readingOf takes the air from a sheet.
func readingOf(k *sheet.Conditions) reading {
	r := reading{rho: air.StandardDensity, from: "assumed: the standard atmosphere at sea level"}
	r.Temperature = uncert.Value{X: air.StandardTemperature, U: weatherU}
	r.Pressure = uncert.Value{X: air.StandardPressure, U: weatherPU}
	if k.Altitude != nil {
		if a, err := air.Standard(air.Geopotential(*k.Altitude)); err == nil {
			r.Temperature.X, r.Pressure.X, r.rho = a.Temperature, a.Pressure, a.Density
			r.basis, r.from = Assumed, "assumed: the standard atmosphere at the sheet's altitude"
		}
	}
	if k.Temperature == nil || k.Pressure == nil {
		return r
	}
	r.Temperature = uncert.Value{X: *k.Temperature, U: readTo(k.TemperatureU95, temperatureU)}
	r.Pressure = uncert.Value{X: *k.Pressure, U: readTo(k.PressureU95, pressureU)}
	r.Humidity = uncert.Value{X: air.DefaultHumidity, U: humidityAny}
	r.basis, r.from = Measured, "from the sheet's temperature and pressure, humidity assumed 50 %"
	if k.Humidity != nil {
		r.Humidity = uncert.Value{X: *k.Humidity, U: readTo(k.HumidityU95, humidityU)}
		r.from = "from the sheet's temperature, pressure and humidity"
	}
	r.rho = r.Density().X
	return r
}

// readTo is the standard uncertainty of a reading: what its interval says, else what is usual.
func readTo(u95 *float64, usual float64) float64 {
	if u95 == nil {
		return usual
	}
	return *u95 / uncert.Z95
}

// powerFactor is that of SAE J1349 with its standard uncertainty: from the
// readings, and a tenth of the correction for the formula.
func powerFactor(r air.Reading) (uncert.Value, error) {
	at := func(t, p, h float64) (float64, error) {
		return air.PowerFactor(air.NaturallyAspirated, t, p-air.VapourPressure(t, h))
	}
	t, p, h := r.Temperature, r.Pressure, r.Humidity
	x, err := at(t.X, p.X, h.X)
	if err != nil {
		return nothing, err
	}
	parts := []float64{modelShare * (x - 1)}
	for _, m := range [][3]float64{{t.X + t.U, p.X, h.X}, {t.X, p.X + p.U, h.X}, {t.X, p.X, h.X + h.U}} {
		y, err := at(m[0], m[1], m[2])
		if err != nil {
			return nothing, err
		}
		parts = append(parts, y-x)
	}
	return uncert.Value{X: x, U: uncert.Combine(parts...)}, nil
}

package sheet

import (
	"reflect"
	"strings"
)

// Noted is what was noted of one run. A nil is a value not given.
type Noted struct {
	TyrePressure *float64 `toml:"tyre_pressure_kpa"` // kPa
	Fuel         *float64 `toml:"fuel_l"`            // l
	Charge       *float64 `toml:"charge_percent"`    // of the battery
	Oil          *float64 `toml:"oil_c"`             // °C
	Motor        *float64 `toml:"motor_c"`           // °C
	Coolant      *float64 `toml:"coolant_c"`         // °C
	Battery      *float64 `toml:"battery_c"`         // °C
	HeadWind     *float64 `toml:"head_wind_mps"`     // m/s, against the run
	Load         *float64 `toml:"load_kg"`           // kg
	Start        string   `toml:"start_method"`      // how it was started, "" where not noted
	Driver       string   `toml:"driver"`            // "" where not noted
}

// CardRow is a row of the run card, as it was filled in the field: a [[card]] of the file.
type CardRow struct {
	Run     int    `toml:"run"`     // its number, which is its place among all launches, from 1
	Spoiled string `toml:"spoiled"` // why it does not count, "" where it does
	Remark  string `toml:"remark"`
	Noted

	line int
}

// under fills in what was not noted from another note of the run.
func (n *Noted) under(o *Noted) {
	to, from := reflect.ValueOf(n).Elem(), reflect.ValueOf(o).Elem()
	for i := range to.NumField() {
		if to.Field(i).IsZero() {
			to.Field(i).Set(from.Field(i))
		}
	}
}

// Quantities are the numbers noted, by name.
func (n *Noted) Quantities() map[string]float64 {
	var out map[string]float64
	for _, q := range []struct {
		name string
		v    *float64
	}{{"tyre pressure", n.TyrePressure}, {"fuel", n.Fuel}, {"charge", n.Charge}, {"oil temperature", n.Oil}, {"motor temperature", n.Motor}, {"coolant temperature", n.Coolant}, {"battery temperature", n.Battery},
		{"head wind", n.HeadWind}, {"load", n.Load}} {
		if q.v != nil {
			if out == nil {
				out = map[string]float64{}
			}
			out[q.name] = *q.v
		}
	}
	return out
}

// Words are the words noted, by name.
func (n *Noted) Words() map[string]string {
	var out map[string]string
	for name, w := range map[string]string{"start method": n.Start, "driver": n.Driver} {
		if w = strings.TrimSpace(w); w != "" {
			if out == nil {
				out = map[string]string{}
			}
			out[name] = w
		}
	}
	return out
}

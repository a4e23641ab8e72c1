package sheet

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/unit"
)

// The wire structs are the file as written: each key carries its unit. What is
// written as it is kept goes straight into the sheet's own structs.

type wireSheet struct {
	Title   string   `toml:"title"`
	Date    any      `toml:"date"`
	Place   string   `toml:"place"`
	Notes   string   `toml:"notes"`
	Units   string   `toml:"units"`
	Rollout string   `toml:"rollout"`
	Targets []string `toml:"targets"`
	Rows    string   `toml:"rows"`
	At      []string `toml:"at"`
	Zone    string   `toml:"zone"`
	Columns string   `toml:"columns"`
	With    string   `toml:"with"`

	ReadFrom string `toml:"read_from"`
	ReadTo   string `toml:"read_to"`

	Vehicle    wireVehicle `toml:"vehicle"`
	Conditions Conditions  `toml:"conditions"`
	Modes      []wireMode  `toml:"mode"`
	Logs       []wireLog   `toml:"log"`
	Runs       []wireRun   `toml:"run"`
	Excluded   []Exclusion `toml:"exclude"`

	Plan Plan          `toml:"plan"`
	Past []PastScatter `toml:"past"`

	Receiver Receiver      `toml:"receiver"`
	Outside  []OutsideTime `toml:"witness"`
	Winds    []wireWind    `toml:"wind"`
	Card     []CardRow     `toml:"card"`
}

type wireMode struct {
	Mode
	Driveline
	Order []any    `toml:"order"`
	Times []string `toml:"times"`
}

type wireWind struct {
	WindReading
	At string `toml:"at"`
}

type wireLog struct {
	LogEntry
	Bytes *int64 `toml:"bytes"`
}

type wireRun struct {
	RunEntry
	Launch any `toml:"launch"`
}

type wireVehicle struct {
	Vehicle
	Driveline
	TorqueRPMNm [][2]float64 `toml:"torque_rpm_nm"`
	FrontAxle   string       `toml:"front_axle"`
	RearAxle    string       `toml:"rear_axle"`
}

const (
	rpm         = unit.RPM // rad/s
	kilowatt    = 1000.0   // W
	hectopascal = 100.0    // Pa
	percent     = 0.01
	solidAxle   = "solid"
)

// si is the vehicle with its values in SI.
func (w *wireVehicle) si() Vehicle {
	v := w.Vehicle
	v.Driveline = w.Driveline
	v.RatedPower *= kilowatt
	v.Auxiliary *= kilowatt
	for _, speed := range []*float64{&v.PowerSpeed, &v.TorqueSpeed, &v.IdleSpeed, &v.LimitSpeed, &v.ShiftSpeed, &v.LaunchSpeed} {
		*speed *= rpm
	}
	v.FrontSolid, v.RearSolid = w.FrontAxle == solidAxle, w.RearAxle == solidAxle
	for _, p := range w.TorqueRPMNm {
		v.Torque = append(v.Torque, TorquePoint{Speed: p[0] * rpm, Torque: p[1]})
	}
	return v
}

// si turns what was written into SI.
func (c *Conditions) si() {
	for _, x := range []struct {
		v           *float64
		per, offset float64
	}{{c.Temperature, 1, unit.ZeroCelsius}, {c.Pressure, hectopascal, 0}, {c.Humidity, percent, 0}, {c.Grade, percent, 0},
		{c.PressureU95, hectopascal, 0}, {c.HumidityU95, percent, 0}} {
		if x.v != nil {
			*x.v = *x.v*x.per + x.offset
		}
	}
}

// parseDate takes a TOML date or a string such as "2026-06-14".
func parseDate(v any) (time.Time, error) {
	switch d := v.(type) {
	case nil:
		return time.Time{}, nil
	case time.Time:
		return time.Date(d.Year(), d.Month(), d.Day(), 0, 0, 0, 0, time.UTC), nil
	case string:
		if strings.TrimSpace(d) == "" {
			return time.Time{}, nil
		}
		if t, err := time.Parse(time.DateOnly, strings.TrimSpace(d)); err == nil {
			return t, nil
		}
	}
	return time.Time{}, fmt.Errorf("date %v: want a day such as 2026-06-14", v)
}

// parseInstant takes a TOML date and time with its zone; the decoder gives those
// without one a zone of this name.
func parseInstant(v any) (time.Time, error) {
	if v == nil {
		return time.Time{}, nil
	}
	t, ok := v.(time.Time)
	if !ok || strings.HasSuffix(t.Location().String(), "-local") {
		return time.Time{}, errors.New("want an instant with its zone, such as 2026-06-14T09:58:43.12Z")
	}
	return t.UTC(), nil
}

// parseSpan reads "09:58-10:05" or "09:58:10-10:05:00".
func parseSpan(s string) (Span, error) {
	a, b, ok := strings.Cut(s, "-")
	begin, err1 := timeOfDay(a)
	end, err2 := timeOfDay(b)
	if !ok || err1 != nil || err2 != nil {
		return Span{}, fmt.Errorf("time of day %q: want a range such as 09:58-10:05 in UTC", s)
	}
	if strings.Count(b, ":") == 1 {
		end += time.Minute - time.Nanosecond // the minute named is meant whole
	}
	return Span{begin, end}, nil
}

func timeOfDay(s string) (time.Duration, error) {
	s = strings.TrimSpace(s)
	for _, layout := range []string{"15:04", "15:04:05"} {
		if t, err := time.Parse(layout, s); err == nil {
			return sinceMidnight(t), nil
		}
	}
	return 0, fmt.Errorf("time of day %q", s)
}

func sinceMidnight(t time.Time) time.Duration { return t.Sub(t.Truncate(24 * time.Hour)) }

// mostOrder is far beyond the runs of any session (assumed): a range is written out.
const mostOrder = 100000

// parseOrder takes whole numbers and ranges such as "3-5".
func parseOrder(vs []any) ([]int, error) {
	var out []int
	for _, v := range vs {
		switch n := v.(type) {
		case int64:
			if n < 1 || n > mostOrder {
				return nil, fmt.Errorf("order %d: places count from 1", n)
			}
			out = append(out, int(n))
		case string:
			a, b, ranged := strings.Cut(n, "-")
			lo, err := strconv.Atoi(strings.TrimSpace(a))
			hi := lo
			if ranged && err == nil {
				hi, err = strconv.Atoi(strings.TrimSpace(b))
			}
			if err != nil || lo < 1 || hi < lo || hi > mostOrder {
				return nil, fmt.Errorf("order %q: want a place such as 4 or a range such as \"3-5\"", n)
			}
			for i := lo; i <= hi; i++ {
				out = append(out, i)
			}
		default:
			return nil, fmt.Errorf("order %v: want a place such as 4 or a range such as \"3-5\"", v)
		}
	}
	return out, nil
}

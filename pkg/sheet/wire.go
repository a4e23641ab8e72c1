package sheet

import (
	"fmt"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/unit"
)

// The wire structs are the file as written: each key carries its unit.

type wireSheet struct {
	Title   string   `toml:"title"`
	Date    any      `toml:"date"`
	Place   string   `toml:"place"`
	Notes   string   `toml:"notes"`
	Units   string   `toml:"units"`
	Rollout string   `toml:"rollout"`
	Targets []string `toml:"targets"`

	Vehicle    wireVehicle    `toml:"vehicle"`
	Conditions wireConditions `toml:"conditions"`
	Modes      []wireMode     `toml:"mode"`
	Runs       []wireRun      `toml:"run"`
	Excluded   []wireExclude  `toml:"exclude"`
}

type wireDriveline struct {
	Driven     string  `toml:"driven"`
	Range      string  `toml:"range"`
	StartGear  int     `toml:"start_gear"`
	Front      string  `toml:"front_differential"`
	Centre     string  `toml:"centre_differential"`
	Rear       string  `toml:"rear_differential"`
	Efficiency float64 `toml:"driveline_efficiency"`
	Bias       float64 `toml:"torque_bias"`
	Share      float64 `toml:"centre_front_share"`
}

type wireMode struct {
	Name        string   `toml:"name"`
	Description string   `toml:"description"`
	Runs        []string `toml:"runs"`
	Logs        []string `toml:"logs"`
	Order       []any    `toml:"order"`
	Times       []string `toml:"times"`
	Marks       []string `toml:"marks"`
	PowerShare  float64  `toml:"power_share"`
	wireDriveline
}

type wireRun struct {
	ID      string `toml:"id"`
	Mode    string `toml:"mode"`
	Exclude string `toml:"exclude"`
	Keep    bool   `toml:"keep"`
	Remark  string `toml:"remark"`
}

type wireExclude struct {
	Run    string `toml:"run"`
	Reason string `toml:"reason"`
}

type wireVehicle struct {
	Name         string       `toml:"name"`
	MassKg       float64      `toml:"mass_kg"`
	Tyre         string       `toml:"tyre"`
	Brake        string       `toml:"brakes_and_tyres"`
	TyreRadiusM  float64      `toml:"tyre_radius_m"`
	Gears        []float64    `toml:"gears"`
	FinalDrive   float64      `toml:"final_drive"`
	TransferHigh float64      `toml:"transfer_high"`
	TransferLow  float64      `toml:"transfer_low"`
	TorqueRPMNm  [][2]float64 `toml:"torque_rpm_nm"`
	PowerKW      float64      `toml:"power_kw"`
	PowerRPM     float64      `toml:"power_rpm"`
	TorqueNm     float64      `toml:"torque_nm"`
	TorqueRPM    float64      `toml:"torque_rpm"`
	IdleRPM      float64      `toml:"idle_rpm"`
	LimitRPM     float64      `toml:"limit_rpm"`
	ShiftRPM     float64      `toml:"shift_rpm"`
	ShiftS       float64      `toml:"shift_s"`
	ShiftThrust  float64      `toml:"shift_thrust_share"`
	DragAreaM2   float64      `toml:"drag_area_m2"`
	Rolling      float64      `toml:"rolling_resistance"`
	FrontKg      float64      `toml:"front_axle_kg"`
	RearKg       float64      `toml:"rear_axle_kg"`
	WheelbaseM   float64      `toml:"wheelbase_m"`
	CGHeightM    float64      `toml:"cg_height_m"`
	FrontTrackM  float64      `toml:"front_track_m"`
	RearTrackM   float64      `toml:"rear_track_m"`
	FrontAxle    string       `toml:"front_axle"`
	RearAxle     string       `toml:"rear_axle"`
	RollShare    float64      `toml:"front_roll_stiffness_share"`
	Friction     float64      `toml:"friction"`
	MassFactor   float64      `toml:"mass_factor"`
	Engine       string       `toml:"engine"`
	LaunchRPM    float64      `toml:"launch_rpm"`
	wireDriveline
}

type wireConditions struct {
	TemperatureC    *float64 `toml:"temperature_c"`
	PressureHPa     *float64 `toml:"pressure_hpa"`
	HumidityPercent *float64 `toml:"humidity_percent"`
	WindMPS         *float64 `toml:"wind_mps"`
	GustMPS         *float64 `toml:"gust_mps"`
	WindFromDeg     *float64 `toml:"wind_from_deg"`
	AltitudeM       *float64 `toml:"altitude_m"`
	GradePercent    *float64 `toml:"grade_percent"`
	GradeHeadingDeg *float64 `toml:"grade_heading_deg"`
	Surface         string   `toml:"surface"`
}

const (
	rpm         = unit.RPM // rad/s
	kilowatt    = 1000.0   // W
	hectopascal = 100.0    // Pa
	percent     = 0.01
	solidAxle   = "solid"
)

// si converts; the two structs have the same fields in the same order.
func (w wireDriveline) si() Driveline { return Driveline(w) }

func (w *wireVehicle) si() Vehicle {
	v := Vehicle{Name: w.Name, Mass: w.MassKg, Tyre: w.Tyre, Brake: w.Brake, TyreRadius: w.TyreRadiusM,
		Gears: w.Gears, FinalDrive: w.FinalDrive, TransferHigh: w.TransferHigh, TransferLow: w.TransferLow,
		RatedPower: w.PowerKW * kilowatt, PowerSpeed: w.PowerRPM * rpm,
		RatedTorque: w.TorqueNm, TorqueSpeed: w.TorqueRPM * rpm,
		IdleSpeed: w.IdleRPM * rpm, LimitSpeed: w.LimitRPM * rpm, ShiftSpeed: w.ShiftRPM * rpm, ShiftTime: w.ShiftS, ShiftThrust: w.ShiftThrust,
		DragArea: w.DragAreaM2, RollingResistance: w.Rolling, FrontMass: w.FrontKg, RearMass: w.RearKg,
		Wheelbase: w.WheelbaseM, CGHeight: w.CGHeightM, FrontTrack: w.FrontTrackM, RearTrack: w.RearTrackM,
		FrontSolid: w.FrontAxle == solidAxle, RearSolid: w.RearAxle == solidAxle, RollShare: w.RollShare, Friction: w.Friction,
		MassFactor: w.MassFactor, Engine: w.Engine, LaunchSpeed: w.LaunchRPM * rpm, Driveline: w.wireDriveline.si()}
	for _, p := range w.TorqueRPMNm {
		v.Torque = append(v.Torque, TorquePoint{Speed: p[0] * rpm, Torque: p[1]})
	}
	return v
}

func (w *wireConditions) si() Conditions {
	scaled := func(p *float64, per, offset float64) *float64 {
		if p == nil {
			return nil
		}
		v := *p*per + offset
		return &v
	}
	return Conditions{Temperature: scaled(w.TemperatureC, 1, unit.ZeroCelsius), Pressure: scaled(w.PressureHPa, hectopascal, 0),
		Humidity: scaled(w.HumidityPercent, percent, 0), Wind: w.WindMPS, Gust: w.GustMPS, WindFrom: w.WindFromDeg,
		Altitude: w.AltitudeM, Grade: scaled(w.GradePercent, percent, 0), GradeHeading: w.GradeHeadingDeg, Surface: w.Surface}
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
			return t.Sub(t.Truncate(24 * time.Hour)), nil
		}
	}
	return 0, fmt.Errorf("time of day %q", s)
}

// parseOrder takes whole numbers and ranges such as "3-5".
func parseOrder(vs []any) ([]int, error) {
	var out []int
	for _, v := range vs {
		switch n := v.(type) {
		case int64:
			if n < 1 || n > 100000 {
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
			if err != nil || lo < 1 || hi < lo || hi > 100000 {
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

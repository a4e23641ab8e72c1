package sheet

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/unit"
)

// DraftRun is a run as a draft lists it.
type DraftRun struct {
	Run
	Mode string // "" where it is to be filled in
	Note string // what helps to know it again, such as heading and speed
	// Doubt is why the tool would not count it, "" where it would.
	Doubt string
}

// DraftInput is what a draft is made from. The zero value gives an empty sheet.
type DraftInput struct {
	Title       string
	Date        time.Time // zero where the logs carry none
	Place       string
	Units       string
	Modes       []string          // names known already, in order
	Description map[string]string // of modes, by name
	Runs        []DraftRun
	Vehicle     *Vehicle    // written where known, else left to be filled in
	Conditions  *Conditions // the same
}

// Draft writes a sheet to be filled in: every run is listed, every key that may
// be given stands in a comment with its unit. The draft is itself a valid sheet.
func Draft(w io.Writer, in DraftInput) error {
	b := &strings.Builder{}
	b.WriteString("# Session sheet. Everything may be left out; a key that is not known is an error.\n\n")
	fmt.Fprintf(b, "title = %s\n", Quote(in.Title))
	if in.Date.IsZero() || in.Date.Year() < 1900 {
		b.WriteString("date = \"\" # such as 2026-06-14; the logs carry no date\n")
	} else {
		fmt.Fprintf(b, "date = %s\n", in.Date.UTC().Format(time.DateOnly))
	}
	fmt.Fprintf(b, "place = %s\n", Quote(in.Place))
	units := in.Units
	if units == "" {
		units = "mph"
	}
	fmt.Fprintf(b, "units = %s # \"mph\" or \"kmh\"\n", Quote(units))
	b.WriteString("rollout = \"both\" # which times lead: \"rest\", \"rollout\" or \"both\"\n")
	b.WriteString("targets = [] # more than the usual ones, such as \"0-45 mph\" or \"200 m\"\n\n")
	draftVehicle(b, in.Vehicle)
	draftConditions(b, in.Conditions)
	draftModes(b, &in)
	draftRuns(b, in.Runs)
	_, err := io.WriteString(w, b.String())
	return err
}

func draftVehicle(b *strings.Builder, v *Vehicle) {
	b.WriteString("# The vehicle, as far as it is known: it serves to explain the times.\n[vehicle]\n")
	if v == nil {
		v = &Vehicle{}
	}
	text := func(k, s, hint string) {
		if s == "" {
			fmt.Fprintf(b, "# %s = %s\n", k, hint)
		} else {
			fmt.Fprintf(b, "%s = %s\n", k, Quote(s))
		}
	}
	num := func(k string, x float64, hint string) {
		if x == 0 {
			fmt.Fprintf(b, "# %s = %s\n", k, hint)
		} else {
			fmt.Fprintf(b, "%s = %s\n", k, number(x))
		}
	}
	text("name", v.Name, `""`)
	num("mass_kg", v.Mass, "2000 # as tested, with driver and fuel")
	text("driven", v.Driveline.Driven, `"rear" # "front", "rear", "all" or "part-time"`)
	list(b, "gears", v.Gears, "[4.2, 2.5, 1.5, 1.0, 0.8] # ratios, first gear first")
	num("final_drive", v.FinalDrive, "4.1")
	num("transfer_high", v.TransferHigh, "1.0")
	num("transfer_low", v.TransferLow, "2.5")
	num("tyre_radius_m", v.TyreRadius, "0.34 # rolling")
	draftTorque(b, v.Torque)
	num("power_kw", v.RatedPower/kilowatt, "110 # or only the rated figures")
	num("power_rpm", v.PowerSpeed/rpm, "3600")
	num("torque_nm", v.RatedTorque, "350")
	num("torque_rpm", v.TorqueSpeed/rpm, "1600")
	num("idle_rpm", v.IdleSpeed/rpm, "800")
	num("limit_rpm", v.LimitSpeed/rpm, "4600")
	num("shift_rpm", v.ShiftSpeed/rpm, "4000")
	num("shift_s", v.ShiftTime, "0.3")
	num("drag_area_m2", v.DragArea, "1.6 # drag coefficient times frontal area")
	num("rolling_resistance", v.RollingResistance, "0.012")
	num("front_axle_kg", v.FrontMass, "1100")
	num("rear_axle_kg", v.RearMass, "900")
	num("wheelbase_m", v.Wheelbase, "3.2")
	num("cg_height_m", v.CGHeight, "0.8")
	num("front_track_m", v.FrontTrack, "1.7 # between the wheels; with a solid axle its shaft's torque shifts load between them")
	num("rear_track_m", v.RearTrack, "1.7")
	solid := func(is bool) string {
		if is {
			return solidAxle
		}
		return ""
	}
	text("front_axle", solid(v.FrontSolid), `"independent" # or "solid"`)
	text("rear_axle", solid(v.RearSolid), `"independent"`)
	num("front_roll_stiffness_share", v.RollShare, "0.6 # part of the vehicle's roll stiffness; the rear axle has the rest")
	num("friction", v.Friction, "0.9 # tyre to surface")
	num("mass_factor", v.MassFactor, "1.07 # effective mass over mass, rotating parts included")
	text("engine", v.Engine, `"turbocharged" # or "naturally aspirated", "diesel", "electric"`)
	num("launch_rpm", v.LaunchSpeed/rpm, "1500 # held by clutch or converter at the launch")
	num("driveline_efficiency", v.Driveline.Efficiency, "0.88")
	text("front_differential", v.Driveline.Front, `"open" # "open", "limited-slip", "locked", "brake-controlled" or "none"`)
	text("centre_differential", v.Driveline.Centre, `"none"`)
	text("rear_differential", v.Driveline.Rear, `"open"`)
	num("torque_bias", v.Driveline.Bias, "2.5 # at which a limited-slip differential lets go")
	num("centre_front_share", v.Driveline.Share, "0.5 # part of an open centre's torque that goes to the front")
	b.WriteString("\n")
}

func draftTorque(b *strings.Builder, t []TorquePoint) {
	if len(t) == 0 {
		b.WriteString("# torque_rpm_nm = [[1000, 200], [1600, 350], [3600, 290]] # full throttle\n")
		return
	}
	var points []string
	for _, p := range t {
		points = append(points, fmt.Sprintf("[%s, %s]", decimal(p.Speed/rpm), decimal(p.Torque)))
	}
	fmt.Fprintf(b, "torque_rpm_nm = [%s]\n", strings.Join(points, ", "))
}

func draftConditions(b *strings.Builder, c *Conditions) {
	b.WriteString("[conditions]\n")
	if c == nil {
		c = &Conditions{}
	}
	num := func(k string, p *float64, per, offset float64, hint string) {
		if p == nil {
			fmt.Fprintf(b, "# %s = %s\n", k, hint)
		} else {
			fmt.Fprintf(b, "%s = %s\n", k, number((*p-offset)/per))
		}
	}
	num("temperature_c", c.Temperature, 1, unit.ZeroCelsius, "18")
	num("pressure_hpa", c.Pressure, hectopascal, 0, "1004 # at the site, not reduced to sea level")
	num("humidity_percent", c.Humidity, percent, 0, "55")
	num("wind_mps", c.Wind, 1, 0, "2.5")
	num("gust_mps", c.Gust, 1, 0, "4")
	num("wind_from_deg", c.WindFrom, 1, 0, "240 # where it comes from, from true north")
	num("altitude_m", c.Altitude, 1, 0, "120")
	num("grade_percent", c.Grade, percent, 0, "0.3 # rise in the direction of grade_heading_deg")
	num("grade_heading_deg", c.GradeHeading, 1, 0, "270")
	if c.Surface == "" {
		b.WriteString("# surface = \"dry asphalt\"\n\n")
	} else {
		fmt.Fprintf(b, "surface = %s\n\n", Quote(c.Surface))
	}
}

func draftModes(b *strings.Builder, in *DraftInput) {
	b.WriteString("# One [[mode]] for each drive mode. Its runs may be named here by log, by order,\n" +
		"# by time of day or by the logger's marks, or one by one in the list below.\n")
	for _, m := range in.Modes {
		fmt.Fprintf(b, "[[mode]]\nname = %s\ndescription = %s\n\n", Quote(m), Quote(in.Description[m]))
	}
	if len(in.Modes) == 0 {
		b.WriteString("# [[mode]]\n# name = \"normal\"\n# description = \"\"\n")
	}
	b.WriteString("# logs = [\"first.nmea\"]\n# order = [1, \"3-5\"]\n# times = [\"09:58-10:05\"] # UTC\n# marks = [\"normal\"]\n" +
		"# power_share = 0.8 # of the vehicle's torque\n# driven = \"all\"\n# range = \"low\"\n# start_gear = 2\n# centre_differential = \"locked\"\n\n")
}

func draftRuns(b *strings.Builder, runs []DraftRun) {
	b.WriteString("# Every run found. Fill in the mode; give a reason in exclude where a run must not\n" +
		"# count (it stays in every table); keep = true counts a run that would not be counted.\n")
	for _, r := range runs {
		at := r.Launch.UTC().Format("15:04:05")
		note := oneLine(r.Note)
		if note != "" {
			note = ", " + note
		}
		fmt.Fprintf(b, "[[run]] # %d, launched %s UTC%s\nid = %s\nmode = %s\n", r.Order, at, note, Quote(r.ID), Quote(r.Mode))
		if r.Doubt != "" {
			fmt.Fprintf(b, "exclude = \"\" # not counted as it stands: %s\n", oneLine(r.Doubt))
		} else {
			b.WriteString("exclude = \"\"\n")
		}
		b.WriteString("\n")
	}
}

func oneLine(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
}

// Quote writes a string as TOML's basic string, with its quotation marks.
func Quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, "\\u%04X", r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// number writes a TOML number, whole or not, without the digits that a change of
// unit leaves behind.
func number(x float64) string { return strconv.FormatFloat(x, 'g', 10, 64) }

// decimal is number with a point in it: TOML keeps whole numbers and others
// apart inside one array.
func decimal(x float64) string {
	s := number(x)
	if !strings.ContainsAny(s, ".e") {
		s += ".0"
	}
	return s
}

func list(b *strings.Builder, key string, xs []float64, hint string) {
	if len(xs) == 0 {
		fmt.Fprintf(b, "# %s = %s\n", key, hint)
		return
	}
	var s []string
	for _, x := range xs {
		s = append(s, decimal(x))
	}
	fmt.Fprintf(b, "%s = [%s]\n", key, strings.Join(s, ", "))
}

// ModesOf returns the distinct modes of runs in the order first met.
func ModesOf(runs []DraftRun) []string {
	var ms []string
	for _, r := range runs {
		if r.Mode != "" && !slices.Contains(ms, r.Mode) {
			ms = append(ms, r.Mode)
		}
	}
	return ms
}

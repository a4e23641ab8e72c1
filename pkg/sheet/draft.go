package sheet

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"fromrest/pkg/tomltext"
	"fromrest/pkg/unit"
)

// DraftRun is a run as a draft lists it.
type DraftRun struct {
	Run
	Order     int    // place among all launches, from 1
	Mode      string // "" where it is to be filled in
	FromSheet bool   // Mode is what the sheet says that is redrafted
	Note      string // what helps to know it again, such as heading and speed
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
	Logs        []Log             // all of the call, as Runs count them
	Runs        []DraftRun        // in the order in which they are listed
	Marks       []Mark            // of the logs; only to redraft
	Vehicle     *Vehicle          // written where known, else left to be filled in
	Conditions  *Conditions       // the same
}

// Draft writes a sheet to be filled in: every run is listed, every key that may
// be given stands in a comment with its unit. The draft is itself a valid sheet.
func Draft(w io.Writer, in DraftInput) error {
	b := &strings.Builder{}
	b.WriteString("# Session sheet. Everything may be left out; a key that is not known is an error.\n\n")
	fmt.Fprintf(b, "title = %s\n", tomltext.Quote(in.Title))
	if in.Date.IsZero() || in.Date.Year() < 1900 {
		b.WriteString("date = \"\" # such as 2026-06-14; the logs carry no date\n")
	} else {
		fmt.Fprintf(b, "date = %s\n", in.Date.UTC().Format(time.DateOnly))
	}
	fmt.Fprintf(b, "place = %s\n", tomltext.Quote(in.Place))
	fmt.Fprintf(b, "units = %s # \"mph\" or \"kmh\"\n", tomltext.Quote(cmp.Or(in.Units, "mph")))
	b.WriteString("rollout = \"both\" # which times lead: \"rest\", \"rollout\" or \"both\"\n")
	b.WriteString("targets = [] # more than the usual ones, such as \"0-45 mph\" or \"200 m\"\n\n")
	draftVehicle(b, in.Vehicle)
	draftConditions(b, in.Conditions)
	draftModes(b, &in)
	draftLogs(b, in.Logs)
	draftRuns(b, &in)
	_, err := io.WriteString(w, b.String())
	return err
}

func draftVehicle(b *strings.Builder, v *Vehicle) {
	b.WriteString("# The vehicle, as far as it is known: it serves to explain the times.\n[vehicle]\n")
	if v == nil {
		v = &Vehicle{}
	}
	text := func(key, s, hint string) { given(b, key, quoted(s), hint) }
	num := func(key string, x float64, hint string) {
		written := ""
		if x != 0 {
			written = number(x)
		}
		given(b, key, written, hint)
	}
	text("name", v.Name, `""`)
	num("mass_kg", v.Mass, "2000 # as tested, with driver and fuel")
	text("driven", v.Driveline.Driven, `"rear" # "front", "rear", "all" or "part-time"`)
	given(b, "gears", listed(v.Gears, decimal), "[4.2, 2.5, 1.5, 1.0, 0.8] # ratios, first gear first")
	num("final_drive", v.FinalDrive, "4.1")
	num("transfer_high", v.TransferHigh, "1.0")
	num("transfer_low", v.TransferLow, "2.5")
	num("tyre_radius_m", v.TyreRadius, "0.34 # rolling")
	given(b, "torque_rpm_nm", listed(v.Torque, func(p TorquePoint) string {
		return fmt.Sprintf("[%s, %s]", decimal(p.Speed/rpm), decimal(p.Torque))
	}), "[[1000, 200], [1600, 350], [3600, 290]] # full throttle")
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
	num("engine_inertia_kgm2", v.EngineInertia, "0.3 # what turns with the engine or motor")
	num("wheel_inertia_kgm2", v.WheelInertia, "5 # all wheels together")
	text("gearbox", v.Gearbox, `"converter" # or "clutch", "single-speed"`)
	num("stall_torque_ratio", v.StallRatio, "2.0 # of the converter with the vehicle held")
	num("auxiliary_kw", v.Auxiliary/kilowatt, "2 # that the engine gives to what does not drive")
	num("sliding_friction", v.Sliding, "0.75 # of tyres that spin")
	num("build_up_s", v.Driveline.BuildUp, "0.15 # thrust at the launch; a mode may have its own")
	num("driveline_efficiency", v.Driveline.Efficiency, "0.88")
	text("front_differential", v.Driveline.Front, `"open" # "open", "limited-slip", "locked", "brake-controlled" or "none"`)
	text("centre_differential", v.Driveline.Centre, `"none"`)
	text("rear_differential", v.Driveline.Rear, `"open"`)
	num("torque_bias", v.Driveline.Bias, "2.5 # at which a limited-slip differential lets go")
	num("brake_torque_nm", v.Driveline.Brake, "800 # that brakes put on one wheel that spins")
	num("centre_front_share", v.Driveline.Share, "0.5 # part of an open centre's torque that goes to the front")
	b.WriteString("\n")
}

// given writes a key with its value, or with an example in a comment where the value
// is not known.
func given(b *strings.Builder, key, value, example string) {
	if value == "" {
		key, value = "# "+key, example
	}
	fmt.Fprintf(b, "%s = %s\n", key, value)
}

// quoted is a text as TOML, "" where there is none.
func quoted(s string) string {
	if s == "" {
		return ""
	}
	return tomltext.Quote(s)
}

// listed are values as a TOML array, "" where there are none.
func listed[T any](xs []T, written func(T) string) string {
	if len(xs) == 0 {
		return ""
	}
	var s []string
	for _, x := range xs {
		s = append(s, written(x))
	}
	return "[" + strings.Join(s, ", ") + "]"
}

func draftConditions(b *strings.Builder, c *Conditions) {
	b.WriteString("[conditions]\n")
	if c == nil {
		c = &Conditions{}
	}
	num := func(key string, p *float64, per, offset float64, hint string) {
		written := ""
		if p != nil {
			written = number((*p - offset) / per)
		}
		given(b, key, written, hint)
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
	given(b, "surface", quoted(c.Surface), `"dry asphalt"`)
	b.WriteString("\n")
}

func draftModes(b *strings.Builder, in *DraftInput) {
	b.WriteString("# One [[mode]] for each drive mode. Its runs may be named here by log, by order,\n" +
		"# by time of day or by the logger's marks, or one by one in the list below.\n")
	for _, m := range in.Modes {
		fmt.Fprintf(b, "[[mode]]\nname = %s\ndescription = %s\n\n", tomltext.Quote(m), tomltext.Quote(in.Description[m]))
	}
	if len(in.Modes) == 0 {
		b.WriteString("# [[mode]]\n# name = \"normal\"\n# description = \"\"\n")
	}
	b.WriteString("# logs = [\"first.nmea\"]\n# order = [1, \"3-5\"]\n# times = [\"09:58-10:05\"] # UTC\n# marks = [\"normal\"]\n" +
		"# power_share = 0.8 # of the vehicle's torque\n# driven = \"all\"\n# range = \"low\"\n# start_gear = 2\n# centre_differential = \"locked\"\n\n")
}

func draftLogs(b *strings.Builder, logs []Log) {
	b.WriteString("# The logs, known again by their bytes wherever they lie and whatever they are called;\n" +
		"# witness_of names the log beside which a second recorder wrote this one; separate = true\n" +
		"# says that its drives are its own, however like another log's.\n")
	known := map[string]bool{}
	for i := range logs {
		b.WriteString(logEntry(logs[i].Name, &logs[i], known) + "\n")
	}
	if len(logs) == 0 {
		b.WriteString("# [[log]]\n# name = \"first\"\n\n")
	}
}

// logEntry is the [[log]] of a log under a name. A copy of a log that is known already
// is only named.
func logEntry(name string, l *Log, known map[string]bool) string {
	s := "[[log]]\nname = " + tomltext.Quote(name) + "\n"
	if id := identityOf(l, known); id != "" {
		s += id + "\n"
	}
	return s
}

// identityOf are the keys of what a log is, "" where that is not known or is told of a
// copy of it.
func identityOf(l *Log, known map[string]bool) string {
	sum := strings.ToLower(l.SHA256)
	if sum == "" || l.Bytes < 1 || known[sum] {
		return ""
	}
	known[sum] = true
	return fmt.Sprintf("sha256 = %s\nbytes = %d", tomltext.Quote(sum), l.Bytes)
}

func draftRuns(b *strings.Builder, in *DraftInput) {
	b.WriteString("# Every run found. Fill in the mode; give a reason in exclude where a run must not\n" +
		"# count (it stays in every table); keep = true counts a run that would not be counted.\n")
	launches := launchesOf(in)
	for i, r := range in.Runs {
		b.WriteString(runEntry(&r, r.ID, launches[i], "mode = "+tomltext.Quote(r.Mode)+"\n") + "\n")
	}
}

// runEntry is the [[run]] of a run under an identity.
func runEntry(r *DraftRun, id, launch, mode string) string {
	if launch != "" {
		launch += "\n"
	}
	return fmt.Sprintf("[[run]] # %d, launched %s UTC%s\nid = %s\n%s%sexclude = \"\"%s\n", r.Order, r.Launch.UTC().Format("15:04:05"),
		after(", ", r.Note), tomltext.Quote(id), launch, mode, after(" # not counted as it stands: ", r.Doubt))
}

// launchesOf are the lines that note each run's launch, "" for a run that another of its
// kind is too close to: its number tells it then.
func launchesOf(in *DraftInput) []string {
	out := make([]string, len(in.Runs))
	type kind struct {
		log  int
		kind string
	}
	alike := map[kind][]int{}
	for i, r := range in.Runs {
		k := kind{r.Log, kindOf(tailOf(r.ID))}
		alike[k] = append(alike[k], i)
	}
	for _, is := range alike {
		slices.SortFunc(is, func(a, b int) int { return in.Runs[a].Launch.Compare(in.Runs[b].Launch) })
		for n, i := range is {
			at := in.Runs[i].Launch
			clear := func(m int) bool {
				return m < 0 || m >= len(is) || apart(in.Runs[is[m]].Launch, at) > launchWithin+time.Millisecond
			}
			if clear(n-1) && clear(n+1) {
				out[i] = "launch = " + instant(at)
			}
		}
	}
	return out
}

// after is a text on one line with what leads up to it, "" where there is none.
func after(lead, s string) string {
	if s == "" {
		return ""
	}
	return lead + strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return ' '
		}
		return r
	}, s)
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

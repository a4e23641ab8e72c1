package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"
)

// everyKey has every key that is read, and comments beside them.
const everyKey = `# Our own words stay.
title = "Van" # so do these
date = 2026-06-14
place = "airfield"
notes = """two
lines"""
units = "kmh"
rollout = "rest"
targets = ["0-45 mph", '200 m']
rows = "all"
at = ["0-45 mph"]
zone = "Atlantic/Reykjavik"
columns = "time=t:s,speed=v:km/h"
with = "imu.csv"
read_from = "09:21:30"
read_to = "2026-06-14T10:00"

[vehicle] # as weighed
name = "panel van"
odometer_km = 48_120
mass_kg = 2_140
tyre = "235/65"
brakes_and_tyres = "new"
tyre_radius_m = 0.34
gears = [
  4.2, # first
  2.5,
]
final_drive = 4.1
transfer_high = 1.0
transfer_low = 2.5
torque_rpm_nm = [[1000, 200], [1600, 350.5]]
power_kw = 110
power_rpm = 3600
torque_nm = 350
torque_rpm = 1600
idle_rpm = 800
limit_rpm = 4600
shift_rpm = 4000
shift_s = 0.3
shift_thrust_share = 0.25
drag_area_m2 = 1.6
rolling_resistance = 0.012
front_axle_kg = 1100
rear_axle_kg = 1040
wheelbase_m = 3.2
cg_height_m = 0.8
front_track_m = 1.7
rear_track_m = 1.7
front_axle = "independent"
rear_axle = "solid"
front_roll_stiffness_share = 0.6
friction = 0.9
mass_factor = 1.07
engine = "turbocharged"
launch_rpm = 1500
engine_inertia_kgm2 = 0.3
wheel_inertia_kgm2 = 5.5
gearbox = "converter"
stall_torque_ratio = 2.1
auxiliary_kw = 2.5
sliding_friction = 0.75
driven = "part-time"
range = "high"
start_gear = 1
front_differential = "open"
centre_differential = "locked"
rear_differential = "limited-slip"
driveline_efficiency = 0.88
torque_bias = 2.5
centre_front_share = 0.5
brake_torque_nm = 900
build_up_s = 0.2

[conditions]
temperature_c = 18
pressure_hpa = 1004
humidity_percent = 55
wind_mps = 2.5
gust_mps = 4
wind_from_deg = 240
altitude_m = 120
grade_percent = 0.3
grade_heading_deg = 270
surface = "dry asphalt"
temperature_u95_c = 0.5
pressure_u95_hpa = 0.4
humidity_u95_percent = 5
wind_u95_mps = 0.4

[[wind]]
at = "09:58"
mps = 2.2
from_deg = 235
gust_mps = 3.9
u95_mps = 0.5

[[mode]]
name = "eco"
description = "slow"
logs = ["eco"]
power_share = 0.8
range = "low"
start_gear = 2

[[mode]]
name = "sport"
runs = ["sport#1"]
order = [4]
times = ["10:30-10:31"]
marks = ["sport on"]

[[log]]
name = "eco"
sha256 = "ECOSUM"
bytes = 3

[[log]]
name = "second" # of the other recorder
witness_of = "eco"

[[log]]
name = "sport"
separate = true

[[run]]
id = "eco#1"
launch = 2026-06-14T10:00:00Z
mode = "eco"
exclude = "gust"
remark = "windsock"
tyre_pressure_kpa = 230
fuel_l = 40
charge_percent = 80
oil_c = 90
motor_c = 45
coolant_c = 88
battery_c = 31
head_wind_mps = -1.5
load_kg = 150
start_method = "brake held"
driver = "tess"

[[run]]
id = "eco#2" # no launch yet
keep = true

[[exclude]]
run = "sport#1"
from = "0-60 mph"
reason = "wrong gear"

[[card]]
run = 1 # eco, out
spoiled = "a gust"
remark = "soaked"
oil_c = 91

[plan]
order = ["eco", "sport", "sport", "eco"]
runs = 2
target = "0-30 mph"
from = "rest"
smallest_s = 0.1
final = true
straight_m = 1200
stopping_m = 160
margin_m = 150
cool_down_s = 600

[[past]]
target = "0-60 mph"
from = "rollout"
scatter_s = 0.06
degrees_of_freedom = 12
vehicle = "van"

[receiver]
name = "blue logger"
filter = "first-order"
delay_s = 0.2
delay_u95_s = 0.03
gain = 0.0
rate_hz = 10
stops = 6
remark = "firmware 3.1"

[[witness]]
run = "eco#1"
target = "0-60 mph"
seconds = 9.84
u95_s = 0.02
origin = "tyre"
by = "light gate"
start_m = 0.3
`

func sumOf(text string) string {
	sum := sha256.Sum256([]byte(text))
	return hex.EncodeToString(sum[:])
}

// everything is a call with the logs of everyKey, a run more of each and one log more.
func everything() DraftInput {
	log := func(name string) Log {
		return Log{Name: name, Path: "day/" + name + ".nmea", SHA256: sumOf(name), Bytes: int64(len(name)),
			Prefix: func(n int64) (string, error) { return sumOf(name[:n]), nil }}
	}
	in := DraftInput{Logs: []Log{log("eco"), log("second"), log("sport"), log("more")}, Marks: []Mark{{Log: "sport", Time: time.Date(2026, 6, 14, 9, 0, 0, 0, time.UTC), Text: "other"}}}
	for i, r := range []struct {
		id  string
		log int
		min int
	}{{"eco#1", 0, 0}, {"eco#2", 0, 4}, {"sport#1", 2, 30}, {"sport#2", 2, 34}, {"more#1", 3, 60}} {
		in.Runs = append(in.Runs, DraftRun{Run: Run{ID: r.id, Log: r.log, Launch: time.Date(2026, 6, 14, 10, r.min, 0, 0, time.UTC)}, Order: i + 1, Note: "to 60 mph"})
	}
	return in
}

func whole() string { return strings.Replace(everyKey, "ECOSUM", sumOf("eco"), 1) }

// keysOf are the keys that a table of the file may have.
func keysOf(t reflect.Type, into map[string]bool) {
	for i := range t.NumField() {
		f := t.Field(i)
		key := f.Tag.Get("toml")
		switch {
		case f.Anonymous:
			keysOf(f.Type, into)
		case key == "-" || key == "":
		default:
			into[key] = true
			inner := f.Type
			for inner.Kind() == reflect.Slice {
				inner = inner.Elem()
			}
			if inner.Kind() == reflect.Struct {
				keysOf(inner, into)
			}
		}
	}
}

// A key that the reader comes to know must be in everyKey, whose redrafts are looked at.
func TestEveryKeyIsRedrafted(t *testing.T) {
	keys := map[string]bool{}
	keysOf(reflect.TypeFor[wireSheet](), keys)
	if len(keys) < 80 {
		t.Fatalf("only %d keys", len(keys))
	}
	for key := range keys {
		if !strings.Contains(everyKey, "\n"+key+" = ") && !strings.Contains(everyKey, "\n["+key+"]") && !strings.Contains(everyKey, "\n[["+key+"]]") {
			t.Errorf("%s is not in the sheet of every key", key)
		}
	}
}

// inOrder reports whether all lines of a text stand in another in their order.
func inOrder(lines, text string) string {
	rest := strings.Split(text, "\n")
	for _, l := range strings.Split(lines, "\n") {
		i := slices.Index(rest, l)
		if i < 0 {
			return l
		}
		rest = rest[i+1:]
	}
	return ""
}

func TestRedraftKeepsWhatIsThere(t *testing.T) {
	for name, change := range map[string]func(string) string{
		"as written":       func(s string) string { return s },
		"CRLF":             func(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") },
		"byte order mark":  func(s string) string { return "\ufeff" + s },
		"no last line end": func(s string) string { return strings.TrimSuffix(s, "\n") },
		"dotted keys": func(s string) string {
			a, b, _ := strings.Cut(s, "[conditions]")
			_, b, _ = strings.Cut(b, "[[mode]]")
			return strings.Replace(a, "\n[vehicle]", "\nconditions.surface = \"dry\"\n[vehicle]", 1) + "[[mode]]" + b
		},
		"tables as values": func(s string) string {
			a, b, _ := strings.Cut(s, "[conditions]")
			_, b, _ = strings.Cut(b, "[[mode]]")
			return strings.Replace(a, "\n[vehicle]", "\nconditions = { surface = \"dry\", wind_mps = 2 }\n[vehicle]", 1) + "[[mode]]" + b
		},
	} {
		t.Run(name, func(t *testing.T) {
			text := change(whole())
			s := mustParse(t, text)
			got, err := s.Redraft(everything())
			if err != nil {
				t.Fatal(err)
			}
			again := mustParse(t, got)
			if !again.goesOn(s) {
				t.Errorf("it says something else:\n%s", got)
			}
			if l := inOrder(strings.TrimSuffix(text, "\n"), got); l != "" {
				t.Errorf("the line %q is gone:\n%s", l, got)
			}
			if len(again.Logs) != 4 || len(again.Runs) != 5 || again.Runs[1].Launch.IsZero() || again.Logs[2].SHA256 == "" {
				t.Errorf("%d logs, %d runs: %+v", len(again.Logs), len(again.Runs), again.Runs)
			}
			if strings.Contains(text, "\r\n") != strings.Contains(got, "\r\n") || strings.Contains(got, "\r\n") && strings.Count(got, "\n") != strings.Count(got, "\r\n") {
				t.Error("the line ends are mixed")
			}
			// What lacks nothing stays byte for byte.
			if twice, err := again.Redraft(everything()); err != nil || twice != got {
				t.Errorf("redrafted twice: %v\n%s", err, twice)
			}
		})
	}
}

// A sheet written as one value has no place for entries: it stays, and that is said.
func TestRedraftSaysWhatHasNoPlace(t *testing.T) {
	text := "run = [{ id = \"eco#1\", exclude = \"gust\" }]\n"
	in := everything()
	got, err := mustParse(t, text).Redraft(in)
	if err == nil || !strings.Contains(err.Error(), "was not added") || !strings.Contains(got, text) {
		t.Errorf("%v\n%s", err, got)
	}
	if s := mustParse(t, got); s.Runs[0].Exclude != "gust" {
		t.Errorf("%+v", s.Runs)
	}
}

// Identify lists some runs alone, also in a sheet that is wrong about others.
func TestIdentifyListsSomeRuns(t *testing.T) {
	s := mustParse(t, "[[exclude]]\nrun = \"nowhere#1\"\nreason = \"r\"\n")
	in := everything()
	text, ids, err := s.Identify(in, "sport#2", "none#1")
	if err != nil || ids[0] != "sport#2" || ids[1] != "" {
		t.Fatalf("%v %v", ids, err)
	}
	got := mustParse(t, text)
	if len(got.Runs) != 1 || len(got.Logs) != 4 || got.Runs[0].Launch != in.Runs[3].Launch {
		t.Errorf("%s", text)
	}
}

// A redraft of whatever reads says what was said.
func FuzzRedraft(f *testing.F) {
	f.Add(whole())
	f.Add("run = [{ id = \"eco#1\" }]\n[[log]]\nname = \"eco\"\n")
	f.Add("[[run]]\nid = \"sport#1\"\n[[exclude]]\nrun = \"eco#2\"\nreason = \"x\"\n")
	f.Add("[[mode]]\nname = \"a\"\norder = [1, \"2-3\"]\n[[mode]]\nname = \"b\"\nlogs = [\"more\"]\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse(text, "sheet")
		if err != nil {
			return
		}
		in := everything()
		got, err := s.Redraft(in)
		again, bad := Parse(got, "sheet")
		if bad != nil {
			t.Fatalf("%v: %v\n%s", err, bad, got)
		}
		if !again.goesOn(s) {
			t.Fatalf("it says something else:\n%s", got)
		}
	})
}

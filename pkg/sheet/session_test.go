package sheet

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

const full = `
title = "Van, four modes"
date = 2026-06-14
place = "airfield"
units = "km/h"
rollout = "both"
targets = ["0-45 mph"]

[vehicle]
name = "panel van"
mass_kg = 2140
gears = [4.2, 2.5, 1, 0.8]
torque_rpm_nm = [[1000, 200], [1600, 350.5]]
power_kw = 110
power_rpm = 3600
driven = "part-time"
centre_differential = "locked"

[conditions]
temperature_c = 18
pressure_hpa = 1004
humidity_percent = 55
wind_mps = 0
surface = "dry asphalt"

[[mode]]
name = "eco"
description = "slow"
logs = ["eco.nmea"]

[[mode]]
name = "sport"
order = [3, "4-5"]
driven = "all"
range = "low"

[[mode]]
name = "tow"
times = ["10:30-10:31"]
marks = ["TOW on"]

[[run]]
id = "eco#2"
exclude = "a crosswind gust"
remark = "windsock stood straight"

[[exclude]]
run = "b#2"
reason = "wrong gear"
`

func mustParse(t *testing.T, text string) *Sheet {
	t.Helper()
	s, err := Parse(text, "session.toml")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func TestReadWholeSheet(t *testing.T) {
	s := mustParse(t, full)
	if s.Units != "kmh" || s.Date != time.Date(2026, 6, 14, 0, 0, 0, 0, time.UTC) || s.Rollout != "both" {
		t.Errorf("head: %q %v %q", s.Units, s.Date, s.Rollout)
	}
	if v := s.Vehicle; v.Mass != 2140 || v.RatedPower != 110e3 || math.Abs(v.PowerSpeed-376.99111843) > 1e-6 ||
		len(v.Torque) != 2 || v.Torque[1].Torque != 350.5 || len(v.Gears) != 4 {
		t.Errorf("vehicle: %+v", v)
	}
	c := s.Conditions
	if *c.Temperature != 291.15 || *c.Pressure != 100400 || math.Abs(*c.Humidity-.55) > 1e-12 || *c.Wind != 0 || c.WindFrom != nil {
		t.Errorf("conditions: %+v", c)
	}
	if d := s.ModeDriveline("sport"); d.Driven != "all" || d.Range != "low" || d.Centre != "locked" {
		t.Errorf("sport drives %+v", d)
	}
	if d := s.ModeDriveline("eco"); d.Driven != "part-time" {
		t.Errorf("eco drives %+v", d)
	}
}

func at(hms string) time.Time {
	t, err := time.Parse(time.DateTime, "2026-06-14 "+hms)
	if err != nil {
		panic(err)
	}
	return t
}

var twoLogs = []Log{{Name: "eco", Path: "logs/eco.nmea"}, {Name: "b", Path: "logs/b.nmea"}}

var sixRuns = []Run{
	{"eco#1", 0, at("09:58:43")}, {"eco#2", 0, at("10:00:10")},
	{"b#1", 1, at("10:10:00")}, {"b#2", 1, at("10:12:00")}, {"b#3", 1, at("10:14:00")}, {"b#4", 1, at("10:31:40")},
}

// assign resolves and assigns, the runs being listed by their launch.
func assign(s *Sheet, logs []Log, runs []Run, marks []Mark) ([]Assignment, error) {
	r, err := s.Resolve(logs, runs)
	places := make([]int, len(runs))
	for i := range places {
		places[i] = i + 1
	}
	as, err2 := r.Assign(places, marks)
	return as, errors.Join(err, err2)
}

func TestAssignBySelectors(t *testing.T) {
	s := mustParse(t, full)
	got, err := assign(s, twoLogs, sixRuns, []Mark{{"b", at("10:20:00"), "tow ON"}, {"b", at("10:21:00"), "lap"}, {"eco", at("09:00:00"), "other"}})
	if err != nil {
		t.Fatal(err)
	}
	want := []Assignment{{RunID: "eco#1", Mode: "eco"},
		{RunID: "eco#2", Mode: "eco", Excluded: "a crosswind gust", Remark: "windsock stood straight", Line: 42},
		{RunID: "b#1", Mode: "sport"}, {RunID: "b#2", Mode: "sport", Excluded: "wrong gear"}, {RunID: "b#3", Mode: "sport"},
		{RunID: "b#4", Mode: "tow"}}
	if d := cmp.Diff(want, got); d != "" {
		t.Error(d)
	}
}

func TestSpanOverMidnight(t *testing.T) {
	sp, err := parseSpan("23:50-00:10:30")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		at   time.Duration
		want bool
	}{{23*time.Hour + 55*time.Minute, true}, {10 * time.Minute, true}, {11 * time.Minute, false}, {12 * time.Hour, false}} {
		if sp.Holds(c.at) != c.want {
			t.Errorf("holds %v: %v", c.at, !c.want)
		}
	}
}

// Each mistake is one line with its place.
func TestMistakesNameTheirLine(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"misspelt key", "title = \"x\"\n\n[vehicle]\nmas_kg = 2000\n", `s.toml: line 4: unknown key "vehicle.mas_kg", did you mean "mass_kg"?`},
		{"misspelt in a second mode", "[[mode]]\nname = \"a\"\n[[mode]]\nname = \"b\"\ndesciption = \"\"\n", `s.toml: line 5: unknown key "mode.desciption", did you mean "description"?`},
		{"unknown table", "[vehicles]\n", `s.toml: line 1: unknown key "vehicles", did you mean "vehicle"?`},
		{"inline", "conditions = { temprature_c = 3 }\n", `s.toml: line 1: unknown key "conditions.temprature_c", did you mean "temperature_c"?`},
		{"in a text", "notes = \"\"\"\nunit = 3\n\"\"\"\nunit = 3\n", `s.toml: line 4: unknown key "unit", did you mean "units"?`},
		{"wrong type", "title = 3\n", "s.toml: line 1: title: is a whole number, want text"},
		{"wrong type in a table", "[vehicle]\n\ngears = 3\n", "s.toml: line 3: vehicle.gears: is a whole number, want a list"},
		{"wrong type in a list", "[vehicle]\ngears = [\"a\"]\n", "s.toml: line 2: vehicle.gears: is text, want a number"},
		{"a table wanted", "vehicle = 3\n", "s.toml: line 1: vehicle: is a whole number, want a table"},
		{"syntax", "title = \"x\nplace = \"\"\n", "s.toml: line 1: title: strings cannot contain newlines"},
		{"twice", "title = \"a\"\ntitle = \"b\"\n", "s.toml: line 2: Key 'title' has already been defined."},
		{"units", "\nunits = \"furlongs\"\n", `s.toml: line 2: units = "furlongs": want one of mph, kmh, km/h`},
		{"date", "date = \"soon\"\n", "s.toml: line 1: date soon: want a day such as 2026-06-14"},
		{"mass", "[vehicle]\nmass_kg = -5\n", "s.toml: line 2: mass_kg = -5: want kilograms, 100 to 80000"},
		{"tonnes", "[vehicle]\nmass_kg = 2.08\n", "s.toml: line 2: mass_kg = 2.08: want kilograms, 100 to 80000"},
		{"millimetres", "[vehicle]\ntyre_radius_m = 350\n", "s.toml: line 2: tyre_radius_m = 350: want metres, the rolling radius, 0.15 to 1.2"},
		{"gears reversed", "[vehicle]\ngears = [1, 2.5]\n", "s.toml: line 2: gears: ratio 2, 2.5, is not below that of the gear before, 1: want first gear first"},
		{"axles", "[vehicle]\nmass_kg = 2500\nfront_axle_kg = 960\nrear_axle_kg = 1120\n", "s.toml: line 3: front_axle_kg and rear_axle_kg make 2080, mass_kg is 2500: want them within 5 %"},
		{"shift beyond the limit", "[vehicle]\nlimit_rpm = 4500\nshift_rpm = 4800\n", "s.toml: line 3: shift_rpm = 4800: want no more than limit_rpm, 4500"},
		{"humidity", "[conditions]\nhumidity_percent = 155\n", "s.toml: line 2: humidity_percent = 155: want 0 to 100"},
		{"torque", "[vehicle]\ntorque_rpm_nm = [[2000, 3], [1000, 4]]\n", "s.toml: line 2: torque_rpm_nm: point 2 (1000, 4) is not positive at a rising engine speed"},
		{"differential", "[[mode]]\nname = \"a\"\n[[mode]]\nname = \"b\"\nrear_differential = \"welded\"\n", `s.toml: line 5: rear_differential = "welded": want one of open, limited-slip, locked, brake-controlled, none`},
		{"mode twice", "[[mode]]\nname = \"a\"\n[[mode]]\nname = \"a\"\n", `s.toml: line 3: mode "a" is already described on line 1`},
		{"nameless mode", "\n[[mode]]\n", "s.toml: line 2: a mode has no name"},
		{"run twice", "[[run]]\nid = \"x\"\n[[run]]\nid = \"x\"\n", `s.toml: line 3: run "x" is already listed on line 1`},
		{"mode not described", "[[mode]]\nname = \"eco\"\n[[run]]\nid = \"x\"\nmode = \"ecco\"\n", `s.toml: line 5: mode "ecco" is not described; the modes are eco`},
		{"no reason", "[[exclude]]\nrun = \"x\"\n", "s.toml: line 1: an exclusion names a run and gives a reason"},
		{"kept and excluded", "[[run]]\nid = \"x\"\nkeep = true\nexclude = \"no\"\n", `s.toml: line 1: run "x" is both kept and excluded`},
		{"order", "[[mode]]\nname = \"a\"\norder = [\"5-3\"]\n", `s.toml: line 3: order "5-3": want a place such as 4 or a range such as "3-5"`},
		{"time", "[[mode]]\nname = \"a\"\ntimes = [\"25:00-26:00\"]\n", `s.toml: line 3: time of day "25:00-26:00": want a range such as 09:58-10:05 in UTC`},
	} {
		_, err := Parse(c.text, "s.toml")
		if err == nil {
			t.Errorf("%s: no error", c.name)
		} else if err.Error() != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, err, c.want)
		}
	}
}

func TestAssignMistakes(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"no such run", "[[run]]\nid = \"eco#9\"\n", `s.toml: line 1: run "eco#9" does not exist; the logs have eco#1, eco#2, b#1, b#2, b#3, b#4`},
		{"no such excluded run", "[[exclude]]\nrun = \"x\"\nreason = \"y\"\n", `s.toml: line 1: run "x" does not exist; the logs have eco#1, eco#2, b#1, b#2, b#3, b#4`},
		{"no such run in a mode", "[[mode]]\nname = \"a\"\nruns = [\"x\"]\n", `s.toml: line 3: run "x" does not exist; the logs have eco#1, eco#2, b#1, b#2, b#3, b#4`},
		{"no such log", "[[mode]]\nname = \"a\"\nlogs = [\"c.nmea\"]\n", `s.toml: line 3: no run is from a log "c.nmea"`},
		{"no such place", "[[mode]]\nname = \"a\"\norder = [7]\n", "s.toml: line 3: there is no run 7 in order; the logs have 6"},
		{"no such mark", "[[mode]]\nname = \"a\"\nmarks = [\"A\"]\n", `s.toml: line 3: no log has a mark "A"`},
		{"two modes", "[[mode]]\nname = \"a\"\nlogs = [\"eco\"]\n[[mode]]\nname = \"b\"\norder = [2]\n",
			`s.toml: line 6: run "eco#2" is given mode "b" by its order, but it already has mode "a" from line 3`},
		{"two modes, own entry", "[[mode]]\nname = \"a\"\nlogs = [\"eco\"]\n[[mode]]\nname = \"b\"\n[[run]]\nid = \"eco#1\"\nmode = \"b\"\n",
			`s.toml: line 6: run "eco#1" is given mode "b" by its own entry, but it already has mode "a" from line 3`},
	} {
		s, err := Parse(c.text, "s.toml")
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if _, err = assign(s, twoLogs, sixRuns, nil); err == nil {
			t.Errorf("%s: no error", c.name)
		} else if err.Error() != c.want {
			t.Errorf("%s:\n got %s\nwant %s", c.name, err, c.want)
		}
	}
}

func TestDraftIsASheet(t *testing.T) {
	wind := 0.0
	in := DraftInput{Logs: twoLogs, Title: `The "van"`, Date: at("09:00:00"), Modes: []string{"eco", `odd "name" \ é`},
		Description: map[string]string{"eco": "gentle\npedal"},
		Vehicle:     &Vehicle{Mass: 2140, Gears: []float64{4, 2.5}, Torque: []TorquePoint{{1000 * rpm, 200}, {2000 * rpm, 310.5}}, RatedPower: 110e3},
		Conditions:  &Conditions{Wind: &wind}}
	for i, r := range sixRuns {
		in.Runs = append(in.Runs, DraftRun{Run: r, Order: i + 1, Mode: in.Modes[(i+1)%2], Note: "heading 270°", Doubt: map[bool]string{true: "the driver\nlifted"}[i == 2]})
	}
	var b strings.Builder
	if err := Draft(&b, in); err != nil {
		t.Fatal(err)
	}
	s := mustParse(t, b.String())
	if s.Title != in.Title || s.Modes[1].Name != in.Modes[1] || s.Modes[0].Description != "gentle\npedal" || s.Vehicle.Mass != 2140 ||
		math.Abs(s.Vehicle.Torque[1].Speed-2000*rpm) > 1e-9 || s.Conditions.Wind == nil || s.Conditions.Temperature != nil {
		t.Errorf("read back: %+v", s)
	}
	got, err := assign(s, twoLogs, sixRuns, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range got {
		if a.Mode != in.Runs[i].Mode || a.Excluded != "" {
			t.Errorf("run %d: %+v", i, a)
		}
	}
}

// keyLine is a line that gives a key a value.
var keyLine = regexp.MustCompile(`^\s*([A-Za-z0-9_\-]+(?:\s*\.\s*[A-Za-z0-9_\-]+)*|"[^"]*"|'[^']*')\s*=`)

// Every key a draft mentions in a comment is a key that can be given.
func TestDraftCommentsAreKeys(t *testing.T) {
	var b strings.Builder
	if err := Draft(&b, DraftInput{}); err != nil {
		t.Fatal(err)
	}
	mustParse(t, b.String())
	var on []string
	for line := range strings.Lines(b.String()) {
		if body, ok := strings.CutPrefix(line, "# "); ok && (strings.Contains(body, " = ") || strings.HasPrefix(body, "[[")) && keyLine.MatchString(body) || strings.HasPrefix(line, "# [[") {
			line = strings.TrimPrefix(line, "# ")
		}
		on = append(on, line)
	}
	s := mustParse(t, strings.Join(on, ""))
	if s.Vehicle.CGHeight == 0 || s.Conditions.Grade == nil || len(s.Modes) != 1 || s.Modes[0].Driveline.Centre != "locked" {
		t.Errorf("commented keys: %+v", s)
	}
}

// A sheet of a megabyte, well meant or not, costs what its size does: work that
// grows with the square of the size would take minutes here.
func TestLargeSheets(t *testing.T) {
	many := func(n int, format string) string {
		var b strings.Builder
		for i := range n {
			fmt.Fprintf(&b, format, i)
		}
		return b.String()
	}
	for name, c := range map[string]struct{ text, wrong string }{
		"modes":             {many(20_000, "[[mode]]\nname = 'm%d'\ndriven = 'all'\n"), ""},
		"runs and modes":    {many(10_000, "[[mode]]\nname = 'm%d'\n") + many(10_000, "[[run]]\nid = 'a#%[1]d'\nmode = 'm%[1]d'\n"), ""},
		"mistakes":          {many(20_000, "[[mode]]\nname = 'm%d'\ndriven = 'none'\n"), "line 3: driven"},
		"unknown keys":      {many(40_000, "k%d = 1\n"), "unknown key"},
		"keys of one table": {"vehicle = {" + many(20_000, "k%d = 1, ") + "z = 1}", "unknown key"},
		"a long name":       {strings.Repeat("a.", 400_000) + "b = 1", "line 1: nested too deeply"},
		"a deep table":      {"title = 'x'\n[" + strings.Repeat("a.", 400_000) + "b]", "line 2: nested too deeply"},
		"inline tables":     {"a = " + strings.Repeat("{a = ", 200_000), "line 1: nested too deeply"},
	} {
		_, err := Parse(c.text, "s.toml")
		if c.wrong == "" && err != nil || c.wrong != "" && (err == nil || !strings.Contains(err.Error(), c.wrong)) {
			t.Errorf("%s: %.200v", name, err)
		}
		if err != nil && strings.Count(err.Error(), "\n") > 2*mostMistakes {
			t.Errorf("%s: an error of %d lines", name, strings.Count(err.Error(), "\n"))
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add(full)
	f.Add("[[mode]]\nname=3")
	f.Add("a.b.c = {d = [[{e = 1}]]}\n[run.x]\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse(text, "f.toml")
		if err == nil {
			_, _ = assign(s, twoLogs, sixRuns, nil)
		} else if err.Error() == "" {
			t.Error("an error without text")
		}
	})
}

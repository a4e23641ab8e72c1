package sheet

import (
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/BurntSushi/toml"

	"fromrest/pkg/tomltext"
)

// maxSheet is far beyond any sheet a person writes.
const maxSheet = 4 << 20 // bytes

// Load reads the sheet at path.
func Load(path string) (*Sheet, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return Read(f, path)
}

// Read reads a sheet; name is used in messages. Every mistake found is in the
// error, one line each, joined.
func Read(r io.Reader, name string) (*Sheet, error) {
	b, err := io.ReadAll(io.LimitReader(r, maxSheet+1))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	if len(b) > maxSheet {
		return nil, &Error{Sheet: name, Text: "larger than 4 MB: not a session sheet"}
	}
	return Parse(string(b), name)
}

// mostMistakes is how many mistakes of a kind are listed: what follows is mostly
// the same one again, and each is looked for in the whole text.
const mostMistakes = 20

// Parse reads a sheet from its text.
func Parse(text, name string) (*Sheet, error) {
	text = strings.TrimPrefix(text, "\ufeff")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	s := &Sheet{Name: name, lines: newLines(text)}
	if line := tomltext.Line(text); line > 0 {
		return nil, s.errorAt(line, "nested too deeply for a session sheet")
	}
	var w wireSheet
	md, err := toml.Decode(text, &w)
	if err != nil {
		return nil, s.decodeError(err)
	}
	var errs []error
	for _, k := range md.Undecoded() {
		if len(errs) == mostMistakes {
			break
		}
		errs = append(errs, s.unknownKey(k))
	}
	errs = append(errs, s.fill(&w)...)
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return s, nil
}

// decodeError makes one line of a decoder's error, which comes as a ParseError
// or, for a value of the wrong type, only as text with the line in it.
func (s *Sheet) decodeError(err error) error {
	var pe toml.ParseError
	if errors.As(err, &pe) && pe.Message != "" {
		text := strings.ReplaceAll(pe.Message, "\n", " ")
		if pe.LastKey != "" && !strings.Contains(text, pe.LastKey) {
			text = pe.LastKey + ": " + text
		}
		return s.errorAt(pe.Position.Line, "%s", text)
	}
	text := strings.ReplaceAll(strings.TrimPrefix(err.Error(), "toml: "), "\n", " ")
	m := placeInError.FindStringSubmatch(text)
	if m == nil {
		return &Error{Sheet: s.Name, Text: text}
	}
	line, _ := strconv.Atoi(m[1])
	text = m[3]
	if t := wrongType.FindStringSubmatch(text); t != nil {
		text = "is " + plainType(t[1]) + ", want " + plainType(t[2])
	}
	if t := notATable.FindStringSubmatch(text); t != nil {
		text = "is " + plainType(t[1]) + ", want a table"
	}
	return s.errorAt(line, "%s: %s", m[2], text)
}

var (
	placeInError = regexp.MustCompile(`^line (\d+)(?: \(last key "([^"]*)"\))?: (.*)$`)
	notATable    = regexp.MustCompile(`^type mismatch for .*: expected table but found (.+)$`)
	wrongType    = regexp.MustCompile(`^incompatible types: TOML value has type (.+); destination has type (.+)$`)
)

// plainType names a type as a tester would.
func plainType(t string) string {
	switch {
	case t == "string":
		return "text"
	case t == "int64" || t == "integer" || t == "int":
		return "a whole number"
	case strings.HasPrefix(t, "float"):
		return "a number"
	case strings.HasPrefix(t, "bool"):
		return "true or false"
	case t == "slice" || strings.HasPrefix(t, "[]"):
		return "a list"
	case strings.HasPrefix(t, "map") || strings.Contains(t, "struct") || strings.Contains(t, "wire"):
		return "a table"
	}
	return t
}

// unknownKey names a key that no part of a sheet has, with the nearest that
// one does.
func (s *Sheet) unknownKey(k toml.Key) error {
	path := strings.Join(k, ".")
	text := fmt.Sprintf("unknown key %q", path)
	if near := nearest(k); near != "" {
		text += fmt.Sprintf(", did you mean %q?", near)
	}
	return s.errorAt(s.lines.key(path), "%s", text)
}

// fill checks the decoded file and converts it to SI.
func (s *Sheet) fill(w *wireSheet) []error {
	var errs []error
	add := func(err error) {
		if err != nil {
			errs = append(errs, err)
		}
	}
	s.Title, s.Place, s.Notes, s.Targets = w.Title, w.Place, w.Notes, w.Targets
	d, err := parseDate(w.Date)
	if err != nil {
		add(s.Errorf("date", "%v", err))
	}
	s.Date = d
	add(s.oneOf("units", &w.Units, "mph", "kmh", "km/h"))
	s.Units = strings.ReplaceAll(w.Units, "/", "")
	add(s.oneOf("rollout", &w.Rollout, "rest", "rollout", "both"))
	s.Rollout = w.Rollout
	errs = append(errs, s.checkVehicle(&w.Vehicle)...)
	errs = append(errs, s.checkConditions(&w.Conditions)...)
	s.Vehicle, s.Conditions = w.Vehicle.si(), w.Conditions.si()
	errs = append(errs, s.fillModes(w.Modes)...)
	errs = append(errs, s.fillRuns(w)...)
	return errs
}

// oneOf checks a word; the empty one means not given.
func (s *Sheet) oneOf(key string, v *string, allowed ...string) error {
	return s.oneOfAt(func() int { return s.lines.key(key) }, key, v, allowed...)
}

// oneOfAt is oneOf with the line of the key, which is only looked for where it
// is needed.
func (s *Sheet) oneOfAt(line func() int, key string, v *string, allowed ...string) error {
	*v = strings.ToLower(strings.TrimSpace(*v))
	if *v == "" || slices.Contains(allowed, *v) {
		return nil
	}
	return s.errorAt(line(), "%s = %q: want one of %s", key[strings.LastIndexByte(key, '.')+1:], *v, strings.Join(allowed, ", "))
}

func (s *Sheet) checkDriveline(w *wireDriveline, table string, from int) []error {
	diffs := []string{"open", "limited-slip", "locked", "brake-controlled", "none"}
	var errs []error
	for _, c := range []struct {
		key     string
		v       *string
		allowed []string
	}{
		{"driven", &w.Driven, []string{"front", "rear", "all", "part-time"}}, {"range", &w.Range, []string{"high", "low"}},
		{"front_differential", &w.Front, diffs}, {"centre_differential", &w.Centre, diffs}, {"rear_differential", &w.Rear, diffs},
	} {
		if err := s.oneOfAt(func() int { return s.lines.keyFrom(table+"."+c.key, from) }, c.key, c.v, c.allowed...); err != nil {
			errs = append(errs, err)
		}
	}
	if w.Efficiency < 0 || w.Efficiency > 1 || math.IsNaN(w.Efficiency) {
		errs = append(errs, s.errorAt(s.lines.keyFrom(table+".driveline_efficiency", from), "driveline_efficiency = %g: want a share from 0 to 1", w.Efficiency))
	}
	if w.Bias != 0 && !(w.Bias >= 1) || math.IsInf(w.Bias, 0) {
		errs = append(errs, s.errorAt(s.lines.keyFrom(table+".torque_bias", from), "torque_bias = %g: want a ratio of 1 or more", w.Bias))
	}
	if !(w.Share >= 0 && w.Share < 1) {
		errs = append(errs, s.errorAt(s.lines.keyFrom(table+".centre_front_share", from), "centre_front_share = %g: want a share from 0 to 1", w.Share))
	}
	if w.StartGear < 0 {
		errs = append(errs, s.errorAt(s.lines.keyFrom(table+".start_gear", from), "start_gear = %d: gears count from 1", w.StartGear))
	}
	return errs
}

func (s *Sheet) checkVehicle(w *wireVehicle) []error {
	errs := s.checkDriveline(&w.wireDriveline, "vehicle", 0)
	for _, c := range []struct {
		key string
		v   float64
	}{{"mass_kg", w.MassKg}, {"tyre_radius_m", w.TyreRadiusM}, {"final_drive", w.FinalDrive}, {"transfer_high", w.TransferHigh},
		{"transfer_low", w.TransferLow}, {"power_kw", w.PowerKW}, {"power_rpm", w.PowerRPM}, {"torque_nm", w.TorqueNm},
		{"torque_rpm", w.TorqueRPM}, {"idle_rpm", w.IdleRPM}, {"limit_rpm", w.LimitRPM}, {"shift_rpm", w.ShiftRPM},
		{"shift_s", w.ShiftS}, {"drag_area_m2", w.DragAreaM2}, {"rolling_resistance", w.Rolling}, {"front_axle_kg", w.FrontKg},
		{"rear_axle_kg", w.RearKg}, {"wheelbase_m", w.WheelbaseM}, {"cg_height_m", w.CGHeightM},
		{"front_track_m", w.FrontTrackM}, {"rear_track_m", w.RearTrackM}, {"friction", w.Friction}, {"launch_rpm", w.LaunchRPM}} {
		if !(c.v >= 0) || math.IsInf(c.v, 0) {
			errs = append(errs, s.Errorf("vehicle."+c.key, "%s = %g: want a positive number", c.key, c.v))
		}
	}
	if err := s.oneOf("vehicle.engine", &w.Engine, "naturally aspirated", "turbocharged", "diesel", "electric"); err != nil {
		errs = append(errs, err)
	}
	for _, a := range []struct {
		key string
		v   *string
	}{{"vehicle.front_axle", &w.FrontAxle}, {"vehicle.rear_axle", &w.RearAxle}} {
		if err := s.oneOf(a.key, a.v, solidAxle, "independent"); err != nil {
			errs = append(errs, err)
		}
	}
	if !(w.RollShare >= 0 && w.RollShare <= 1) {
		errs = append(errs, s.Errorf("vehicle.front_roll_stiffness_share", "front_roll_stiffness_share = %g: want a share from 0 to 1", w.RollShare))
	}
	if !(w.ShiftThrust >= 0 && w.ShiftThrust <= 1) {
		errs = append(errs, s.Errorf("vehicle.shift_thrust_share", "shift_thrust_share = %g: want a share from 0 to 1", w.ShiftThrust))
	}
	if w.MassFactor != 0 && !(w.MassFactor >= 1 && w.MassFactor < 20) {
		errs = append(errs, s.Errorf("vehicle.mass_factor", "mass_factor = %g: want 1 or a little more", w.MassFactor))
	}
	for i, g := range w.Gears {
		if !(g > 0) || math.IsInf(g, 0) {
			errs = append(errs, s.Errorf("vehicle.gears", "gears: ratio %d is %g, want a positive number", i+1, g))
		}
	}
	for i, p := range w.TorqueRPMNm {
		if !(p[0] >= 0) || !(p[1] >= 0) || math.IsInf(p[0]+p[1], 0) || (i > 0 && p[0] <= w.TorqueRPMNm[i-1][0]) {
			errs = append(errs, s.Errorf("vehicle.torque_rpm_nm", "torque_rpm_nm: point %d (%g, %g) is not positive at a rising engine speed", i+1, p[0], p[1]))
		}
	}
	return errs
}

func (s *Sheet) checkConditions(w *wireConditions) []error {
	var errs []error
	for _, c := range []struct {
		key    string
		v      *float64
		lo, hi float64
	}{{"temperature_c", w.TemperatureC, -90, 70}, {"pressure_hpa", w.PressureHPa, 300, 1100}, {"humidity_percent", w.HumidityPercent, 0, 100},
		{"wind_mps", w.WindMPS, 0, 100}, {"gust_mps", w.GustMPS, 0, 100}, {"wind_from_deg", w.WindFromDeg, 0, 360},
		{"altitude_m", w.AltitudeM, -500, 9000}, {"grade_percent", w.GradePercent, -50, 50}, {"grade_heading_deg", w.GradeHeadingDeg, 0, 360}} {
		if c.v != nil && !(*c.v >= c.lo && *c.v <= c.hi) {
			errs = append(errs, s.Errorf("conditions."+c.key, "%s = %g: want %g to %g", c.key, *c.v, c.lo, c.hi))
		}
	}
	return errs
}

func (s *Sheet) fillModes(ws []wireMode) []error {
	var errs []error
	seen := map[string]int{}
	for i := range ws {
		if len(errs) >= mostMistakes {
			break
		}
		w := &ws[i]
		line := s.lines.table("mode", i)
		at := func(key string) int { return s.lines.keyFrom("mode."+key, line) }
		m := Mode{Name: strings.TrimSpace(w.Name), Description: w.Description, Runs: w.Runs, Logs: w.Logs, Marks: w.Marks, line: line}
		if m.Name == "" {
			errs = append(errs, s.errorAt(line, "a mode has no name"))
		} else if first, twice := seen[m.Name]; twice {
			errs = append(errs, s.errorAt(line, "mode %q is already described on line %d", m.Name, first))
		}
		seen[m.Name] = line
		var err error
		if m.Order, err = parseOrder(w.Order); err != nil {
			errs = append(errs, s.errorAt(at("order"), "%v", err))
		}
		for _, t := range w.Times {
			span, err := parseSpan(t)
			if err != nil {
				errs = append(errs, s.errorAt(at("times"), "%v", err))
			}
			m.Times = append(m.Times, span)
		}
		errs = append(errs, s.checkDriveline(&w.wireDriveline, "mode", line)...)
		m.Driveline = w.wireDriveline.si()
		if m.PowerShare = w.PowerShare; !(m.PowerShare >= 0 && m.PowerShare <= 2) {
			errs = append(errs, s.errorAt(at("power_share"), "power_share = %g: want a share of the vehicle's torque, such as 0.8", m.PowerShare))
		}
		s.Modes = append(s.Modes, m)
	}
	return errs
}

func (s *Sheet) fillRuns(w *wireSheet) []error {
	var errs []error
	seen, described := map[string]int{}, map[string]bool{}
	for _, name := range s.ModeNames() {
		described[name] = true
	}
	for i, r := range w.Runs {
		if len(errs) >= mostMistakes {
			break
		}
		e := RunEntry{ID: strings.TrimSpace(r.ID), Mode: strings.TrimSpace(r.Mode), Exclude: strings.TrimSpace(r.Exclude),
			Keep: r.Keep, Remark: r.Remark, line: s.lines.table("run", i)}
		switch first, twice := seen[e.ID]; {
		case e.ID == "":
			errs = append(errs, s.errorAt(e.line, "a run has no id"))
		case twice:
			errs = append(errs, s.errorAt(e.line, "run %q is already listed on line %d", e.ID, first))
		case e.Keep && e.Exclude != "":
			errs = append(errs, s.errorAt(e.line, "run %q is both kept and excluded", e.ID))
		}
		seen[e.ID] = e.line
		if e.Mode != "" && len(s.Modes) > 0 && !described[e.Mode] {
			errs = append(errs, s.errorAt(s.lines.keyFrom("run.mode", e.line), "mode %q is not described; the modes are %s", e.Mode, strings.Join(s.ModeNames(), ", ")))
		}
		s.Runs = append(s.Runs, e)
	}
	for i, x := range w.Excluded {
		e := Exclusion{Run: strings.TrimSpace(x.Run), Reason: strings.TrimSpace(x.Reason), line: s.lines.table("exclude", i)}
		if e.Run == "" || e.Reason == "" {
			errs = append(errs, s.errorAt(e.line, "an exclusion names a run and gives a reason"))
		}
		s.Excluded = append(s.Excluded, e)
	}
	return errs
}

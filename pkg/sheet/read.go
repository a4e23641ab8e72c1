package sheet

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"
	_ "time/tzdata" // for machines that have no zones of their own

	"github.com/BurntSushi/toml"

	"fromrest/pkg/recording"
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
	defer func() { _ = f.Close() }() // only read
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
	s := &Sheet{Name: name, source: text, text: tomltext.New(text)}
	text = strings.TrimPrefix(text, "\ufeff")
	text = strings.ReplaceAll(text, "\r\n", "\n")
	if line := tomltext.TooDeep(text); line > 0 {
		return nil, s.ErrorAt(line, "nested too deeply for a session sheet")
	}
	var w wireSheet
	md, err := toml.Decode(text, &w)
	if err != nil {
		line, text := tomltext.Mistake(err)
		return nil, s.ErrorAt(line, "%s", text)
	}
	var errs []error
	unknown := md.Undecoded()
	for _, k := range unknown[:min(len(unknown), mostMistakes)] {
		errs = append(errs, s.unknownKey(k))
	}
	errs = append(errs, s.fill(&w)...)
	if err := errors.Join(errs...); err != nil {
		return nil, err
	}
	return s, nil
}

// unknownKey names a key that no part of a sheet has, with the nearest that
// one does.
func (s *Sheet) unknownKey(k toml.Key) error {
	path := strings.Join(k, ".")
	text := fmt.Sprintf("unknown key %q", path)
	if near := tomltext.Nearest[wireSheet](k); near != "" {
		text += fmt.Sprintf(", did you mean %q?", near)
	}
	return s.ErrorAt(s.text.Line(path, 0), "%s", text)
}

// fill checks the decoded file and converts it to SI.
func (s *Sheet) fill(w *wireSheet) []error {
	s.Title, s.Place, s.Notes, s.Targets, s.At = w.Title, w.Place, w.Notes, w.Targets, w.At
	c := &checker{s: s}
	var err error
	if s.Date, err = parseDate(w.Date); err != nil {
		c.fault("date", "%v", err)
	}
	c.word("units", &w.Units, "mph", "kmh", "km/h")
	s.Units = strings.ReplaceAll(w.Units, "/", "")
	c.word("rollout", &w.Rollout, "rest", "rollout", "both")
	s.Rollout = w.Rollout
	c.word("rows", &w.Rows, "mph", "metric", "all")
	s.Rows = w.Rows
	if w.Zone != "" {
		if s.Zone, err = ParseZone(w.Zone); err != nil {
			c.fault("zone", "%v", err)
		}
	}
	if s.Columns = strings.TrimSpace(w.Columns); s.Columns != "" && (!strings.Contains(s.Columns, "=") || strings.HasSuffix(s.Columns, ".toml") || strings.Contains(strings.ToLower(s.Columns), ".dbc#")) {
		c.fault("columns", "columns = %q: want a mapping such as \"time=utc_ms:ms,speed=Speed:km/h\"; a file is named with --columns", s.Columns)
	}
	if s.With = strings.TrimSpace(w.With); s.With != "" && (strings.ContainsAny(s.With, `/\:`) || strings.HasPrefix(s.With, ".")) {
		c.fault("with", "with = %q: want the name of a file that lies beside the sheet", s.With)
	}
	s.ReadFrom, s.ReadTo = w.ReadFrom, w.ReadTo
	for key, text := range map[string]string{"read_from": w.ReadFrom, "read_to": w.ReadTo} {
		if _, err := recording.ParseBound(text, s.Zone); err != nil {
			c.fault(key, "%s %v", key, err)
		}
	}
	c.table = "vehicle."
	c.vehicle(&w.Vehicle)
	c.table = "conditions."
	c.conditions(&w.Conditions)
	w.Conditions.si()
	s.Vehicle, s.Conditions = w.Vehicle.si(), w.Conditions
	c.plan(&w.Plan)
	c.past(w.Past)
	c.receiver(&w.Receiver)
	c.outside(w.Outside)
	s.Winds = c.winds(w.Winds)
	s.Card = c.card(w.Card)
	s.Plan, s.Past, s.Receiver, s.Outside = w.Plan, w.Past, w.Receiver, w.Outside
	c.errs = append(c.errs, s.fillModes(w.Modes)...)
	c.errs = append(c.errs, s.fillLogs(w.Logs)...)
	return append(c.errs, s.fillRuns(w)...)
}

func (s *Sheet) fillModes(ws []wireMode) []error {
	var errs []error
	seen := map[string]int{}
	for i := range ws {
		if len(errs) >= mostMistakes {
			break
		}
		w := &ws[i]
		m := w.Mode
		m.Name, m.line = strings.TrimSpace(m.Name), s.text.Header("mode", i)
		c := &checker{s: s, table: "mode.", from: m.line}
		if m.Name == "" {
			c.errs = append(c.errs, s.ErrorAt(m.line, "a mode has no name"))
		} else if first, twice := seen[m.Name]; twice {
			c.errs = append(c.errs, s.ErrorAt(m.line, "mode %q is already described on line %d", m.Name, first))
		}
		seen[m.Name] = m.line
		var err error
		if m.Order, err = parseOrder(w.Order); err != nil {
			c.fault("order", "%v", err)
		}
		for _, t := range w.Times {
			span, err := parseSpan(t)
			if err != nil {
				c.fault("times", "%v", err)
			}
			m.Times = append(m.Times, span)
		}
		c.driveline(&w.Driveline)
		m.Driveline = w.Driveline
		c.number("power_share", m.PowerShare, m.PowerShare >= 0 && m.PowerShare <= mostPowerShare, "a share of the vehicle's torque, such as 0.8")
		s.Modes = append(s.Modes, m)
		errs = append(errs, c.errs...)
	}
	return errs
}

// mostPowerShare lets a mode have more torque than the vehicle is said to have: an
// overboost gives half as much again (assumed).
const mostPowerShare = 2

func (s *Sheet) fillRuns(w *wireSheet) []error {
	var errs []error
	seen, described := map[string]int{}, map[string]bool{}
	for _, name := range s.ModeNames() {
		described[name] = true
	}
	for i, written := range w.Runs {
		if len(errs) >= mostMistakes {
			break
		}
		e := written.RunEntry
		e.line = s.text.Header("run", i)
		for _, word := range []*string{&e.ID, &e.Mode, &e.Exclude} {
			*word = strings.TrimSpace(*word)
		}
		switch first, twice := seen[e.ID]; {
		case e.ID == "":
			errs = append(errs, s.ErrorAt(e.line, "a run has no id"))
		case twice:
			errs = append(errs, s.ErrorAt(e.line, "run %q is already listed on line %d", e.ID, first))
		case e.Keep && e.Exclude != "":
			errs = append(errs, s.ErrorAt(e.line, "run %q is both kept and excluded", e.ID))
		}
		seen[e.ID] = e.line
		if e.Mode != "" && len(s.Modes) > 0 && !described[e.Mode] {
			errs = append(errs, s.ErrorAt(s.text.Line("run.mode", e.line), "mode %q is not described; the modes are %s", e.Mode, strings.Join(s.ModeNames(), ", ")))
		}
		var err error
		if e.Launch, err = parseInstant(written.Launch); err != nil {
			errs = append(errs, s.ErrorAt(s.text.Line("run.launch", e.line), "launch: %v", err))
		}
		s.Runs = append(s.Runs, e)
	}
	for i, e := range w.Excluded {
		e.Run, e.Reason, e.line = strings.TrimSpace(e.Run), strings.TrimSpace(e.Reason), s.text.Header("exclude", i)
		e.From = strings.TrimSpace(e.From)
		if e.Run == "" || e.Reason == "" {
			errs = append(errs, s.ErrorAt(e.line, "an exclusion names a run and gives a reason"))
		}
		s.Excluded = append(s.Excluded, e)
	}
	return errs
}

// ParseZone reads the name of a time zone as the IANA database has it, or "local" for
// that of this machine.
func ParseZone(name string) (*time.Location, error) {
	if strings.EqualFold(name, "local") {
		return time.Local, nil
	}
	zone, err := time.LoadLocation(name)
	if err != nil || name == "" {
		return nil, fmt.Errorf("%q: want the name of a time zone such as Atlantic/Reykjavik, or local", name)
	}
	return zone, nil
}

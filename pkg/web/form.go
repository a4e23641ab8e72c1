package web

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/BurntSushi/toml"

	"fromrest/pkg/archive"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/sheet"
	"fromrest/pkg/tomltext"
)

// field is an entry of the sheet that has a blank of its own on the page.
type field struct {
	name       string // in addresses and edits
	table, key string // in the sheet
	kind       string // "text", "date", "number", "numbers", "targets", or words to choose from, with bars between
	part       string // of the form
	label      string
	unit       string
	unlocks    string // what the sheet gives with it, "" for what is only told
}

// The parts of the form.
const (
	partSession    = "Session"
	partTimes      = "Times and units"
	partVehicle    = "Vehicle"
	partConditions = "Conditions"
)

// fields are the blanks in their order.
var fields = []field{
	{"columns", "", "columns", "text", "", "Columns of tables", "", ""}, // set with the rows in sight
	{"with", "", "with", "text", "", "Accelerometer's log", "", ""},

	{"title", "", "title", "text", partSession, "Title", "", ""},
	{"date", "", "date", "date", partSession, "Date", "", ""},
	{"place", "", "place", "text", partSession, "Place", "", ""},
	{"notes", "", "notes", "text", partSession, "Remarks", "", ""},

	{"units", "", "units", "mph|kmh", partTimes, "Speeds in", "", "all that is shown: mph with feet, or km/h with metres"},
	{"at", "", "at", "targets", partTimes, "Targets that are shown", "", "the columns of the sheet and of every table, such as 0-30 mph, 0-60 mph, 1/4 mile"},
	{"targets", "", "targets", "targets", partTimes, "Targets added", "", "times to speeds, distances and pulls of your own, such as 0-45 mph, 50-70 mph"},
	{"target", "plan", "target", "text", partTimes, "Target that decides", "", "the verdict"},
	{"from", "plan", "from", "rollout|rest", partTimes, "counted from", "", "the verdict: from the 1 ft rollout or from rest"},
	{"read_from", "", "read_from", "text", partTimes, "Read the logs from", "as launches are printed, or s from its start", "a part of long logs, such as 09:21:30"},
	{"read_to", "", "read_to", "text", partTimes, "to", "", ""},
	{"smallest", "plan", "smallest_s", "number", partTimes, "Smallest difference that matters", "s", "the verdict that two modes are equal"},
	{"planned", "plan", "runs", "number", partTimes, "Runs planned of each mode", "", "what is left to drive, and looks before the last run that keep the promise"},

	{"vehicle", "vehicle", "name", "text", partVehicle, "Vehicle", "", "comparison with its other sessions"},
	{"mass", "vehicle", "mass_kg", "number", partVehicle, "Mass as tested", "kg", "force in N, power and the grip limit"},
	{"driven", "vehicle", "driven", "front|rear|all|part-time", partVehicle, "Driven wheels", "", "which wheels push, and their grip"},
	{"gears", "vehicle", "gears", "numbers", partVehicle, "Gear ratios", "first gear first", "force in each gear, shift speeds"},
	{"final", "vehicle", "final_drive", "number", partVehicle, "Final drive", "", "force in each gear, shift speeds"},
	{"radius", "vehicle", "tyre_radius_m", "number", partVehicle, "Rolling radius", "m", "torque at the wheels, speed in each gear"},
	{"power", "vehicle", "power_kw", "number", partVehicle, "Rated power", "kW", "predicted times, with its engine speed and the torque"},
	{"power_rpm", "vehicle", "power_rpm", "number", partVehicle, "at", "rpm", ""},
	{"torque", "vehicle", "torque_nm", "number", partVehicle, "Rated torque", "N·m", "predicted times"},
	{"torque_rpm", "vehicle", "torque_rpm", "number", partVehicle, "at", "rpm", ""},
	{"limit", "vehicle", "limit_rpm", "number", partVehicle, "Highest engine speed", "rpm", "where each gear ends"},
	{"front", "vehicle", "front_axle_kg", "number", partVehicle, "On the front axle", "kg", "the grip of the driven axle, with the rear"},
	{"rear", "vehicle", "rear_axle_kg", "number", partVehicle, "On the rear axle", "kg", "the grip of the driven axle, with the front"},
	{"wheelbase", "vehicle", "wheelbase_m", "number", partVehicle, "Wheelbase", "m", "load transfer under acceleration"},
	{"height", "vehicle", "cg_height_m", "number", partVehicle, "Height of the centre of gravity", "m", "load transfer under acceleration"},
	{"drag", "vehicle", "drag_area_m2", "number", partVehicle, "Drag area", "m²", "the part of the force that the air takes"},
	{"rolling", "vehicle", "rolling_resistance", "number", partVehicle, "Rolling resistance", "of weight", "the part of the force that rolling takes"},
	{"friction", "vehicle", "friction", "number", partVehicle, "Friction, tyre to surface", "", "the share of grip used"},

	{"surface", "conditions", "surface", "text", partConditions, "Surface", "", ""},
	{"temperature", "conditions", "temperature_c", "number", partConditions, "Air temperature", "°C", "air density, what the air takes"},
	{"pressure", "conditions", "pressure_hpa", "number", partConditions, "Air pressure at the site", "hPa", "air density, density altitude"},
	{"humidity", "conditions", "humidity_percent", "number", partConditions, "Humidity", "%", "air density"},
	{"wind", "conditions", "wind_mps", "number", partConditions, "Wind", "m/s", "what the wind gave and took, with its direction"},
	{"wind_from", "conditions", "wind_from_deg", "number", partConditions, "Wind from", "° from north", "head and tail wind of each run"},
	{"altitude", "conditions", "altitude_m", "number", partConditions, "Altitude", "m", "air pressure where none is given"},
	{"grade", "conditions", "grade_percent", "number", partConditions, "Grade", "%", "what the grade gave and took"},
	{"grade_towards", "conditions", "grade_heading_deg", "number", partConditions, "rising towards", "° from north", "which runs went uphill"},
}

type fieldView struct {
	Name    string   `json:"name"`
	Part    string   `json:"part"`
	Label   string   `json:"label"`
	Unit    string   `json:"unit"`
	Kind    string   `json:"kind"`
	Choices []string `json:"choices"`
	Unlocks string   `json:"unlocks"`
	Value   string   `json:"value"`
}

// form is the blanks and what is written in them.
func form(_ *http.Request, w *work) (any, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	body, err := w.body()
	if err != nil {
		return nil, err
	}
	values := said(body)
	blanks := slices.DeleteFunc(slices.Clone(fields), func(f field) bool { return f.part == "" })
	out := each(blanks, func(f field) fieldView {
		v := fieldView{f.name, f.part, f.label, f.unit, f.kind, []string{}, f.unlocks, f.in(values)}
		if strings.Contains(f.kind, "|") {
			v.Kind, v.Choices = "choice", strings.Split(f.kind, "|")
		}
		return v
	})
	known := each(timing.Standard(), func(t timing.Target) string { return t.Name })
	return map[string]any{"fields": out, "revision": w.sheet.Revision, "known": known}, nil
}

// said is what a sheet's text says, nothing where it is no TOML.
func said(body string) map[string]any {
	var all map[string]any
	if _, err := toml.Decode(body, &all); err != nil {
		return nil
	}
	return all
}

// in is what a field holds in a sheet, as it is typed.
func (f *field) in(all map[string]any) string {
	if f.table != "" {
		all, _ = all[f.table].(map[string]any)
	}
	return typed(all[f.key])
}

func typed(v any) string {
	switch x := v.(type) {
	case nil:
		return ""
	case string:
		return x
	case float64:
		return strconv.FormatFloat(x, 'f', -1, 64)
	case time.Time:
		return x.Format(time.DateOnly)
	case []any:
		return strings.Join(each(x, typed), ", ")
	}
	return fmt.Sprint(v)
}

// quoted is what was typed into a field as TOML has it.
func (f *field) quoted(value string) (string, error) {
	number := func(s string) (string, error) {
		x, err := strconv.ParseFloat(strings.ReplaceAll(strings.ReplaceAll(strings.TrimSpace(s), "−", "-"), ",", "."), 64)
		if err != nil || x-x != 0 {
			return "", &errEdit{strings.ToLower(f.label) + " " + s + ": want a number" + map[bool]string{true: " in " + f.unit}[f.unit != ""]}
		}
		text := strconv.FormatFloat(x, 'f', -1, 64)
		if !strings.Contains(text, ".") && f.key != "runs" {
			text += ".0"
		}
		return text, nil
	}
	parts := func(quote func(string) (string, error), sep string) (string, error) {
		var out []string
		for p := range strings.SplitSeq(value, sep) {
			if p = strings.TrimSpace(p); p == "" {
				continue
			}
			q, err := quote(p)
			if err != nil {
				return "", err
			}
			out = append(out, q)
		}
		return "[" + strings.Join(out, ", ") + "]", nil
	}
	switch f.kind {
	case "number":
		return number(value)
	case "numbers":
		if strings.Contains(value, ";") || !strings.Contains(value, ",") {
			return parts(number, map[bool]string{true: ";", false: " "}[strings.Contains(value, ";")])
		}
		return parts(number, ",")
	case "targets":
		return parts(func(s string) (string, error) { return tomltext.Quote(s), nil }, ",")
	case "date":
		if _, err := time.Parse(time.DateOnly, value); err != nil {
			return "", &errEdit{"date " + value + ": want a day such as 2026-06-14"}
		}
		return value, nil
	}
	return tomltext.Quote(value), nil
}

// staleField is an edit of a field that somebody else changed meanwhile.
type staleField struct {
	now string
	of  string // the run, "" for a field of the sheet
}

func (e *staleField) Error() string {
	if e.of == "" {
		return "another page changed this meanwhile"
	}
	return fmt.Sprintf("another page changed %s meanwhile, to “%s”: nothing was overwritten", e.of, e.now)
}

func (e *staleField) Unwrap() error { return archive.ErrStale }

// editField changes one field of the sheet.
func (w *work) editField(ctx context.Context, in *editRequest) error {
	i := slices.IndexFunc(fields, func(f field) bool { return f.name == in.Key })
	if i < 0 {
		return &errEdit{"no such field"}
	}
	f := &fields[i]
	value := clean(in.Value, mostRemark)
	w.mu.Lock()
	defer w.mu.Unlock()
	body, err := w.body()
	if err != nil {
		return err
	}
	all := said(body)
	before := f.in(all)
	if in.Was != nil && before != *in.Was && before != value && (before != "" || *in.Was != w.offered(f)) && w.sheet.Revision > 0 {
		return &staleField{now: before}
	}
	t, want := tomltext.New(body), ""
	if value == "" {
		if !t.Unset(f.table, f.key) && before != "" {
			return f.odd()
		}
	} else {
		text, err := f.quoted(value)
		if err != nil {
			return err
		}
		t.Set(f.table, f.key, text)
		want = f.in(said(map[bool]string{true: "[" + f.table + "]\n"}[f.table != ""] + f.key + " = " + text))
	}
	if _, err := sheet.Parse(t.String(), sheetName); err != nil && value == "" {
		return f.odd() // it stood on several lines
	} else if err != nil {
		return &errEdit{err.Error()}
	}
	if f.in(said(t.String())) != want {
		return f.odd()
	}
	return w.keep(ctx, archive.Change{Base: w.sheet.Revision, Body: t.String(), Note: strings.ToLower(f.label) + ": " + value})
}

// odd says that a field cannot be changed where it stands.
func (f *field) odd() error {
	return &errEdit{"the " + f.name + " is written in the sheet in a way that this field cannot change; edit the sheet as text"}
}

// offered is what the head of the page shows of a field that the sheet leaves out. The
// caller holds mu.
func (w *work) offered(f *field) string {
	switch h := w.head(); f.name {
	case "title":
		return h.Title
	case "date":
		return h.Date
	}
	return ""
}

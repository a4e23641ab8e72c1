package web

import (
	"context"
	"slices"
	"strings"

	"fromrest/pkg/session"
	"fromrest/pkg/tomltext"
)

// notes are what may be noted of a run, between two of them and by the passenger.
var notes = []field{
	{"tyre_pressure_kpa", "run", "tyre_pressure_kpa", "number", "", "Tyre pressure", "kPa", ""},
	{"fuel_l", "run", "fuel_l", "number", "", "Fuel", "l", ""},
	{"charge_percent", "run", "charge_percent", "number", "", "Charge", "%", ""},
	{"oil_c", "run", "oil_c", "number", "", "Oil", "°C", ""},
	{"motor_c", "run", "motor_c", "number", "", "Motor", "°C", ""},
	{"coolant_c", "run", "coolant_c", "number", "", "Coolant", "°C", ""},
	{"battery_c", "run", "battery_c", "number", "", "Battery", "°C", ""},
	{"head_wind_mps", "run", "head_wind_mps", "number", "", "Head wind", "m/s", ""},
	{"load_kg", "run", "load_kg", "number", "", "Load", "kg", ""},
	{"start_method", "run", "start_method", "text", "", "How it was started", "", ""},
	{"driver", "run", "driver", "text", "", "Driver", "", ""},
	{"remark", "run", "remark", "text", "", "Remark", "", ""},
}

// noteViews are the notes that a run may have, for the page.
func noteViews() []fieldView {
	return each(notes, func(f field) fieldView { return fieldView{Name: f.name, Label: f.label, Unit: f.unit, Kind: f.kind} })
}

// noted are the notes of runs in a sheet's text, by the run's identity there.
func noted(body string) map[string]map[string]string {
	out := map[string]map[string]string{}
	entries, _ := said(body)["run"].([]map[string]any)
	for _, e := range entries {
		of := map[string]string{}
		for _, f := range notes {
			if text := typed(e[f.key]); text != "" {
				of[f.name] = text
			}
		}
		if id := typed(e["id"]); len(of) > 0 {
			out[id] = of
		}
	}
	return out
}

// editNote changes one note of one run.
func (w *work) editNote(ctx context.Context, in *editRequest) error {
	i := slices.IndexFunc(notes, func(f field) bool { return f.name == in.Key })
	if i < 0 || len(in.Runs) != 1 {
		return &errEdit{"no such note"}
	}
	f := &notes[i]
	value, text := clean(in.Value, mostRemark), ""
	if value != "" {
		var err error
		if text, err = f.quoted(value); err != nil {
			return err
		}
	}
	if in.Was != nil {
		in.Had = []string{*in.Was}
	}
	return w.editRuns(ctx, in, &runsEdit{note: strings.ToLower(f.label) + " of %s: " + strings.ReplaceAll(value, "%", "%%"), to: value,
		holds: func(r *session.TimedRun) string { return noted(w.sheet.Body)[r.ID][f.name] },
		ok:    func(*session.TimedRun) bool { return true },
		changes: []func(*runEdit){func(e *runEdit) {
			if text != "" {
				e.set(f.key, text)
				return
			}
			for _, id := range e.ids {
				e.text.UnsetIn(tomltext.Entry{Table: "run", Key: "id", Value: id}, f.key)
			}
		}}})
}

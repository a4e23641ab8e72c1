package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"testing"

	"fromrest/pkg/document"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/air"
)

// explained is a small session both ways in one mode with a sheet that leaves the
// wind out.
func explained(t *testing.T, text string) *explain.Explanation {
	t.Helper()
	var ev []synth.Event
	for k := range 4 {
		ev = append(ev, synth.Event{Kind: synth.Start, Vehicle: synth.Van("full"), Reverse: k%2 == 1})
	}
	s, err := synth.Scenario{HeadingDeg: 40, LatDeg: 47, LonDeg: -20, Road: synth.Road{Grade: 0.01, HeadWind: 4}, Events: ev}.Simulate(5)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := synth.WriteFIT(&b, s.Recording(synth.Receiver{Noise: 0.05, Step: 0.001 * unit.Knot, Velocity: true}, nil, 5), synth.FITOptions{}); err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), []session.Input{{Path: "a|b.fit", Mode: "full",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}}, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	sh, err := sheet.Parse(text, "session.toml")
	if err != nil {
		t.Fatal(err)
	}
	res.Sheet = sh
	e, err := explain.Of(context.Background(), res, "full")
	if err != nil {
		t.Fatal(err)
	}
	return e
}

const conditionsSheet = `[vehicle]
mass_kg = 2280.0
drag_area_m2 = 1.45
mass_factor = 1.07
engine = "%s"
[conditions]
temperature_c = 30.0
pressure_hpa = 965.0
humidity_percent = 40.0
`

func TestConditionsAreShownEverywhere(t *testing.T) {
	e := explained(t, fmt.Sprintf(conditionsSheet, "naturally aspirated"))
	var text, md, js bytes.Buffer
	for _, err := range []error{report.ExplainFull(&text, e), report.ExplainMarkdown(&md, e), report.ExplainJSON(&js, e)} {
		if err != nil {
			t.Fatal(err)
		}
	}
	sec, err := report.ExplainSection(e, true)
	if err != nil {
		t.Fatal(err)
	}
	for name, out := range map[string]string{"text": text.String(), "Markdown": md.String(), "HTML": string(sec.Body)} {
		out = strings.Join(strings.Fields(out), " ")
		for _, want := range []string{"vertical velocity", "the runs both ways", "0–60 mph with rollout, s", "corrected", "power", "density altitude", "SAE J1349"} {
			if !strings.Contains(out, want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
		for _, p := range air.Profiles() {
			if !strings.Contains(out, p.Name) || !strings.Contains(out, p.Source) {
				t.Errorf("%s lacks %s or its source", name, p.Name)
			}
			for _, c := range p.Clause {
				if !strings.Contains(out, c.Text()) {
					t.Errorf("%s lacks %s: %s", name, p.Name, c.Text())
				}
			}
		}
		if strings.Contains(out, "NaN") {
			t.Errorf("%s holds NaN", name)
		}
	}
	for _, l := range strings.Split(text.String(), "\n") {
		if n := len([]rune(l)); n > document.TextWidth && strings.HasPrefix(l, "  a|b") {
			t.Errorf("%d columns: %s", n, l)
		}
	}
	checkConditionsJSON(t, js.Bytes())
}

// checkConditionsJSON holds each corrected time to the measured one less its
// effects, which are nearly additive, and its interval to be the wider.
func checkConditionsJSON(t *testing.T, b []byte) {
	t.Helper()
	type value struct{ Value, U95 float64 }
	var out struct {
		Conditions []struct {
			Times []struct {
				Name      string
				Measured  *value `json:"measured_s"`
				Grade     *value `json:"grade_s"`
				Wind      *value `json:"head_wind_s"`
				Air       *value `json:"air_s"`
				Power     *value `json:"power_s"`
				Corrected *value `json:"corrected_s"`
			}
		}
		Profiles []struct {
			Name, Source, Verdict string
			Clauses               []struct{ Limit, Verdict, Read string }
		}
	}
	if err := json.Unmarshal(b, &out); err != nil {
		t.Fatal(err)
	}
	if len(out.Conditions) != 4 || len(out.Profiles) != len(air.Profiles()) {
		t.Fatalf("%d runs and %d profiles", len(out.Conditions), len(out.Profiles))
	}
	for _, r := range out.Conditions {
		for _, x := range r.Times {
			sum := x.Grade.Value + x.Wind.Value + x.Air.Value + x.Power.Value
			if d := x.Measured.Value - sum - x.Corrected.Value; d > 0.05*x.Measured.Value || d < -0.05*x.Measured.Value {
				t.Errorf("%s: measured %.3f less %.3f is not %.3f", x.Name, x.Measured.Value, sum, x.Corrected.Value)
			}
			if x.Corrected.U95 <= x.Measured.U95 {
				t.Errorf("%s: correcting made ±%.4f of ±%.4f", x.Name, x.Corrected.U95, x.Measured.U95)
			}
		}
	}
	for _, p := range out.Profiles {
		for _, c := range p.Clauses {
			if p.Source == "" || c.Limit == "" || c.Verdict == "" || c.Read == "" {
				t.Errorf("%s: incomplete clause %+v", p.Name, c)
			}
		}
	}
}

// Whatever the engine, it is said what was done about it.
func TestEveryEngineIsSpokenOf(t *testing.T) {
	for engine, want := range map[string]string{"turbocharged": "assumed: a turbocharged", "diesel": "assumed: a diesel",
		"electric": "assumed: an electric", "": "left out: engine ="} {
		sh, err := sheet.Parse(fmt.Sprintf(conditionsSheet, engine), "session.toml")
		if err != nil {
			t.Fatal(err)
		}
		e, err := explain.Predicted(context.Background(), sh, "mph")
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := report.ExplainFull(&b, e); err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(strings.Join(strings.Fields(b.String()), " "), want) {
			t.Errorf("%q: nothing said of it", engine)
		}
	}
	// A sheet without air: not known, and no number that pretends to be.
	sh, _ := sheet.Parse("", "session.toml")
	e, err := explain.Predicted(context.Background(), sh, "mph")
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.ExplainFull(&b, e); err != nil || !strings.Contains(b.String(), "not known: temperature_c") || strings.Contains(b.String(), "NaN") {
		t.Errorf("no air in the sheet: %v", err)
	}
}

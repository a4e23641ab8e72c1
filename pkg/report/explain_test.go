package report_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/santhosh-tekuri/jsonschema/v6"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// demoExplained is the demonstration explained, its sheet edited.
func demoExplained(t *testing.T, edit func(string) string) *explain.Explanation {
	t.Helper()
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	var inputs []session.Input
	for _, l := range logs {
		inputs = append(inputs, session.Input{Path: l.Name, Mode: l.Mode, Open: func() (io.ReadCloser, error) { return os.Open(filepath.Join(dir, l.Name)) }})
	}
	text, err := os.ReadFile(filepath.Join(dir, synth.DemoSheet))
	if err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), inputs, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range res.Runs {
		r.Counted = r.Counted && r.ID != "plain-2#3" // the driver lifted
	}
	sh, err := sheet.Parse(edit(string(text)), "session.toml")
	if err != nil {
		t.Fatal(err)
	}
	res.Sheet = sh
	e, err := explain.Of(context.Background(), res)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// forms is an explanation in every form, spaces folded.
func forms(t *testing.T, e *explain.Explanation) map[string]string {
	t.Helper()
	out := map[string]string{}
	for name, write := range map[string]func(io.Writer, *explain.Explanation) error{"text": report.ExplainFull, "Markdown": report.ExplainMarkdown, "JSON": report.ExplainJSON,
		"HTML": func(w io.Writer, e *explain.Explanation) error { return report.ExplainHTML(w, e, "van & co") }} {
		var b bytes.Buffer
		if err := write(&b, e); err != nil {
			t.Fatal(name, err)
		}
		out[name] = strings.Join(strings.Fields(strings.NewReplacer("\\u003c", "<", "&#39;", "'").Replace(b.String())), " ")
		if strings.Contains(b.String(), "NaN") || strings.Contains(b.String(), "Inf") {
			t.Errorf("%s holds NaN or Inf", name)
		}
	}
	return out
}

// The demonstration's predictions are within 2 % of the measured times, and what
// its modes differ by is explained by what they differ in: the power share.
func TestDemoIsExplained(t *testing.T) {
	e := demoExplained(t, func(s string) string { return s })
	var js struct {
		Modes []struct {
			Mode, Story string
			Times       []struct {
				Name      string
				Predicted struct{ Value float64 } `json:"predicted_s"`
				Measured  struct {
					Value, U95 float64
					Basis      string
				} `json:"measured_s"`
			}
		}
		Differences []struct {
			A, B, Name string
			Measured   struct{ Value, U95 float64 } `json:"measured_s"`
			Explained  []struct {
				What    string
				Seconds float64
			}
			Unexplained struct{ Value, U95 float64 } `json:"unexplained_s"`
		} `json:"time_differences"`
		Spent []struct {
			A, B     string
			Measured struct{ Value float64 } `json:"measured_s"`
			Parts    []struct {
				Seconds struct{ Value float64 }
			}
		} `json:"where_time_went"`
		Traces struct {
			Differences []struct {
				A, B string
				Loss struct{ Value, U95 float64 } `json:"driveline_loss_percent"`
			} `json:"mode_differences"`
		}
	}
	var b bytes.Buffer
	if err := report.ExplainJSON(&b, e); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(b.Bytes(), &js); err != nil {
		t.Fatal(err)
	}
	schema, err := jsonschema.NewCompiler().Compile("../../docs/explain.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	if v, err := jsonschema.UnmarshalJSON(bytes.NewReader(b.Bytes())); err != nil || schema.Validate(v) != nil {
		t.Errorf("not as its schema says: %v, %v", err, schema.Validate(v))
	}
	var short bytes.Buffer
	if err := report.ExplainText(&short, e); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(short.String(), "\n"); n >= 60 {
		t.Errorf("the short text has %d lines", n)
	}
	for _, s := range js.Spent {
		sum := 0.0
		for _, p := range s.Parts {
			sum += p.Seconds.Value
		}
		if math.Abs(sum-s.Measured.Value) > 0.5e-6*float64(len(s.Parts)+1) { // each is rounded to a millionth
			t.Errorf("%s less %s: parts make %g of %g s", s.A, s.B, sum, s.Measured.Value)
		}
	}
	if len(js.Spent) != 3 {
		t.Errorf("%d pairs taken apart, want 3", len(js.Spent))
	}
	n := 0
	for _, m := range js.Modes {
		for _, x := range m.Times {
			n++
			if d := x.Predicted.Value/x.Measured.Value - 1; math.Abs(d) > 0.02 || x.Measured.Basis != "measured" {
				t.Errorf("%s, %s: predicted %.2f s, %s %.2f s: %.1f %% off", m.Mode, x.Name, x.Predicted.Value, x.Measured.Basis, x.Measured.Value, 100*d)
			}
		}
		if regexp.MustCompile(`NaN|Inf|%!`).MatchString(m.Story) || !strings.Contains(m.Story, "±") {
			t.Errorf("story of %s: %s", m.Mode, m.Story)
		}
	}
	if n != 9 {
		t.Errorf("%d times predicted beside measured ones, want 9", n)
	}
	if len(js.Differences) != 9 {
		t.Errorf("%d differences in time, want 9", len(js.Differences))
	}
	for _, d := range js.Differences {
		if len(d.Explained) != 1 || d.Explained[0].What != "power share" {
			t.Errorf("%s against %s, %s: explained by %+v", d.A, d.B, d.Name, d.Explained)
			continue
		}
		if math.Abs(d.Measured.Value-d.Explained[0].Seconds-d.Unexplained.Value) > 1e-5 || math.Abs(d.Unexplained.Value) > d.Unexplained.U95 {
			t.Errorf("%s against %s, %s: of %.2f s %.2f s explained, %.2f ±%.2f s left", d.A, d.B, d.Name, d.Measured.Value, d.Explained[0].Seconds, d.Unexplained.Value, d.Unexplained.U95)
		}
	}
	for _, d := range js.Traces.Differences { // all three have the same driveline
		if math.Abs(d.Loss.Value) > d.Loss.U95 {
			t.Errorf("%s against %s: loss of %.1f ±%.1f %%, there is none", d.A, d.B, d.Loss.Value, d.Loss.U95)
		}
	}
	for name, out := range forms(t, e) {
		for _, want := range []string{"takes", "costs", "measured", "modelled", "grip limit", "power share", "Do not launch against the brakes in low range.", "on dry pavement: straight on only"} {
			if name == "JSON" && (want == "takes" || want == "costs") {
				continue
			}
			if !strings.Contains(out, want) {
				t.Errorf("%s lacks %q", name, want)
			}
		}
	}
}

// A sheet with half the vehicle unknown gives what it can and says what would
// unlock the rest; without a line of the vehicle it still compares the modes.
func TestHalfASheetIsExplained(t *testing.T) {
	cut := func(keys ...string) func(string) string {
		return func(s string) string {
			var out []string
			for _, l := range strings.Split(s, "\n") {
				k, _, _ := strings.Cut(l, " ")
				drop := false
				for _, x := range keys {
					drop = drop || k == x
				}
				if !drop {
					out = append(out, l)
				}
			}
			return strings.Join(out, "\n")
		}
	}
	for _, c := range []struct {
		name       string
		edit       func(string) string
		want, lack []string
	}{
		{"no gearing", cut("gears", "final_drive", "shift_rpm"), []string{"missing gears and final_drive: would unlock", "kN", "grip limit", "Share that each run used (modelled)"}, []string{"The prediction to", "The sheet puts it down to"}},
		{"no torque", cut("torque_rpm_nm", "limit_rpm"), []string{"missing torque_rpm_nm, or torque and power with their speeds: would unlock", "kN", "1 to 2"}, []string{"The prediction to"}},
		{"no weights", cut("front_axle_kg", "rear_axle_kg", "friction"), []string{"missing front_axle_kg and rear_axle_kg: would unlock", "missing friction: would unlock", "% of the mass is taken to stand on the front axle"}, []string{"grip limit 6889"}},
		{"no mass", cut("mass_kg", "front_axle_kg", "rear_axle_kg"), []string{"missing mass_kg: would unlock", "N/kg"}, []string{"kN", "The prediction to"}},
		{"no power share", cut("power_share"), []string{"which the sheet does not tell apart", "power_share", "The sheet describes both modes alike"}, nil},
		{"no vehicle", cut("mass_kg", "driven", "gears", "final_drive", "tyre_radius_m", "torque_rpm_nm", "limit_rpm", "shift_rpm", "shift_s", "shift_thrust_share", "launch_rpm", "engine",
			"drag_area_m2", "rolling_resistance", "driveline_efficiency", "front_axle_kg", "rear_axle_kg", "wheelbase_m", "cg_height_m", "friction", "mass_factor", "rear_differential", "power_share"),
			[]string{"missing mass_kg: would unlock", "N/kg", "To 60 mph calm takes", "assumed"}, []string{"The prediction to", "N, 0."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			e := demoExplained(t, c.edit)
			for name, out := range forms(t, e) {
				if name == "JSON" {
					continue
				}
				out = strings.ReplaceAll(out, "\\", "")
				for _, want := range c.want {
					if !strings.Contains(out, want) {
						t.Errorf("%s lacks %q", name, want)
					}
				}
				for _, lack := range c.lack {
					if strings.Contains(out, lack) {
						t.Errorf("%s has %q", name, lack)
					}
				}
			}
		})
	}
}

// Where nothing tells whether grip or the engine limits, neither is said to; a mass that
// the times contradict explains nothing.
func TestNoLimitIsClaimedThatIsNotKnown(t *testing.T) {
	short := func(edit func(string) string) string {
		var b bytes.Buffer
		if err := report.ExplainText(&b, demoExplained(t, edit)); err != nil {
			t.Fatal(err)
		}
		return b.String()
	}
	slippery := short(func(s string) string { return strings.Replace(s, "friction = 0.54", "friction = 0.3", 1) })
	if !strings.Contains(slippery, "friction = 0.3 is contradicted") || strings.Contains(slippery, "the engine limits") || !strings.Contains(slippery, "limit not told") {
		t.Errorf("friction of 0.3:\n%s", slippery)
	}
	heavy := short(func(s string) string {
		return strings.NewReplacer("mass_kg = 2080.0", "mass_kg = 2900.0", "front_axle_kg = 960.0", "front_axle_kg = 1340.0", "rear_axle_kg = 1120.0", "rear_axle_kg = 1560.0").Replace(s)
	})
	if !strings.Contains(heavy, "it explains nothing here") || strings.Contains(heavy, "puts it down to") {
		t.Errorf("40 %% too heavy:\n%s", heavy)
	}
}

// What the traces show of the vehicle is offered with its limits, and only where the sheet
// has no value of its own.
func TestTracesOfferWhatTheSheetLacks(t *testing.T) {
	none := func(s string) string { return s }
	without := func(s string) string {
		return strings.Replace(strings.Replace(s, "friction = ", "# friction = ", 1), "[vehicle]", "[vehicle]\nbuild_up_s = 0.2", 1)
	}
	of := func(edit func(string) string) map[string]explain.Offered {
		found := map[string]explain.Offered{}
		for _, o := range demoExplained(t, edit).Offered() {
			if !(o.Lo <= o.X) || !(o.X <= o.Hi) && !math.IsNaN(o.Hi) {
				t.Errorf("%+v", o)
			}
			found[o.Key+o.Mode] = o
		}
		return found
	}
	found := of(none)
	for _, want := range []string{explain.OfferedBuildUp + "calm", explain.OfferedBuildUp + "full", explain.OfferedPower + "full"} {
		if _, ok := found[want]; !ok {
			t.Errorf("%s is not offered: %+v", want, found)
		}
	}
	if _, ok := found[explain.OfferedFriction]; ok {
		t.Error("the sheet's own friction is offered anew")
	}
	// The demonstration's 0.54 is what its wheels grip with (fixtures, sheet).
	bare := of(without)
	if f := bare[explain.OfferedFriction]; !(f.X > 0.45 && f.X < 0.54) {
		t.Errorf("friction at least %v of 0.54", f.X)
	}
	if _, ok := bare[explain.OfferedBuildUp+"calm"]; ok {
		t.Error("the sheet's own build-up is offered anew")
	}
}

package report

import (
	"bytes"
	"strings"
	"testing"

	"fromrest/pkg/motion/beside"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/testschema"
	"fromrest/pkg/uncert"
)

// What two logs say of each other is said of the one that is later, smoother or quicker, and in
// the JSON with the sign of the first.
func TestBesideSaysWhich(t *testing.T) {
	res := sample()
	a, o := res.Logs[0], res.Logs[1]
	b := &session.Beside{Log: a, Other: o, Behind: &beside.Behind{Late: uncert.Value{X: -0.25, U: 0.01}, Smoothing: uncert.Value{X: -0.2, U: 0.02}, Scale: uncert.Value{X: 1.01, U: 0.001}, Scatter: 0.04, N: 900},
		Sensors: []session.BesideSensor{{Speed: a, Accel: o, Late: uncert.Value{X: 0.225, U: 0.005}}, {Speed: o, Accel: a, Reason: "loose"}}}
	of := *res.Runs[0]
	of.WitnessOf = res.Runs[1]
	for i := range 3 {
		b.Common = append(b.Common, session.BesideTime{Run: &of, Less: session.Parting{Name: "0-60 mph", From: timing.FromRollout, Seconds: 0.1, U95: 0.2}, Agree: i > 0})
	}
	var text, json bytes.Buffer
	if err := BesideText(&text, res, b, false); err != nil {
		t.Fatal(err)
	}
	flat := strings.Join(strings.Fields(text.String()), " ")
	for _, want := range []string{a.Name + " beside " + o.Name, "a steady pull 0.250 ± 0.020 s earlier than " + o.Name + ", told by 900 speeds", o.Name + " smooths more than " + a.Name + ", by a time constant of 0.200 ± 0.039 s",
		"shows 1.0100 ±0.0020 of its speed", "0.2250 ± 0.0098 s later than the accelerometer of " + o.Name, "does not tell: loose", "0 of 0 from rest and 2 of 3 with rollout agree"} {
		if !strings.Contains(flat, want) {
			t.Errorf("no %q in\n%s", want, text.String())
		}
	}
	if err := BesideJSON(&json, res, b); err != nil {
		t.Fatal(err)
	}
	testschema.Published(t, "../../docs/check.schema.json", &jsonCheck{}, false, json.Bytes())
	if !strings.Contains(json.String(), `"late_s": -0.25`) {
		t.Error(json.String())
	}
	b.Behind, b.Reason, b.Common = nil, "one of them has no speed", nil
	text.Reset()
	if err := BesideText(&text, res, b, false); err != nil || !strings.Contains(text.String(), "one of them has no speed") || !strings.Contains(text.String(), "none: no start that both recorded") {
		t.Errorf("%v\n%s", err, text.String())
	}
}

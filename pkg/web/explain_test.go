package web

import (
	"encoding/json"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/synth"
)

// The wheels of the form are answered from the sheet, with the drawing; what the
// sheet lacks and what is no wheel or mode is one line.
func TestWhichWheelsPush(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, filepath.Join(dir, "calm-1.nmea"), "calm")
	waitRead(t, sv, id, 1)
	wheels := func(q url.Values) (int, string, string) {
		res := ask(t, "GET", sv.url+"/api/sessions/"+id+"/wheels?"+q.Encode(), "")
		return res.StatusCode, res.Header.Get("Content-Security-Policy"), text(t, res)
	}
	if code, _, body := wheels(nil); code != 422 || !strings.Contains(body, "the sheet lacks") {
		t.Errorf("without a vehicle: %d %s", code, body)
	}
	sheet, err := os.ReadFile(filepath.Join(dir, "session.toml"))
	if err != nil {
		t.Fatal(err)
	}
	// The session has one of the sheet's logs.
	vehicle := string(sheet[strings.Index(string(sheet), "[vehicle]"):strings.Index(string(sheet), "[conditions]")])
	edit, _ := json.Marshal(map[string]any{"op": "sheet", "text": vehicle, "base": 0})
	if res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/edit", string(edit), "X-Fromrest: 1"); res.StatusCode != 200 {
		t.Fatalf("sheet: %s", text(t, res))
	}
	code, policy, body := wheels(url.Values{"nogrip": {"rl"}, "air": {"fr"}})
	for _, want := range []string{"<svg", "spins and pushes nothing", "in the air", "N·m", "Never stage wheels"} {
		if code != 200 || !strings.Contains(body, want) {
			t.Errorf("%d, no %q in %.200s", code, want, body)
		}
	}
	if !strings.Contains(policy, "sandbox") || strings.Contains(policy, "script") {
		t.Errorf("policy %q", policy)
	}
	for _, q := range []url.Values{{"nogrip": {"<b>"}}, {"air": {"fl", "fifth"}}, {"mode": {"<script>"}}} {
		if code, _, body := wheels(q); code != 422 || strings.ContainsAny(body, "<>") || strings.Count(body, "\n") > 1 {
			t.Errorf("%v: %d %s", q, code, body)
		}
	}
	// The same sheet explains the mode, with its force drawn.
	res := ask(t, "GET", sv.url+"/api/sessions/"+id+"/export/explain.html?show=1", "")
	if body := text(t, res); res.StatusCode != 200 || !strings.Contains(body, "Force at the wheels in each gear") || !strings.Contains(body, "Do not launch against the brakes") {
		t.Errorf("explanation: %s %.300s", res.Status, body)
	}
}

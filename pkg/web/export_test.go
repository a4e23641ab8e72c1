package web

import (
	"archive/zip"
	"bytes"
	"encoding/json"
	"fmt"
	"io/fs"
	"mime"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/session"
	"fromrest/pkg/synth"
)

// Every export that the page has a button for gives a file of its kind.
func TestEveryExportIsWritten(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{Version: "v9"})
	id := begin(t, sv.url)
	putLog(t, sv, id, filepath.Join(dir, "calm-1.nmea"), "calm")
	putLog(t, sv, id, filepath.Join(dir, "full-1.nmea"), "full")
	waitRead(t, sv, id, 2)
	var limits struct{ Exports [][2]string }
	if err := json.NewDecoder(ask(t, "GET", sv.url+"/api/limits", "").Body).Decode(&limits); err != nil || len(limits.Exports) < 15 {
		t.Fatalf("%d exports, %v", len(limits.Exports), err)
	}
	for _, e := range limits.Exports {
		res := ask(t, "GET", sv.url+"/api/sessions/"+id+"/export/"+e[0], "")
		body := []byte(text(t, res))
		_, params, err := mime.ParseMediaType(res.Header.Get("Content-Disposition"))
		if res.StatusCode != 200 || len(body) < 100 || err != nil || params["filename"] != "test-"+e[0] {
			t.Errorf("%s: %s, %d bytes, %v %v", e[0], res.Status, len(body), params, err)
			continue
		}
		if e[0] == "parquet.zip" {
			continue // its columns are looked at beside the command's
		}
		if says := string(unpacked(t, e[0], body)); !strings.Contains(says, session.MadeBy("v9", session.ModelRevision)) &&
			!strings.Contains(says, fmt.Sprintf(`"model": %d`, session.ModelRevision)) && !strings.Contains(says, fmt.Sprintf(",v9,%d\r\n", session.ModelRevision)) {
			t.Errorf("%s does not say which model made it", e[0])
		}
		switch filepath.Ext(e[0]) {
		case ".json":
			if !json.Valid(body) || bytes.Contains(body, []byte("NaN")) {
				t.Errorf("%s is no JSON", e[0])
			}
		case ".xlsx":
		default:
			text := strings.NewReplacer("0--60", "0-60", "0–60", "0-60").Replace(string(body)) // an en dash in print
			if !strings.Contains(text, "0-60 mph") && e[0] != "check.txt" && e[0] != "methods.txt" {
				t.Errorf("%s has no 0-60 mph:\n%.300s", e[0], body)
			}
		}
	}
	show := ask(t, "GET", sv.url+"/api/sessions/"+id+"/export/report.html?show=1", "")
	if csp := show.Header.Get("Content-Security-Policy"); !strings.Contains(csp, "sandbox") || strings.Contains(csp, "script") || show.Header.Get("Content-Disposition") != "" {
		t.Errorf("the report is shown with the policy %q", csp)
	}
	// With no run at all each is a file or one clear line.
	empty := begin(t, sv.url)
	for _, e := range limits.Exports {
		res := ask(t, "GET", sv.url+"/api/sessions/"+empty+"/export/"+e[0], "")
		if body := text(t, res); res.StatusCode != 200 && (res.StatusCode != 422 || !strings.HasPrefix(body, `{"error":"`)) {
			t.Errorf("empty session, %s: %s %s", e[0], res.Status, body)
		}
	}
}

// unpacked is a file, of a workbook all that is in it.
func unpacked(t *testing.T, name string, body []byte) []byte {
	t.Helper()
	if filepath.Ext(name) != ".xlsx" {
		return body
	}
	z, err := zip.NewReader(bytes.NewReader(body), int64(len(body)))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	var all []byte
	for _, f := range z.File {
		part, err := fs.ReadFile(z, f.Name)
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		all = append(all, part...)
	}
	return all
}

// The kept sessions of a vehicle are given by date, as the command gives them; of a vehicle that no
// sheet names there is one clear line.
func TestHistoryOfAVehicle(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{Version: "v9"})
	id := begin(t, sv.url)
	putLog(t, sv, id, filepath.Join(dir, "full-1.nmea"), "full")
	waitRead(t, sv, id, 1)
	edit, _ := json.Marshal(map[string]any{"op": "sheet", "text": "[vehicle]\nname = \"van\"\nodometer_km = 41000\n", "base": 0})
	if res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/edit", string(edit), "X-Fromrest: 1"); res.StatusCode != 200 {
		t.Fatal(res.Status, text(t, res))
	}
	var got struct {
		Schema string
		Series []struct {
			Mode string
			Days []struct {
				Odometer float64 `json:"odometer_km"`
				Model    int
			}
			Said []string
		}
	}
	if err := json.Unmarshal([]byte(text(t, ask(t, "GET", sv.url+"/api/history?vehicle=van&at=0-60+mph", ""))), &got); err != nil {
		t.Fatal(err)
	}
	if got.Schema != "fromrest.history/1" || len(got.Series) != 1 || got.Series[0].Mode != "full" || got.Series[0].Days[0].Odometer != 41000 || got.Series[0].Days[0].Model != session.ModelRevision || !strings.Contains(got.Series[0].Said[0], "one session") {
		t.Errorf("%+v", got)
	}
	for _, q := range []string{"", "?vehicle=lorry", "?vehicle=van&at=soon"} {
		if res := ask(t, "GET", sv.url+"/api/history"+q, ""); res.StatusCode != 422 || !strings.HasPrefix(text(t, res), `{"error":"`) {
			t.Errorf("%q: %s", q, res.Status)
		}
	}
}

package web

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/synth"
)

// nextWeek writes the NMEA logs of a demonstration of other runs a week later, with its sheet.
func nextWeek(t *testing.T, dir string) []string {
	t.Helper()
	logs, err := synth.Demo(synth.DemoSeed + 40)
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	put := func(name string, b []byte) {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b, 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, path)
	}
	for _, l := range logs {
		if filepath.Ext(l.Name) != ".nmea" {
			continue
		}
		l.Session.Scenario.Begin = l.Session.Scenario.Begin.Add(7 * 24 * time.Hour)
		var b bytes.Buffer
		if err := l.Write(&b); err != nil {
			t.Fatal(err)
		}
		put(l.Name, b.Bytes())
	}
	put("session.toml", []byte(strings.Join([]string{`title = "A week later"`, `[vehicle]`, `name = "panel van, invented"`,
		`[[mode]]`, `name = "calm"`, `logs = ["calm-1", "calm-2"]`, `[[mode]]`, `name = "plain"`, `logs = ["plain-1", "plain-2"]`, `[[mode]]`, `name = "full"`, `logs = ["full-1"]`, ""}, "\n")))
	return files
}

// Two days are held against each other with a term for the day; the days of one mode are
// not called different, whatever they differ by.
func TestTwoDays(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "van")
	b, sv := fromDrop(t, wholeDemo(t, dir), 1400, 900)
	first := b.id()
	later := filepath.Join(t.TempDir(), "later")
	if err := os.Mkdir(later, 0o755); err != nil {
		t.Fatal(err)
	}
	b.js(`(location.hash = "#/", "")`)
	b.wait(`document.querySelector(".sessions a")`)
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), nextWeek(t, later)))
	b.wait(stands)
	second := b.id()
	b.js(`(document.getElementById("days").open = true, "")`)
	b.wait(`document.querySelectorAll("#days-with option").length === 2`)
	b.js(`(() => { const e = document.getElementById("days-with"); e.value = "` + first + `"; e.dispatchEvent(new Event("change")); return ""; })()`)
	b.wait(`document.querySelectorAll("#days-body .days tbody tr").length === 3`)
	var v daysView
	if err := json.Unmarshal([]byte(text(t, ask(t, "GET", sv.url+"/api/sessions/"+second+"/days?with="+first, ""))), &v); err != nil {
		t.Fatal(err)
	}
	if v.Answer == nil || !strings.Contains(v.Answer.Model, "mode + session") || len(v.Answer.Verdicts) != 3 || !strings.Contains(v.Answer.Verdicts[0], "quicker than") {
		t.Errorf("%+v", v.Answer)
	}
	if v.Dates != [2]string{"2026-05-09", "2026-05-16"} || !strings.HasPrefix(v.Days[0].On[0].Name, "calm, 2026-05-09") {
		t.Errorf("%v: %+v", v.Dates, v.Days)
	}
	for _, d := range v.Days {
		if !strings.Contains(d.Why, "the day would pass for a difference") || d.Difference.Half == "" || d.On[0].N == 0 || d.On[1].N == 0 {
			t.Errorf("%+v", d)
		}
	}
	b.axe("days")
	b.shot("days")
	b.do(chromedp.Reload())
	b.wait(`document.querySelectorAll("#days-body .days tbody tr").length === 3`)
	if res := ask(t, "GET", sv.url+"/api/sessions/"+second+"/days?with="+second, ""); res.StatusCode != 422 {
		t.Errorf("itself: %s", res.Status)
	}
	if res := ask(t, "GET", sv.url+"/api/sessions/"+second+"/days?with=nothing", ""); res.StatusCode != 404 {
		t.Errorf("nothing: %s", res.Status)
	}
}

// Outside times stand on the page as check lists them.
func TestOutsideTimesOnThePage(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "van")
	b, sv := fromDrop(t, wholeDemo(t, dir), 1400, 900)
	if got := b.js(`document.getElementById("outside").hidden`); got != "true" {
		t.Error("outside times without any")
	}
	var sheet struct {
		Text     string
		Revision int
	}
	at := sv.url + "/api/sessions/" + b.id()
	if err := json.Unmarshal([]byte(text(t, ask(t, "GET", at+"/sheet", ""))), &sheet); err != nil {
		t.Fatal(err)
	}
	q, _ := json.Marshal(map[string]any{"op": "sheet", "base": sheet.Revision, "text": sheet.Text +
		"\n[[witness]]\nrun = \"calm-1#1\"\ntarget = \"0-60 mph\"\nseconds = 14.9\nu95_s = 0.02\norigin = \"rollout\"\nby = \"light gate\"\n"})
	if v, code := edit(t, sv, b.id(), string(q)); code != 200 {
		t.Fatalf("%d %+v", code, v)
	}
	b.wait(`!document.getElementById("outside").hidden && document.querySelector("#outside tbody tr td")`)
	b.js(`(document.getElementById("outside").open = true, "")`)
	got := b.js(`document.getElementById("outside").innerText`)
	check := text(t, ask(t, "GET", at+"/export/check.txt", ""))
	for _, want := range []string{"14.900", "0.020", "calm-1"} {
		if !strings.Contains(got, want) || !strings.Contains(check, want) {
			t.Errorf("%s is not on the page or not in check:\n%s\n%s", want, got, check)
		}
	}
	if agrees := strings.Contains(check, "agree"); !agrees || !strings.Contains(got, "of 1 agree") {
		t.Errorf("%s", got)
	}
	b.axe("outside")
}

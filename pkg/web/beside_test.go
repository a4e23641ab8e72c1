package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/format"
	"fromrest/pkg/recording"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
)

// odd writes the files of one drive that a page has to ask about: its log, that of a second
// receiver, an accelerometer alone, and a table that says nothing of itself.
func odd(t *testing.T, dir string) (log, second, sensor, table string) {
	t.Helper()
	logs, err := synth.Demo(synth.DemoSeed)
	if err != nil {
		t.Fatal(err)
	}
	put := func(name string, write func(b *bytes.Buffer) error) string {
		var b bytes.Buffer
		if err := write(&b); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	s := logs[0].Session
	log = put("drive.nmea", func(b *bytes.Buffer) error { return logs[0].Write(b) })
	second = put("other.nmea", func(b *bytes.Buffer) error {
		return synth.WriteNMEA(b, s.Recording(synth.Receiver{Rate: 5, Noise: 0.06}, nil, 77), synth.NMEAOptions{})
	})
	sensor = put("imu.csv", func(b *bytes.Buffer) error {
		a := s.Accel(synth.Accelerometer{Noise: 0.3}, 5)
		b.WriteString("utc_ms,ax_mps2,ay_mps2,az_mps2\n")
		for i, n := range a.NanoUTC {
			fmt.Fprintf(b, "%d,%.4f,%.4f,%.4f\n", recording.Instant(n).UnixMilli(), a.X[i], a.Y[i], a.Z[i])
		}
		return nil
	})
	table = put("odd.csv", func(b *bytes.Buffer) error {
		tr := s.Track(synth.Receiver{Rate: 10, Noise: 0.05}, 9)
		b.WriteString("stamp;how_fast\n")
		for i := range tr.Len() {
			if v := tr.At(i).Q[recording.Speed]; !math.IsNaN(v) {
				fmt.Fprintf(b, "%d;%.3f\n", recording.Instant(tr.NanoAt(i)).UnixMilli()%100_000_000, v*3.6)
			}
		}
		return nil
	})
	return log, second, sensor, table
}

// opened gives the bytes of a file under another name.
func opened(path string) func() (io.ReadCloser, error) {
	return func() (io.ReadCloser, error) { return os.Open(path) }
}

// An accelerometer alone is offered to the log whose clock it overlaps, and the result is
// that of the command with the sheet.
func TestAccelerometerIsOffered(t *testing.T) {
	dir := t.TempDir()
	log, _, sensor, _ := odd(t, dir)
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, sensor, "")
	if v := waitRead(t, sv, id, 1); len(v.Logs[0].Goes) != 0 {
		t.Errorf("alone it goes with %v", v.Logs[0].Goes)
	}
	putLog(t, sv, id, log, "")
	far := demoFiles(t, t.TempDir(), 3)[2] // of another time
	putLog(t, sv, id, far, "")
	v := waitRead(t, sv, id, 3)
	goes := map[string][]string{}
	for _, l := range v.Logs {
		goes[l.Name] = l.Goes
	}
	if fmt.Sprint(goes) != "map[drive.nmea:[] full-1.nmea:[] imu.csv:[drive.nmea]]" {
		t.Errorf("offered: %v", goes)
	}
	if _, code := edit(t, sv, id, `{"op":"head","key":"with","value":"imu.csv"}`); code != 200 {
		t.Fatalf("%d", code)
	}
	v = waitRead(t, sv, id, 3)
	for _, l := range v.Logs {
		has := strings.Contains(fmt.Sprint(l.Facts), "used together with the speed")
		if has != (l.Name == "drive.nmea") || l.Name == "imu.csv" && (l.Runs != 0 || l.Text == "" || len(l.Goes) != 0) {
			t.Errorf("%s: %+v", l.Name, l)
		}
	}
	c, err := format.OpenCompanion(context.Background(), sensor, format.Options{})
	if err != nil {
		t.Fatal(err)
	}
	c.Several = true
	res, err := session.Run(context.Background(), []session.Input{{Path: "drive.nmea", Open: opened(log)}, {Path: "full-1.nmea", Open: opened(far)}}, session.Options{With: c, Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	var want bytes.Buffer
	if err := report.RunsText(&want, res); err != nil {
		t.Fatal(err)
	}
	if got := text(t, ask(t, "GET", sv.url+"/api/sessions/"+id+"/export/runs.txt", "")); got != want.String() {
		t.Errorf("the page:\n%s\nthe command:\n%s", got, want.String())
	}
	// Taken back, it stands alone again.
	edit(t, sv, id, `{"op":"head","key":"with","value":""}`)
	if v = waitRead(t, sv, id, 3); len(v.Logs) != 3 {
		t.Fatal("a log is gone")
	}
	for _, l := range v.Logs {
		if l.Name == "imu.csv" && len(l.Goes) != 1 || strings.Contains(fmt.Sprint(l.Facts), "used together with the speed") {
			t.Errorf("%+v", l)
		}
	}
}

// A table that says nothing of itself shows its rows; what is said of its columns is kept in
// the sheet, and the log is read so. Nothing on the server's disk can be named there.
func TestColumnsAreAsked(t *testing.T) {
	dir := t.TempDir()
	_, _, _, table := odd(t, dir)
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, table, "")
	v := waitRead(t, sv, id, 1)
	if v.Logs[0].State != stateFailed || !v.Logs[0].Table {
		t.Fatalf("%+v", v.Logs[0])
	}
	var c columnsView
	if err := json.Unmarshal([]byte(text(t, ask(t, "GET", sv.url+"/api/sessions/"+id+"/logs/"+v.Logs[0].SHA+"/columns", ""))), &c); err != nil {
		t.Fatal(err)
	}
	if len(c.Rows) != rowsShown || len(c.Columns) != 2 || c.Columns[1].Column != "how_fast" || c.Asks == "" || len(c.Roles) < 10 {
		t.Errorf("%+v", c)
	}
	for _, bad := range []string{`{"op":"columns","columns":[]}`, `{"op":"columns","columns":[{"column":"how_fast","role":"speed","unit":"kg"}]}`,
		`{"op":"head","key":"columns","value":"/etc/passwd"}`, `{"op":"head","key":"columns","value":"speed=/etc/x.DBC#a"}`, `{"op":"head","key":"with","value":"../a.csv"}`} {
		if _, code := edit(t, sv, id, bad); code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", bad, code)
		}
	}
	if _, code := edit(t, sv, id, `{"op":"columns","columns":[{"column":"stamp","role":"time","unit":"ms"},{"column":"how_fast","role":"speed","unit":"km/h"}]}`); code != 200 {
		t.Fatalf("%d", code)
	}
	if v = waitRead(t, sv, id, 1); v.Logs[0].State != stateDone || len(v.Runs) != 2 {
		t.Fatalf("%+v", v.Logs[0])
	}
	var sheet struct{ Text string }
	if err := json.Unmarshal([]byte(text(t, ask(t, "GET", sv.url+"/api/sessions/"+id+"/sheet", ""))), &sheet); err != nil || !strings.Contains(sheet.Text, `columns = "time=stamp:ms,speed=how_fast:km/h"`) {
		t.Errorf("%v: %s", err, sheet.Text)
	}
}

// Of two recordings of one drive the surer counts, unless it is said otherwise.
func TestWhichRecordingCounts(t *testing.T) {
	dir := t.TempDir()
	log, second, _, _ := odd(t, dir)
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, log, "calm")
	putLog(t, sv, id, second, "calm")
	v := waitRead(t, sv, id, 2)
	if len(v.Twice) != 1 || v.Twice[0].Drives != 2 || v.Twice[0].Settled || v.Twice[0].Logs[0] != "drive" {
		t.Fatalf("%+v", v.Twice)
	}
	say := func(value string) sessionView {
		t.Helper()
		q, _ := json.Marshal(map[string]any{"op": "recordings", "runs": v.Twice[0].Runs, "value": value})
		got, code := edit(t, sv, id, string(q))
		if code != 200 || got.Wrong != "" {
			t.Fatalf("%s: %d %s", value, code, got.Wrong)
		}
		return got
	}
	counted := func(v sessionView) string {
		var out []string
		for _, r := range v.Runs {
			if r.Counted {
				out = append(out, r.ID)
			}
		}
		slices.Sort(out)
		return strings.Join(out, " ")
	}
	for value, want := range map[string]string{"first": "drive#1 drive#2", "second": "other#1 other#2", "both": "drive#1 drive#2 other#1 other#2"} {
		got := say(value)
		if counted(got) != want || value != "both" && (len(got.Twice) != 1 || !got.Twice[0].Settled) || value == "both" && len(got.Twice) != 0 {
			t.Errorf("%s: %s, %+v", value, counted(got), got.Twice)
		}
	}
}

// What a page asks of odd files is answered on it.
func TestOddFilesOnThePage(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	log, second, sensor, table := odd(t, dir)
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.drop([]string{log, second, sensor, table})
	questions := `[...document.querySelectorAll("#open-questions li")].map((e) => e.textContent).join()`
	b.wait(`document.getElementById("logs-sum").textContent.startsWith("4 logs, ") && /which count/.test(` + questions + `)`)
	b.wait(`([...document.querySelectorAll("#open-questions button")].find((e) => /more/.test(e.textContent))?.click(), true) && /imu.csv is an accelerometer alone: does it go with (drive.nmea, other.nmea|other.nmea, drive.nmea)/.test(` + questions + `) && /What are the columns of odd.csv/.test(` + questions + `)`)
	b.js(`([...document.querySelectorAll("#open-questions button")].find((e) => /columns of/.test(e.textContent)).click(), "")`)
	b.wait(`document.querySelector(".sight tbody tr") && document.activeElement.closest(".columns")`)
	b.shot("odd")
	b.axe("odd")
	set := func(id, value string) {
		b.js(`(() => { const e = [...document.querySelectorAll(".sight select")].find((e) => e.id.endsWith("` + id + `")); e.value = "` + value + `"; e.dispatchEvent(new Event("change")); return ""; })()`)
	}
	set("role-0", "time")
	set("unit-0", "ms")
	set("role-1", "speed")
	set("unit-1", "km/h")
	b.js(`(document.querySelector(".columns button.main").click(), "")`)
	b.wait(`!/columns of odd/.test(` + questions + `) && /8 runs|6 runs/.test(document.getElementById("logs-sum").textContent) && !/still/.test(document.getElementById("logs-sum").textContent)`)
	b.js(`(document.querySelector('[id^="goes-"]').click(), "")`)
	b.wait(`/its accelerometer goes with the other logs/.test(document.getElementById("logs").textContent) && !/accelerometer alone/.test(` + questions + `) && !/still/.test(document.getElementById("logs-sum").textContent)`)
	b.js(`(document.querySelector('#twice input[value]:not(:checked), #twice input:not(:checked)').click(), "")`)
	b.wait(`!/which count/.test(` + questions + `)`)
	b.wait(`/with = "imu.csv"/.test(document.getElementById("sheet-text").value) && /witness_of = "/.test(document.getElementById("sheet-text").value)`)
}

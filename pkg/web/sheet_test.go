package web

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
	"fromrest/pkg/tomltext"
)

// A sheet as people write it: comments, odd spacing, keys in any order.
const written = `# my day
title = "Runway" # a remark
notes = "mind the [[run]] in here"

[vehicle]
name = "van"

[[mode]]
name = "eco"

[[ run ]]
mode = "eco" # first
id = "a#1"

[[run]]
id = "a#2"
remark = "keep = \"true\""

[[exclude]]
run = "a#2"
reason = "gust"
`

func parse(t *testing.T, text string) *sheet.Sheet {
	t.Helper()
	p, err := sheet.Parse(text, sheetName)
	if err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
	return p
}

func TestEditsLeaveTheRestOfTheSheet(t *testing.T) {
	text := tomltext.New(written)
	text.Add("mode", "[[mode]]\nname = \"sport\"\ndescription = \"\"")
	text.SetIn(tomltext.Entry{Table: "run", Key: "id", Value: "a#1"}, "mode", tomltext.Quote("sport"))
	text.SetIn(tomltext.Entry{Table: "run", Key: "id", Value: "a#2"}, "mode", tomltext.Quote("sport"))
	text.SetIn(tomltext.Entry{Table: "run", Key: "id", Value: `b"x\#1`}, "mode", tomltext.Quote("eco"))
	text.Drop(tomltext.Entry{Table: "exclude", Key: "run", Value: "a#2"})
	text.Set("", "place", tomltext.Quote("airfield"))
	text.Set("", "title", tomltext.Quote("Other"))
	text.Set("conditions", "surface", tomltext.Quote("dry"))
	text.Set("vehicle", "name", tomltext.Quote("bus"))
	b := text.String()
	p := parse(t, b)
	if p.Title != "Other" || p.Place != "airfield" || p.Conditions.Surface != "dry" || p.Vehicle.Name != "bus" || !strings.Contains(p.Notes, "[[run]]") {
		t.Errorf("head %+v", p)
	}
	if len(p.Modes) != 2 || len(p.Excluded) != 0 || len(p.Runs) != 3 {
		t.Fatalf("modes %v, excluded %v, runs %v", p.Modes, p.Excluded, p.Runs)
	}
	for i, want := range []struct{ id, mode string }{{"a#1", "sport"}, {"a#2", "sport"}, {`b"x\#1`, "eco"}} {
		if p.Runs[i].ID != want.id || p.Runs[i].Mode != want.mode {
			t.Errorf("run %+v, want %v", p.Runs[i], want)
		}
	}
	for _, kept := range []string{"# my day", `notes = "mind the [[run]] in here"`, `remark = "keep = \"true\""`} {
		if !strings.Contains(b, kept) {
			t.Errorf("lost %q in\n%s", kept, b)
		}
	}
}

// Whatever is in a sheet and in an edit, the outcome parses to what was meant or
// is refused by the parser; nothing else in the sheet moves.
func FuzzEditSheet(f *testing.F) {
	f.Add(written, "a#1", "sport")
	f.Add("", "x#1", "\x00\"\n[[run]]")
	f.Add("[[run]]\nid='a'\n[run.x]\n", "a", "m")
	f.Add("run = []\n", "a", "m")
	f.Fuzz(func(t *testing.T, text, id, mode string) {
		before, err := sheet.Parse(text, sheetName)
		if err != nil || clean(id, 80) != id || id == "" || clean(mode, 60) != mode {
			return
		}
		changed := tomltext.New(text)
		changed.SetIn(tomltext.Entry{Table: "run", Key: "id", Value: id}, "remark", tomltext.Quote(mode))
		after, err := sheet.Parse(changed.String(), sheetName)
		if err != nil {
			return
		}
		if after.Title != before.Title || after.Notes != before.Notes || len(after.Excluded) != len(before.Excluded) {
			t.Errorf("the rest of the sheet moved:\n%s", text)
		}
	})
}

// waitRead waits until all logs of a session have been read and returns it.
func waitRead(t *testing.T, sv *served, id string, logs int) sessionView {
	t.Helper()
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(30 * time.Millisecond) {
		var v sessionView
		if err := json.NewDecoder(ask(t, "GET", sv.url+"/api/sessions/"+id, "").Body).Decode(&v); err != nil {
			t.Fatal(err)
		}
		if v.Pending == 0 && len(v.Logs) == logs {
			return v
		}
	}
	t.Fatal("the logs were never read")
	return sessionView{}
}

// put uploads a file.
func putLog(t *testing.T, sv *served, id, path, mode string) {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/logs?mode="+mode+"&name="+filepath.Base(path), string(b), "X-Fromrest: 1"); res.StatusCode != 200 {
		t.Fatalf("upload: %s", res.Status)
	}
}

func edit(t *testing.T, sv *served, id, body string) (sessionView, int) {
	t.Helper()
	res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/edit", body, "X-Fromrest: 1")
	var v sessionView
	if res.StatusCode == http.StatusOK {
		if err := json.NewDecoder(res.Body).Decode(&v); err != nil {
			t.Fatal(err)
		}
	}
	return v, res.StatusCode
}

func TestEditsThroughTheServer(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, filepath.Join(dir, "calm-1.nmea"), "calm")
	putLog(t, sv, id, filepath.Join(dir, "full-1.nmea"), "")
	v := waitRead(t, sv, id, 2)
	if len(v.Runs) < 4 || v.Runs[0].Mode != "calm" {
		t.Fatalf("runs %+v", v.Runs)
	}
	run := v.Runs[len(v.Runs)-1].ID
	q, _ := json.Marshal(run)
	v, code := edit(t, sv, id, `{"op":"exclude","runs":[`+string(q)+`],"reason":"gust"}`)
	if last := v.Runs[len(v.Runs)-1]; code != 200 || last.Counted || last.Excluded != "gust" || v.Undo != "excluded "+run+": gust" {
		t.Errorf("excluded: %d %+v undo %q", code, last, v.Undo)
	}
	for name, body := range map[string]string{
		"no reason": `{"op":"exclude","runs":[` + string(q) + `],"reason":" "}`, "no such run": `{"op":"mode","runs":["x#9"],"mode":"m"}`,
		"no such edit": `{"op":"format"}`, "bad sheet": `{"op":"sheet","base":1,"text":"tilte = 1"}`, "bad date": `{"op":"head","key":"date","value":"yesterday"}`,
		"no such field": `{"op":"head","key":"archive","value":"x"}`, "bad target": `{"op":"sheet","base":1,"text":"targets = [\"fast\"]"}`,
	} {
		if _, code := edit(t, sv, id, body); code != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", name, code)
		}
	}
	if _, code := edit(t, sv, id, `{"op":"sheet","base":0,"text":""}`); code != http.StatusConflict {
		t.Errorf("edit of an old revision: %d", code)
	}
	v, _ = edit(t, sv, id, `{"op":"include","runs":[`+string(q)+`]}`)
	if !v.Runs[len(v.Runs)-1].Counted {
		t.Error("not counted again")
	}
	// A target that the sheet adds is timed from the raw logs.
	targets, _ := json.Marshal("targets = [\"0-45 mph\"]\nunits = \"kmh\"\n")
	if _, code = edit(t, sv, id, `{"op":"sheet","base":2,"text":`+string(targets)+`}`); code != 200 {
		t.Fatalf("targets: %d", code)
	}
	v = waitRead(t, sv, id, 2)
	csv := text(t, ask(t, "GET", sv.url+"/api/sessions/"+id+"/export/runs.csv", ""))
	if !strings.Contains(csv, "0-45 mph") || v.Units.Name != "km/h" {
		t.Errorf("the added target or the unit is missing: %s", v.Units.Name)
	}
	for range 5 {
		ask(t, "POST", sv.url+"/api/sessions/"+id+"/undo", "{}", "X-Fromrest: 1")
	}
	v = waitRead(t, sv, id, 2)
	if v.Revision != 0 || v.Undo != "" || v.Redo == "" || v.Runs[0].Mode != "calm" {
		t.Errorf("all undone: revision %d, undo %q, redo %q", v.Revision, v.Undo, v.Redo)
	}
}

// The run list leads with what most runs reached.
func TestLeadsFollowTheRuns(t *testing.T) {
	run := func(counted bool, names ...string) *session.TimedRun {
		r := &session.TimedRun{Counted: counted}
		for _, n := range names {
			r.Times = append(r.Times, timing.Time{Name: n, From: timing.FromRollout})
		}
		return r
	}
	town := run(true, "0-30 mph", "0-20 mph", "60 ft", "330 ft")
	fast := run(true, "0-60 mph", "0-30 mph", "60 ft", "330 ft", "1/8 mile", "1/4 mile")
	for name, c := range map[string]struct {
		runs []*session.TimedRun
		want string
	}{
		"none":     {nil, "0-60 mph 1/4 mile"},
		"fast":     {[]*session.TimedRun{fast, fast, town}, "0-60 mph 1/4 mile"},
		"half":     {[]*session.TimedRun{fast, town}, "0-60 mph 1/4 mile"},
		"town":     {[]*session.TimedRun{fast, town, town}, "0-30 mph 330 ft"},
		"excluded": {[]*session.TimedRun{fast, run(false), run(false), run(false)}, "0-60 mph 1/4 mile"},
	} {
		if got := strings.Join(leads(&session.Result{Runs: c.runs}, "mph"), " "); got != c.want {
			t.Errorf("%s: %s, want %s", name, got, c.want)
		}
	}
}

// A result by another version is not overwritten, and a difference is told.
func TestOlderResultIsCompared(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "a.db")
	sv := serveTest(t, path, Options{Version: "v1"})
	id := begin(t, sv.url)
	putLog(t, sv, id, filepath.Join(dir, "calm-1.nmea"), "calm")
	waitRead(t, sv, id, 1)
	sv.stop()
	a := openArchive(t, path)
	ctx := context.Background()
	r, err := a.Result(ctx, id, 0)
	if err != nil || r.Version != "v1" || !bytes.Contains(r.Body, []byte("fromrest.runs/1")) {
		t.Fatalf("stored result %+v: %v", r, err)
	}
	// As if an earlier version had timed otherwise.
	r.Version = "v0"
	r.Body = bytes.ReplaceAll(bytes.ReplaceAll(r.Body, []byte(`"seconds": 1`), []byte(`"seconds": 2`)), []byte(`"version": "v1"`), []byte(`"version": "v0"`))
	if _, err := a.SaveResult(ctx, id, r); err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	sv = serveTest(t, path, Options{Version: "v2"})
	waitRead(t, sv, id, 1)
	time.Sleep(100 * time.Millisecond)
	if v := waitRead(t, sv, id, 1); !strings.HasPrefix(v.Older, "Against fromrest v0, model ") || !strings.Contains(v.Older, " s then, ") {
		t.Errorf("the difference is not told: %q", v.Older)
	}
}

func TestWatchTakesWhatStopsGrowing(t *testing.T) {
	dir := t.TempDir()
	watched := filepath.Join(dir, "card")
	if err := os.MkdirAll(filepath.Join(watched, "eco"), 0o755); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	sess, err := sv.arch.NewSession(context.Background(), "watch")
	if err != nil {
		t.Fatal(err)
	}
	ctx := context.Background()
	files := map[string]*seen{}
	have := func() []archive.SessionLog {
		t.Helper()
		s, err := sv.arch.Session(ctx, sess.ID)
		if err != nil {
			t.Fatal(err)
		}
		return s.Logs
	}
	log := filepath.Join(watched, "eco", "run.nmea")
	grow := func(text string) {
		f, err := os.OpenFile(log, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
		if err != nil {
			t.Fatal(err)
		}
		_, err = f.WriteString(text)
		if err := cmp.Or(err, f.Close()); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(os.WriteFile(filepath.Join(watched, ".hidden"), []byte("x"), 0o644),
		os.WriteFile(filepath.Join(dir, "outside"), []byte("secret"), 0o644),
		os.Symlink(filepath.Join(dir, "outside"), filepath.Join(watched, "link.nmea"))); err != nil {
		t.Fatal(err)
	}
	for range 6 { // it grows at each look
		grow("more\n")
		sv.look(ctx, sess.ID, watched, files)
	}
	if n := have(); len(n) != 0 {
		t.Fatalf("taken while it grows: %v", n)
	}
	for range 4 {
		sv.look(ctx, sess.ID, watched, files)
	}
	if l := have(); len(l) != 1 || l[0].Name != "run.nmea" || l[0].Mode != "eco" || l[0].Bytes != 30 {
		t.Errorf("taken: %+v", l)
	}
}

// The session.toml of a watched folder becomes the sheet of a session that has none, and
// replaces none; it is no log.
func TestWatchTakesTheSheet(t *testing.T) {
	dir := t.TempDir()
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	ctx := context.Background()
	sess, err := sv.arch.NewSession(ctx, "watch")
	if err != nil {
		t.Fatal(err)
	}
	write := func(text string) {
		t.Helper()
		if err := os.WriteFile(filepath.Join(dir, sheetName), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	body := func() string {
		t.Helper()
		sh, err := sv.arch.Sheet(ctx, sess.ID)
		if err != nil {
			t.Fatal(err)
		}
		return sh.Body
	}
	take := func() { sv.takeFile(ctx, sess.ID, dir, filepath.Join(dir, sheetName)) }
	write("titel = 1\n")
	if take(); body() != "" {
		t.Errorf("a sheet with a mistake is taken: %q", body())
	}
	write("title = \"airfield\"\r\n")
	if take(); body() != "title = \"airfield\"\n" {
		t.Errorf("the sheet is %q", body())
	}
	write("title = \"another\"\n")
	if take(); body() != "title = \"airfield\"\n" {
		t.Errorf("the sheet was replaced by %q", body())
	}
	if s, err := sv.arch.Session(ctx, sess.ID); err != nil || len(s.Logs) != 0 {
		t.Errorf("%v: logs %v", err, s.Logs)
	}
}

// What is noted of a run goes into its entry and out of it again; nothing else moves, and
// a note that somebody else changed is not overwritten.
func TestNotesOfRuns(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, filepath.Join(dir, "calm-1.nmea"), "calm")
	v := waitRead(t, sv, id, 1)
	note := func(key, value, was string) (sessionView, int) {
		t.Helper()
		q, _ := json.Marshal(map[string]any{"op": "note", "runs": []string{v.Runs[0].ID}, "key": key, "value": value, "was": was})
		return edit(t, sv, id, string(q))
	}
	got, code := note("tyre_pressure_kpa", "310,5", "")
	if code != 200 || got.Runs[0].Notes["tyre_pressure_kpa"] != "310.5" || got.Runs[1].Notes != nil || !strings.HasPrefix(got.Undo, "tyre pressure of calm-1#1: ") {
		t.Errorf("%d %+v %q", code, got.Runs, got.Undo)
	}
	if _, code = note("tyre_pressure_kpa", "300", ""); code != http.StatusConflict {
		t.Errorf("a stale note: %d", code)
	}
	if got, code = note("start_method", "brake \"held\"", ""); code != 200 || got.Runs[0].Notes["start_method"] != "brake \"held\"" {
		t.Errorf("%d %+v", code, got.Runs[0].Notes)
	}
	if got, code = note("tyre_pressure_kpa", "", "310.5"); code != 200 || len(got.Runs[0].Notes) != 1 {
		t.Errorf("%d %+v", code, got.Runs[0].Notes)
	}
	for key, value := range map[string]string{"fuel_l": "half", "mode": "x", "exclude": "x"} {
		if _, code = note(key, value, ""); code != http.StatusUnprocessableEntity {
			t.Errorf("%s = %s: %d", key, value, code)
		}
	}
}

package web

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

// desk is a page with one session of one log, asked without a network.
type desk struct {
	s    *Server
	h    http.Handler
	id   string
	runs []string
}

func newDesk(t testing.TB) *desk {
	t.Helper()
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	a, err := archive.Open(context.Background(), filepath.Join(dir, "a.db"))
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(Options{Archive: a, Version: "test", Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close(); _ = a.Close() })
	b := &desk{s: s, h: s.routes()}
	var made struct{ ID string }
	b.must(t, b.post("/api/sessions", `{"title":"test"}`), &made)
	b.id = made.ID
	log, err := os.ReadFile(filepath.Join(dir, "calm-1.nmea"))
	if err != nil {
		t.Fatal(err)
	}
	b.must(t, b.post(b.path("/logs?mode=calm&name=calm-1.nmea"), string(log)), nil)
	for end := time.Now().Add(20 * time.Second); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		var v sessionView
		b.must(t, b.ask("GET", b.path(""), ""), &v)
		if v.Pending == 0 && len(v.Runs) > 0 {
			for _, r := range v.Runs {
				b.runs = append(b.runs, r.ID)
			}
			return b
		}
	}
	t.Fatal("the log was never read")
	return nil
}

func (b *desk) path(rest string) string { return "/api/sessions/" + b.id + rest }

func (b *desk) post(path, body string) *httptest.ResponseRecorder { return b.ask("POST", path, body) }

func (b *desk) ask(method, path, body string) *httptest.ResponseRecorder {
	res := httptest.NewRecorder()
	b.h.ServeHTTP(res, httptest.NewRequest(method, path, strings.NewReader(body)))
	return res
}

func (b *desk) must(t testing.TB, res *httptest.ResponseRecorder, v any) {
	t.Helper()
	if res.Code != http.StatusOK {
		t.Fatalf("%d: %s", res.Code, res.Body)
	}
	if v != nil {
		if err := json.Unmarshal(res.Body.Bytes(), v); err != nil {
			t.Fatal(err)
		}
	}
}

// answered fails where a request that a page may send is the server's fault,
// or its answer is no JSON.
func answered(t *testing.T, res *httptest.ResponseRecorder, body string) {
	t.Helper()
	switch res.Code {
	case http.StatusOK, http.StatusUnprocessableEntity, http.StatusConflict, http.StatusRequestEntityTooLarge:
	default:
		t.Fatalf("%q is answered %d: %s", body, res.Code, res.Body)
	}
	if !json.Valid(res.Body.Bytes()) {
		t.Fatalf("%q is answered with no JSON: %.200s", body, res.Body)
	}
	var out struct{ Error string }
	if res.Code != http.StatusOK {
		if err := json.Unmarshal(res.Body.Bytes(), &out); err != nil || out.Error == "" || strings.ContainsAny(out.Error, "\n\r") {
			t.Fatalf("%q: the error is not one line: %q", body, out.Error)
		}
	}
}

// FuzzJSON posts any bytes to every address that takes JSON: nothing panics,
// nothing is the server's fault, and a sheet that was taken still parses.
func FuzzJSON(f *testing.F) {
	b := newDesk(f)
	run, _ := json.Marshal(b.runs[0])
	for _, body := range []string{
		`{"title":"x\u0000\ud800\n"}`, `{"title":`, `null`, `[]`, `{"title":1}`, `{} {}`, strings.Repeat(`{"title":`, 2000), strings.Repeat("[", 20000),
		`{"op":"mode","runs":[` + string(run) + `],"mode":"sport"}`, `{"op":"mode","runs":[` + string(run) + `],"mode":""}`,
		`{"op":"exclude","runs":[` + string(run) + `],"reason":"gust \"]]"}`, `{"op":"include","runs":[` + string(run) + `]}`,
		`{"op":"head","key":"title","value":"\"\"\"\n[[run]]"}`, `{"op":"head","key":"date","value":"2026-06-14"}`,
		`{"op":"head","key":"surface","value":"'''"}`, `{"op":"sheet","base":0,"text":"title = \"x\"\r\n[[run]]\nid='a'\n"}`,
		`{"op":"sheet","base":-1,"text":""}`, `{"op":"sheet","base":1e99}`, `{"op":"exclude","runs":[""],"reason":"r"}`,
	} {
		f.Add(body)
	}
	f.Fuzz(func(t *testing.T, body string) {
		answered(t, b.post("/api/sessions", body), body)
		for _, path := range []string{"/undo", "/redo", "/edit"} {
			answered(t, b.post(b.path(path), body), body)
		}
		var sh struct{ Text string }
		b.must(t, b.ask("GET", b.path("/sheet"), ""), &sh)
		if _, err := sheet.Parse(sh.Text, sheetName); err != nil {
			t.Fatalf("%q leaves a sheet that does not parse: %v\n%s", body, err, sh.Text)
		}
		answered(t, b.post(b.path("/undo"), "{}"), body)
	})
}

// A request that names a run over and over, or runs that are not there, is
// refused before each is looked for in the whole sheet.
func TestManyRunsInARequest(t *testing.T) {
	b := newDesk(t)
	var strange, again []string
	for i := range 20_000 {
		strange = append(strange, fmt.Sprintf("x#%d", i))
		again = append(again, b.runs[0])
	}
	for name, runs := range map[string][]string{"strange": strange, "the same": again} {
		for _, op := range []string{"mode", "exclude", "include"} {
			body, err := json.Marshal(map[string]any{"op": op, "runs": runs, "mode": "sport", "reason": "gust"})
			if err != nil {
				t.Fatal(err)
			}
			if res := b.post(b.path("/edit"), string(body)); res.Code != http.StatusUnprocessableEntity || !strings.Contains(res.Body.String(), "named twice") {
				t.Errorf("%s %s: %d %.200s", op, name, res.Code, res.Body)
			}
		}
	}
	one, _ := json.Marshal(b.runs[:1])
	if res := b.post(b.path("/edit"), `{"op":"exclude","runs":`+string(one)+`,"reason":"gust"}`); res.Code != http.StatusOK {
		t.Errorf("a run that is there: %d %s", res.Code, res.Body)
	}
}

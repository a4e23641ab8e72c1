package web

import (
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/format"
)

// A folder dropped on the page gives the modes and the sheet that the same folder
// gives a command.
func TestDroppedFoldersAreTakenAsByCommands(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{})
	tb := openTab(t, "")
	tb.do(chromedp.Navigate(sv.url + "/"))
	sort := func(paths ...[]string) (out struct {
		Modes []string
		Sheet bool
		Over  []string
	}) {
		t.Helper()
		given, err := json.Marshal(paths)
		if err != nil {
			t.Fatal(err)
		}
		text := tb.js(`import("/assets/drop.js").then(async (m) => {
			const limits = await (await fetch("/api/limits")).json();
			const r = m.sorted(` + string(given) + `.map((p) => ({ file: { name: p.at(-1) }, folders: p.slice(0, -1), mode: "" })), limits.datedFolder);
			return JSON.stringify({ modes: r.logs.map((f) => f.mode), sheet: !!r.sheet, over: r.over });
		})`)
		if err := json.Unmarshal([]byte(text), &out); err != nil {
			t.Fatal(err, text)
		}
		return out
	}
	for _, name := range []string{"calm", "2026-05-09", "20260509", "09.05.26_0958", " eco ", "4x4 low", "26", "2"} {
		got := sort([]string{"day", name, "a.nmea"}, []string{"day", "b.nmea"}, []string{"day", "session.toml"}, []string{"day", name, "notes.toml"})
		if got.Modes[0] != format.FolderMode(name) || got.Modes[1] != "" || !got.Sheet || len(got.Over) != 1 {
			t.Errorf("%q: %+v, want mode %q", name, got, format.FolderMode(name))
		}
	}
	// Of two folders neither is the one whose sheet holds; a sheet dropped itself is meant.
	if got := sort([]string{"day", "session.toml"}, []string{"other", "a.nmea"}); got.Sheet || len(got.Over) != 1 || got.Modes[0] != "" {
		t.Errorf("two folders: %+v", got)
	}
	if got := sort([]string{"may.toml"}, []string{"a.nmea"}); !got.Sheet || len(got.Over) != 0 {
		t.Errorf("files: %+v", got)
	}
	if got := sort([]string{"may.toml"}, []string{"june.toml"}); got.Sheet || len(got.Over) != 2 {
		t.Errorf("two sheets: %+v", got)
	}
}

package web

import (
	"path/filepath"
	"testing"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/synth"
)

// A session from the first drop to the exports, in a real browser, and again
// after the server was stopped and started.
func TestSessionInABrowser(t *testing.T) {
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	for _, l := range logs[:3] {
		files = append(files, filepath.Join(dir, l.Name))
	}
	b := openTab(t, dir)
	sv := serveTest(t, filepath.Join(dir, "archive.db"), Options{})
	b.media(1280, "light")
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.querySelector("h1")?.textContent === "Test sessions"`)
	b.shot("sessions-empty")
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files))
	b.wait(`document.getElementById("ask-all")`)
	b.shot("ask")
	b.js(`document.querySelector(".ask form").requestSubmit()`)
	b.wait(`document.querySelectorAll("#runs tbody tr").length > 3 && !/still to be read/.test(document.getElementById("logs-sum").textContent)`)
	b.wait(`document.querySelector("#ov-plot canvas")`)
	b.wait(`document.querySelector(".timing")`)
	for _, w := range []int{1280, 360} {
		for _, scheme := range []string{"light", "dark"} {
			b.media(w, scheme)
			b.shot("session-" + scheme + "-" + map[int]string{1280: "1280", 360: "360"}[w])
		}
	}
}

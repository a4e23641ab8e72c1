package web

import (
	"net/url"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/chromedp"
)

// modeField is the field of a run's mode on the page.
func modeField(run string) string { return `[data-run="` + run + `"] input.mode` }

// enter begins to type into a field without leaving it.
func (b *tab) enter(selector, value string) {
	b.t.Helper()
	b.js(`(() => { const e = document.querySelector(` + "`" + selector + "`" + `); for (let p = e; p; p = p.parentElement) if (p.tagName === "DETAILS") p.open = true; e.focus(); e.value = "` + value + `"; e.dispatchEvent(new Event("input", {bubbles: true})); return ""; })()`)
}

// leave leaves a field as a user does.
func (b *tab) leave(selector string) {
	b.t.Helper()
	b.js(`(() => { const e = document.querySelector(` + "`" + selector + "`" + `); e.dispatchEvent(new Event("change", {bubbles: true})); e.blur(); return ""; })()`)
}

// Of two pages on one session none overwrites what the other said of a run: the mode, the
// exclusion and a note; both texts are shown.
func TestTwoTabsOnOneRun(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	a := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	a.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	a.wait(`document.getElementById("pick-files")`)
	a.drop(demoFiles(t, dir, 1))
	const run = "calm-1#1"
	a.wait(read + ` && document.querySelector('` + modeField(run) + `')`)
	b := openTab(t, "")
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(a.js(`location.href`)))
	b.wait(read + ` && document.querySelector('` + modeField(run) + `')`)
	b.enter(modeField(run), "sport")
	a.fill(modeField(run), "eco")
	b.wait(`[...document.querySelectorAll("#run-groups b")].some((e) => e.textContent === "eco")`)
	b.leave(modeField(run))
	b.wait(`/Changed meanwhile to “eco”; yours is “sport”/.test(document.querySelector('[data-run="` + run + `"]').textContent)`)
	if got := a.js(`document.querySelector('` + modeField(run) + `').value`); got != "eco" {
		t.Errorf("overwritten by %s", got)
	}
	b.axe("two modes")
	b.js(`(document.querySelector('[data-run="` + run + `"] [id^=mine-]').click(), "")`)
	a.wait(`document.querySelector('` + modeField(run) + `').value === "sport"`)
	// A excludes while B looks at the run as it was: B is told, and its words stay.
	b.js(`(document.querySelector('[data-run="` + run + `"] .state button').click(), "")`)
	b.enter(`[data-run="`+run+`"] .state input`, "wind")
	a.js(`(document.querySelector('[data-run="` + run + `"] .state button').click(), "")`)
	a.fill(`[data-run="`+run+`"] .state input`, "spin")
	a.js(`(document.querySelector('[data-run="` + run + `"] .state form').requestSubmit(), "")`)
	a.wait(`/not counted: spin/.test(document.querySelector('[data-run="` + run + `"]').textContent)`)
	b.wait(`[...document.querySelectorAll("#run-groups .reason")].some((e) => /spin/.test(e.textContent))`)
	b.js(`(document.querySelector('[data-run="` + run + `"] .state form').requestSubmit(), "")`)
	b.wait(`/another page changed calm-1#1 meanwhile, to “spin”/.test(document.getElementById("say").textContent)`)
	a.wait(`/not counted: spin/.test(document.querySelector('[data-run="` + run + `"]').textContent)`)
}

// slow gives the page a network of so many bytes a second, each answer a while late.
func (b *tab) slow(rate float64, late time.Duration) {
	b.t.Helper()
	type conditions struct {
		Offline            bool    `json:"offline"`
		Latency            float64 `json:"latency"`            // ms
		DownloadThroughput float64 `json:"downloadThroughput"` // bytes a second, -1 for no limit
		UploadThroughput   float64 `json:"uploadThroughput"`
	}
	if _, err := chromedp.Call(b.ctx, cdp.Command[conditions, cdp.Empty]{Method: "Network.emulateNetworkConditions"},
		conditions{false, float64(late.Milliseconds()), rate, rate}); err != nil {
		b.t.Fatal(err)
	}
}

// On a slow network the server is killed in the middle of an upload and while somebody
// types: the log arrives whole once it is back, and no word is lost, of blanks nor of runs.
func TestSlowNetworkAndAKilledServer(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := demoFiles(t, dir, 2)
	path := filepath.Join(dir, "a.db")
	b := openTab(t, "")
	cmd, base := child(t, path)
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(base+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.drop(files[:1])
	const run = "calm-1#1"
	b.wait(read + ` && document.getElementById("head-place") && document.querySelector('` + modeField(run) + `')`)
	b.slow(40e3, 200*time.Millisecond) // 250 kB take some six seconds
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files[1:]))
	b.wait(`document.getElementById("ask-all")`)
	b.js(`(document.querySelector("#ask form").requestSubmit(), "")`)
	b.wait(`document.querySelector("#adding progress")`)
	b.enter("#head-place", "an airfield by the sea")
	b.enter(modeField(run), "eco")
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // it was killed
	b.leave("#head-place")
	b.leave(modeField(run))
	b.enter(`#head-notes`, "half a sen")
	b.wait(`/kept here, and sent/.test(document.getElementById("conditions").textContent) && /kept here, and sent/.test(document.getElementById("runs").textContent) && /not with the server/.test(document.getElementById("open-questions").textContent)`)
	b.wait(`/connection was lost; trying again/.test(document.getElementById("adding").textContent)`)
	u, err := url.Parse(base)
	if err != nil {
		t.Fatal(err)
	}
	again := serveAt(t, u.Host, path, Options{})
	b.waitFor(`/by the sea/.test(document.querySelector(".facts").textContent) && [...document.querySelectorAll("#run-groups b")].some((e) => e.textContent === "eco")`, 90*time.Second)
	b.slow(-1, 0)
	b.waitFor(`document.querySelectorAll(".log").length === 2 && `+read, 90*time.Second)
	if got := b.js(`document.getElementById("head-notes").value`); got != "half a sen" {
		t.Errorf("what was being typed is %q", got)
	}
	for _, f := range files {
		putLog(t, again, b.id(), f, "") // the bytes are known if they arrived whole
	}
	if v := waitRead(t, again, b.id(), 2); len(v.Logs) != 2 {
		t.Errorf("%d logs", len(v.Logs))
	}
}

package web

import (
	"archive/zip"
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
)

// fromDrop is a page on which files were dropped that need no answer.
func fromDrop(t *testing.T, files []string, width, height int64) (*tab, *served) {
	t.Helper()
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{})
	b.do(chromedp.EmulateViewport(width, height), chromedp.Navigate(sv.url+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files))
	b.wait(stands)
	return b, sv
}

// id is the session that a page shows.
func (b *tab) id() string {
	b.t.Helper()
	return b.js(`location.hash.match(/s\/([\w-]+)/)[1]`)
}

// The demonstration's own folder, dropped whole, answers on the first screen, as the
// report does.
func TestTheAnswerStandsFirst(t *testing.T) {
	if testing.Short() {
		t.Skip("the demonstration in a browser takes long where it is slowed down")
	}
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "van")
	files := wholeDemo(t, dir)
	b, sv := fromDrop(t, files, 1400, 900)
	for _, size := range [][3]int64{{1400, 900, 100}, {2560, 1440, 100}, {390, 844, 90}} {
		b.do(chromedp.EmulateViewport(size[0], size[1]))
		b.js(`new Promise((ok) => setTimeout(ok, 400))`)
		seen := b.js(`(() => { scrollTo(0, 0); const bottom = (e) => Math.round(document.querySelector(e).getBoundingClientRect().bottom), f = document.querySelector("#fig-v").getBoundingClientRect();
			return JSON.stringify([bottom("h1"), bottom("#verdict"), bottom("table.modes"), Math.round(100 * Math.max(0, Math.min(innerHeight, f.bottom) - f.top) / f.height), document.documentElement.scrollWidth > innerWidth]); })()`)
		var v []any
		if err := json.Unmarshal([]byte(seen), &v); err != nil {
			t.Fatal(err)
		}
		if v[2].(float64) > float64(size[1]) || v[3].(float64) < float64(size[2]) || v[4].(bool) {
			t.Errorf("at %d x %d: title, verdict and table end at %v, %v, %v px; %v %% of the figure; sideways %v", size[0], size[1], v[0], v[1], v[2], v[3], v[4])
		}
		t.Logf("%d x %d: title, verdict and table end at %v, %v, %v px; %v %% of the figure", size[0], size[1], v[0], v[1], v[2], v[3])
	}
	for _, w := range []int64{320, 480, 621, 760, 821, 901, 1100, 1241, 1300, 1361, 1600, 1899, 1900} {
		b.do(chromedp.EmulateViewport(w, 900))
		b.js(`new Promise((ok) => setTimeout(ok, 250))`)
		if got := b.js(`document.documentElement.scrollWidth`); got > fmt.Sprint(w) && len(got) >= len(fmt.Sprint(w)) {
			t.Errorf("at %d px the page is %s px wide", w, got)
		}
	}
	b.do(chromedp.EmulateViewport(1400, 900))
	res := demoResult(t, dir)
	c, err := res.Compare(report.CompareTargets(res))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range append(report.AnswerOf(c).Verdicts, report.AnswerOf(c).Place) {
		if got := b.js(`document.getElementById("verdict").textContent`); !strings.Contains(got, unit.Printed(want)) {
			t.Errorf("the page does not say %q but %q", want, got)
		}
	}
	for _, want := range []string{"panel van, invented", "2080 kg", "Quillmoor", "2026-05-09"} {
		if got := b.js(`document.querySelector(".facts").textContent`); !strings.Contains(got, want) {
			t.Errorf("the title line lacks %q: %s", want, got)
		}
	}
	means := res.Means(res.Groups(), "0-60 mph", "rollout")
	for i, row := range []string{"calm", "plain", "full"} {
		v := formatted(means[i].X, means[i].U95)
		if got := b.js(`[...document.querySelectorAll("table.modes tbody")].find((r) => r.querySelector("b").textContent === "` + row + `").rows[0].textContent`); !strings.Contains(got, v.Value+"± "+v.Half) {
			t.Errorf("%s: %s, want %s ± %s", row, got, v.Value, v.Half)
		}
	}
	if got := b.js(`document.getElementById("open-questions").textContent`); got != "1 run of plain left out: do you agree?" {
		t.Errorf("open: %s", got)
	}
	b.js(`(document.querySelector("#open-questions button").click(), "")`)
	b.wait(`document.getElementById("runs").open && document.activeElement.closest('[data-run="plain-2#3"]')`)
	// The command on the page gives the very report that the page exports.
	var out bytes.Buffer
	if err := report.HTML(context.Background(), &out, res, report.Paper{}); err != nil {
		t.Fatal(err)
	}
	page := text(t, ask(t, "GET", sv.url+"/api/sessions/"+b.id()+"/export/report.html", ""))
	if got := b.js(`document.querySelector("#command code").textContent`); got != "fromrest report --sheet session.toml -o report.html calm-1.nmea full-1.nmea calm-2.nmea full-2.fit plain-1.nmea plain-2.nmea" && len(strings.Fields(got)) != 12 {
		t.Errorf("the command is %q", got)
	}
	if page != out.String() {
		at := 0
		for at < min(len(page), out.Len()) && page[at] == out.String()[at] {
			at++
		}
		t.Errorf("the page's report has %d bytes, the command's %d; they part at %d: %.120q and %.120q", len(page), out.Len(), at, page[at:], out.String()[at:])
	}
}

// demoResult is what the commands find in the demonstration's folder.
func demoResult(t *testing.T, dir string) *session.Result {
	t.Helper()
	body, err := os.ReadFile(filepath.Join(dir, sheetName))
	if err != nil {
		t.Fatal(err)
	}
	p, err := sheet.Parse(string(body), sheetName)
	if err != nil {
		t.Fatal(err)
	}
	logs, err := filepath.Glob(filepath.Join(dir, "*-*"))
	if err != nil {
		t.Fatal(err)
	}
	var in []session.Input
	for _, l := range logs {
		in = append(in, session.Input{Path: l})
	}
	res, err := session.Run(context.Background(), in, session.Options{Sheet: p, Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// A second drop joins what is asked already; what was typed stays; the stems of names are
// offered as modes.
func TestEveryDropQueues(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := demoFiles(t, dir, 6)
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files[:3]))
	rows := `[...document.querySelectorAll("#ask tbody tr")].map((r) => r.cells[0].textContent + "=" + r.querySelector("input").value + "/" + r.cells[2].textContent).join()`
	b.wait(rows + ` === "calm-1.nmea=calm/its name,plain-1.nmea=plain/its name,full-1.nmea=full/its name"`)
	b.fill(`#ask-2`, "all")
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files[3:]))
	b.wait(rows + ` === "calm-1.nmea=calm/its name,plain-1.nmea=plain/its name,full-1.nmea=all/its name,full-2.fit=full/its name,plain-2.nmea=plain/its name,calm-2.nmea=calm/its name"`)
	if b.js(`(() => { const e = new Event("beforeunload", {cancelable: true}); dispatchEvent(e); return e.defaultPrevented; })()`) != "true" {
		t.Error("leaving with a question open does not ask")
	}
	b.js(`(document.querySelector("#ask form").requestSubmit(), "")`)
	b.wait(stands)
	if got := b.js(`[...document.querySelectorAll("table.modes tbody b")].map((e) => e.textContent).sort().join()`); got != "all,calm,full,plain" {
		t.Errorf("modes %s", got)
	}
	if b.js(`(() => { const e = new Event("beforeunload", {cancelable: true}); dispatchEvent(e); return e.defaultPrevented; })()`) != "false" {
		t.Error("leaving asks although everything is there")
	}
	// A sheet beside the one that the session has is kept aside.
	text := b.js(`fetch("/api/sessions/" + location.hash.match(/s\/([\w-]+)/)[1] + "/sheet").then((r) => r.json()).then((r) => r.text)`)
	b.fill("#head-place", "the old runway")
	b.wait(`/old runway/.test(document.querySelector(".facts").textContent)`)
	other := filepath.Join(dir, "other.toml")
	if err := os.WriteFile(other, []byte(strings.Replace(text, "title = ", "title = \"Other\"\n# title = ", 1)), 0o644); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), []string{other}))
	b.wait(`/kept aside/.test(document.getElementById("sheet-offer")?.textContent)`)
	b.js(`(document.querySelector("#sheet-offer button").click(), "")`)
	b.wait(`document.querySelector("h1").textContent === "Other" && !document.getElementById("sheet-offer")`)
	b.js(`(document.getElementById("step-undo").click(), "")`)
	b.wait(`/old runway/.test(document.querySelector(".facts").textContent)`)
}

// A zip is opened: its logs, the modes of its folders, and its sheet; what grows beyond
// reason is refused with a line.
func TestZipsAreOpened(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "van")
	wholeDemo(t, dir)
	pack := func(name string, files map[string][]byte) string {
		var b bytes.Buffer
		z := zip.NewWriter(&b)
		for n, body := range files {
			w, err := z.Create(n)
			if err == nil {
				_, err = w.Write(body)
			}
			if err != nil {
				t.Fatal(err)
			}
		}
		if err := z.Close(); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), name)
		if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	read := func(name string) []byte {
		body, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return body
	}
	whole := map[string][]byte{}
	for _, n := range []string{"calm-1.nmea", "calm-2.nmea", "full-1.nmea", "full-2.fit", "plain-1.nmea", "plain-2.nmea", "session.toml", "report.html"} {
		whole["van/"+n] = read(n)
	}
	b, _ := fromDrop(t, []string{pack("van.zip", whole)}, 1400, 900)
	b.wait(`document.querySelector("h1").textContent.startsWith("Three power maps") && document.querySelectorAll("table.modes tbody").length === 3`)
	sv := serveTest(t, filepath.Join(t.TempDir(), "b.db"), Options{MaxLog: 60 << 20})
	id := begin(t, sv.url)
	putLog(t, sv, id, pack("modes.zip", map[string][]byte{"eco/a.nmea": read("calm-1.nmea"), "sport/b.nmea": read("full-1.nmea"), "notes.txt": []byte("windy\n")}), "")
	v := waitRead(t, sv, id, 2)
	if v.Logs[0].Mode+v.Logs[1].Mode != "ecosport" {
		t.Errorf("modes %q and %q", v.Logs[0].Mode, v.Logs[1].Mode)
	}
	bomb, err := os.ReadFile(pack("bomb.zip", map[string][]byte{"a.nmea": append(read("calm-1.nmea"), make([]byte, 80<<20)...)}))
	if err != nil {
		t.Fatal(err)
	}
	res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/logs?name=bomb.zip", string(bomb), "X-Fromrest: 1")
	if body := text(t, res); res.StatusCode == http.StatusOK || !strings.Contains(body, "grows beyond reason") && !strings.Contains(body, "larger than") {
		t.Errorf("a bomb: %s %s", res.Status, body)
	}
	if v := waitRead(t, sv, id, 2); len(v.Logs) != 2 {
		t.Errorf("%d logs after the bomb", len(v.Logs))
	}
}

// While the server is away nothing typed is lost and an upload is tried again.
func TestTheServerGoes(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := demoFiles(t, dir, 2)
	path := filepath.Join(dir, "a.db")
	b := openTab(t, "")
	sv := serveTest(t, path, Options{})
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.drop(files[:1])
	b.wait(read)
	b.wait(`document.getElementById("head-place")`)
	sv.stop()
	b.fill("#head-place", "an airfield by the sea")
	b.wait(`/kept here, and sent/.test(document.getElementById("conditions").textContent) && /not with the server/.test(document.getElementById("open-questions").textContent)`)
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files[1:]))
	b.wait(`document.getElementById("ask-all")`)
	b.js(`(document.querySelector("#ask form").requestSubmit(), "")`)
	b.wait(`/connection was lost; trying again/.test(document.getElementById("adding").textContent)`)
	u, err := url.Parse(sv.url)
	if err != nil {
		t.Fatal(err)
	}
	again := serveAt(t, u.Host, path, Options{})
	b.wait(`/by the sea/.test(document.querySelector(".facts").textContent) && document.querySelectorAll(".log").length === 2 && ` + read)
	if got := b.js(`Object.keys(localStorage).filter((k) => k.startsWith("typed/")).length`); got != "0" {
		t.Errorf("%s texts are still held back", got)
	}
	// What was typed and never sent is there after the window was closed and opened again.
	again.stop()
	b.js(`(() => { document.getElementById("conditions").open = true; const e = document.getElementById("head-notes"); e.focus(); e.value = "half a sen"; e.dispatchEvent(new Event("input", {bubbles: true})); return ""; })()`)
	again = serveAt(t, u.Host, path, Options{})
	b.do(chromedp.Reload())
	b.wait(`document.getElementById("head-notes")?.value === "half a sen"`)
	sess, err := again.arch.Session(context.Background(), b.id())
	if err != nil || len(sess.Logs) != 2 {
		t.Errorf("%v: logs %v", err, sess.Logs)
	}
}

// Two pages on one session: a field that the other one changed is not overwritten, and
// undo takes back one's own.
func TestTwoTabs(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := demoFiles(t, dir, 1)
	a := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	a.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	a.wait(`document.getElementById("pick-files")`)
	a.drop(files)
	a.wait(read + ` && document.getElementById("head-place")`)
	b := openTab(t, "")
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(a.js(`location.href`)))
	b.wait(read + ` && document.getElementById("head-place")`)
	a.fill("#head-vehicle", "a van")
	b.wait(`/a van/.test(document.querySelector(".facts").textContent)`)
	// B begins to type, A is quicker.
	b.js(`(document.getElementById("conditions").open = true, "")`)
	b.js(`(() => { const e = document.getElementById("head-place"); e.focus(); e.value = "north field"; e.dispatchEvent(new Event("input", {bubbles: true})); return ""; })()`)
	a.fill("#head-place", "south field")
	a.wait(`/south field/.test(document.querySelector(".facts").textContent)`)
	b.wait(`/south field/.test(document.querySelector(".facts").textContent)`)
	b.js(`(document.getElementById("head-place").dispatchEvent(new Event("change", {bubbles: true})), "")`)
	b.wait(`document.getElementById("mine-place")`)
	if got := b.js(`document.getElementById("mine-place").parentElement.textContent`); !strings.Contains(got, "“south field”") || !strings.Contains(got, "“north field”") {
		t.Errorf("the two texts: %s", got)
	}
	if got := a.js(`document.querySelector(".facts").textContent`); !strings.Contains(got, "south field") {
		t.Errorf("overwritten: %s", got)
	}
	b.js(`(document.getElementById("mine-place").click(), "")`)
	a.wait(`/north field/.test(document.querySelector(".facts").textContent)`)
	// A undoes its own edits, the newest first, beneath B's.
	a.wait(`/place: south field/.test(document.getElementById("step-undo").title)`)
	a.js(`(document.getElementById("step-undo").click(), "")`)
	a.wait(`/cannot be undone alone/.test(document.getElementById("say").textContent)`)
	b.wait(`/place: north field/.test(document.getElementById("step-undo").title)`)
	b.fill("#form-mass", "2000")
	b.wait(`/2000 kg/.test(document.querySelector(".facts").textContent)`)
	a.fill("#form-wind", "3,5")
	a.wait(`/wind 3.5 m\/s/.test(document.querySelector(".end").textContent) && /wind: 3,5/.test(document.getElementById("step-undo").title)`)
	b.wait(`/mass as tested: 2000/.test(document.getElementById("step-undo").title)`)
	b.js(`(document.getElementById("step-undo").click(), "")`)
	b.wait(`!/2000 kg/.test(document.querySelector(".facts").textContent) && /wind 3.5/.test(document.querySelector(".end").textContent)`)
	// The sheet as text: a stale one is shown beside the other.
	b.js(`(document.getElementById("sheet").open = true, "")`)
	b.js(`(() => { const e = document.getElementById("sheet-text"); e.focus(); e.value += "# a remark of b\n"; e.dispatchEvent(new Event("input", {bubbles: true})); return ""; })()`)
	a.fill("#form-wind", "4")
	b.wait(`/wind 4/.test(document.querySelector(".end").textContent) && !document.getElementById("merge").hidden && [...document.querySelectorAll("#merge mark")].some((e) => /remark of b/.test(e.textContent)) && [...document.querySelectorAll("#merge mark")].some((e) => /wind_mps = 4/.test(e.textContent))`)
	b.axe("merge")
	b.js(`(document.getElementById("merge-theirs").click(), "")`)
	b.wait(`/wind_mps = 4/.test(document.getElementById("sheet-text").value)`)
}

// A table pastes as numbers, each half-width in a cell of its own, with the notes beneath.
func TestCopiedTables(t *testing.T) {
	t.Parallel()
	dir := filepath.Join(t.TempDir(), "van")
	b, _ := fromDrop(t, wholeDemo(t, dir), 1400, 900)
	b.js(`(navigator.clipboard.write = async (items) => { window.clip = await (await items[0].getType("text/plain")).text(); window.page = await (await items[0].getType("text/html")).text(); }, "")`)
	b.wait(`document.querySelectorAll(".timing thead th").length === 13 && document.querySelectorAll(".timing tbody tr").length > 30`)
	b.js(`(document.getElementById("copy-table").click(), "")`)
	b.wait(`window.clip`)
	rows := strings.Split(b.js(`clip`), "\n")
	cells := func(row string) []string { return strings.Split(row, "\t") }
	numbers := 0
	for _, r := range rows {
		c := cells(r)
		if !strings.Contains(c[0], "with rollout: 0-60 mph, s") {
			continue
		}
		head := cells(rows[0])
		for i, x := range c[1:] {
			if x == "" {
				continue
			}
			if strings.HasPrefix(x, "[") {
				if head[i+1] != "note" {
					t.Errorf("a note stands in column %q", head[i+1])
				}
				continue
			}
			if !json.Valid([]byte(x)) {
				t.Errorf("%q is no number", x)
			}
			numbers++
		}
	}
	if numbers < 26 || !strings.HasPrefix(rows[len(rows)-1], "[") {
		t.Errorf("%d numbers; the last line is %q", numbers, rows[len(rows)-1])
	}
	res := demoResult(t, dir)
	first := viewTime(res.Runs[0], "0-60 mph", "rollout")
	if html := b.js(`page`); !strings.Contains(html, "<td>"+first.Value+"</td><td>"+first.Half+"</td>") || !strings.Contains(html, "</table><p>[1] ") {
		t.Errorf("the cells %s and %s are not in %.400s", first.Value, first.Half, html)
	}
	// Columns chosen and sorted, kept in the address, and copied as they stand.
	b.js(`(() => { const e = document.getElementById("table-sort"); e.value = "quick"; e.dispatchEvent(new Event("change")); return ""; })()`)
	b.js(`(document.getElementById("col-0").click(), window.clip = "", document.getElementById("copy-table").click(), "")`)
	b.wait(`window.clip`)
	if head := cells(strings.Split(b.js(`clip`), "\n")[0]); !strings.HasPrefix(head[1], "full-") || strings.Contains(strings.Join(head, " "), res.Runs[0].ID) {
		t.Errorf("sorted and chosen: %v", head)
	}
	b.do(chromedp.Reload())
	b.wait(`document.querySelector(".timing thead th")?.textContent.startsWith("full-") && !document.getElementById("col-0").checked`)
}

// What is opened in a window of its own says in words why it cannot be shown.
func TestNoWindowOfRawData(t *testing.T) {
	dir := t.TempDir()
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	putLog(t, sv, id, demoFiles(t, dir, 1)[0], "calm")
	waitRead(t, sv, id, 1)
	at := sv.url + "/api/sessions/" + id
	for _, path := range []string{"/wheels", "/export/explain.html?show=1", "/plan?modes=calm", "/plan?modes=a%0Ab&runs=x"} {
		res := ask(t, "GET", at+path, "", "Sec-Fetch-Dest: document", "Sec-Fetch-Mode: navigate", "Sec-Fetch-Site: same-origin")
		body := text(t, res)
		if res.StatusCode == http.StatusOK && strings.HasPrefix(path, "/export") {
			continue // one mode is explained too
		}
		if res.StatusCode != 422 || !strings.Contains(body, "<h1>This cannot be shown yet</h1>") || strings.Contains(body, `{"error"`) || strings.Contains(body, "<!-- message") {
			t.Errorf("%s: %s %s", path, res.Status, body)
		}
		// The page itself still takes it apart.
		if body := text(t, ask(t, "GET", at+path, "")); !strings.HasPrefix(body, `{"error":`) {
			t.Errorf("%s: %s", path, body)
		}
	}
	res := ask(t, "GET", at+"/plan?modes=calm%0Afull&runs=4", "")
	if body := text(t, res); res.StatusCode != 200 || !strings.Contains(body, "Run card") || !strings.Contains(res.Header.Get("Content-Security-Policy"), "sandbox") {
		t.Errorf("a plan: %s %.200s", res.Status, body)
	}
	res = ask(t, "GET", at+"/plan?modes=calm%0Afull&runs=4&sheet=1", "")
	if _, err := sheet.Parse(text(t, res), sheetName); err != nil {
		t.Errorf("the plan as a sheet: %v", err)
	}
}

package web

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"encoding/xml"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
	"fromrest/pkg/uncert"
)

// demoFiles writes logs of the demonstration and returns their paths.
func demoFiles(t *testing.T, dir string, n int) []string {
	t.Helper()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	for _, l := range logs[:n] {
		files = append(files, filepath.Join(dir, l.Name))
	}
	return files
}

// drop puts files on the page by its file field, without naming a mode.
func (b *tab) drop(files []string) {
	b.t.Helper()
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files))
	b.wait(`document.getElementById("ask-all")`)
	b.fill("#ask-all", "")
	b.js(`document.querySelector("#ask form").requestSubmit()`)
}

// read is true once all logs of the page have been read.
const read = `/^\d+ logs?, \d+ runs?(, \d+ gave nothing)?$/.test(document.getElementById("logs-sum")?.textContent)`

// type fills a field as a user does and leaves it.
func (b *tab) fill(selector, value string) {
	b.t.Helper()
	q, _ := json.Marshal(selector)
	v, _ := json.Marshal(value)
	b.js(`(() => { const e = document.querySelector(` + string(q) + `); e.focus(); e.value = ` + string(v) + `; e.dispatchEvent(new Event("input", {bubbles: true})); e.dispatchEvent(new Event("change", {bubbles: true})); e.blur(); return e.id; })()`)
}

// A session from the first drop to the exports, in a real browser, and again
// after the server was stopped and started.
func TestSessionInABrowser(t *testing.T) {
	t.Parallel()
	dir, saved := t.TempDir(), t.TempDir()
	files := demoFiles(t, dir, 3)
	b := openTab(t, saved)
	path := filepath.Join(dir, "archive.db")
	sv := serveTest(t, path, Options{})
	b.media(1280, "light")
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.querySelector("h1")?.textContent === "A blank test sheet"`)
	b.shot("sessions-empty")
	b.drop(files)
	b.wait(`document.querySelectorAll("#runs tbody tr").length === 6 && ` + read)

	// Label the modes of two logs by their field, of the third run by run.
	for i, mode := range []string{"calm", "plain", "full"} {
		if i < 2 {
			b.js(`(() => { const row = [...document.querySelectorAll(".log")].find((l) => l.textContent.includes("` + mode + `-1.nmea")); row.querySelector("input.mode").id = "mode-now"; return ""; })()`)
			b.fill("#mode-now", mode)
		} else {
			for _, id := range []string{"full-1#1", "full-1#2"} {
				b.fill(`[data-run="`+id+`"] input.mode`, mode)
				b.wait(`document.querySelector('[data-run="` + id + `"] input.mode').value === "full"`)
			}
		}
		b.wait(`[...document.querySelectorAll('[data-run^="` + mode + `-1"] input.mode')].every((e) => e.value === "` + mode + `")`)
	}
	// Exclude one, with its reason.
	b.js(`(document.querySelector('[data-run="plain-1#2"] .state button').click(), "")`)
	b.fill(`[data-run="plain-1#2"] .state input`, "<b>wheel spin</b>")
	b.js(`(document.querySelector('[data-run="plain-1#2"] .state form').requestSubmit(), "")`)
	b.wait(`/not counted: <b>wheel spin<\/b>/.test(document.querySelector('[data-run="plain-1#2"]').textContent)`)
	b.fill("#head-title", "Panel van on the airfield")
	b.wait(`document.title.startsWith("Panel van on the airfield")`)
	// One edit too many, undone.
	b.fill(`[data-run="calm-1#1"] input.mode`, "wrong")
	b.wait(`document.querySelector('[data-run="calm-1#1"] input.mode').value === "wrong" && /wrong/.test(document.getElementById("step-undo").title)`)
	b.js(`(document.getElementById("step-undo").click(), "")`)
	b.wait(`document.querySelector('[data-run="calm-1#1"] input.mode').value === "calm"`)

	b.overlayTwo()
	b.exports(saved)
	numbersAreTheCommands(t, b, files)
	address := b.js(`location.hash.split("?")[0]`)
	looks(b)

	sv.stop()
	sv = serveTest(t, path, Options{})
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.querySelector(".sessions a")?.textContent === "Panel van on the airfield"`)
	b.shot("sessions")
	b.axe("sessions")
	b.js(`(document.querySelector(".sessions a").click(), "")`)
	b.wait(`document.querySelectorAll("#runs tbody tr").length === 6 && ` + read)
	if got := b.js(`location.hash`); got != address {
		t.Errorf("session is at %s, was at %s", got, address)
	}
	b.wait(`/not counted: <b>wheel spin/.test(document.querySelector('[data-run="plain-1#2"]').textContent)`)
	if got := b.js(`[...document.querySelectorAll("#runs input.mode")].map((e) => e.value).sort().join()`); got != "calm,calm,full,full,plain,plain" {
		t.Errorf("modes after the restart: %s", got)
	}
	sv.stop()
	a := openArchive(t, path)
	if _, faults, err := a.Verify(context.Background()); err != nil || len(faults) > 0 {
		t.Errorf("archive: %v %v", faults, err)
	}
}

// overlayTwo shows two runs alone and uses the figure: what is shown is in the address and
// survives a reload, and what cannot be drawn leaves all as it was.
func (b *tab) overlayTwo() {
	b.t.Helper()
	b.js(`([...document.querySelectorAll("[data-pick]")].map((e) => e.id).forEach((id) => { const e = document.getElementById(id); if (e.checked !== /^(calm|full)-1#1$/.test(e.dataset.pick)) e.click(); }), "")`)
	b.wait(`decodeURIComponent(decodeURIComponent(location.hash)).match(/#1/g)?.length === 2`)
	b.js(`(document.getElementById("values").open = true, document.getElementById("fig-by-distance").click(), "")`)
	rows := `[...document.querySelectorAll("#values tbody tr")].filter((r) => /-1#/.test(r.textContent))`
	b.wait(rows + `.length === 2 && /against distance/.test(document.querySelector("figcaption").textContent)`)
	b.js(`(document.getElementById("fold-g").closest("details").open = true, "")`)
	b.wait(`document.querySelector("#fig-g canvas")`)
	b.js(`(() => { const e = document.getElementById("gain-on"); e.value = "calm-1#1"; e.dispatchEvent(new Event("change")); return ""; })()`)
	b.js(`(document.getElementById("fig-v").focus(), "")`)
	before := b.js(`document.getElementById("readout").textContent`)
	b.do(chromedp.KeyEvent("+"), chromedp.KeyEvent("+"), chromedp.KeyEvent("\u0303"))
	if after := b.js(`document.getElementById("readout").textContent`); after == before {
		b.t.Errorf("the keyboard moves nothing: %s", after)
	}
	// The calm mode is the slower: the other is ahead there.
	b.wait(`/^\d/.test(` + rows + `.find((r) => /full/.test(r.textContent)).cells[5].textContent) && /gained on calm-1#1/.test(document.querySelector("#values thead").textContent)`)
	b.wait(`/x=/.test(location.hash)`)
	seen := b.js(`location.hash`)
	b.do(chromedp.Reload())
	b.wait(`document.querySelector("#fig-g canvas") && ` + read)
	if again := b.js(`location.hash + document.querySelectorAll("[data-pick]:checked").length`); again != seen+"2" {
		b.t.Errorf("after a reload %s, before %s", again, seen)
	}
	// A speed that no run has is refused, and the name of the axis stays.
	b.js(`(document.getElementById("fig-from-speed").click(), "")`)
	b.wait(`document.getElementById("fig-speed")`)
	b.fill("#fig-speed", "290")
	b.wait(`/stays as it was/.test(document.getElementById("say").textContent)`)
	if got := b.js(`document.getElementById("fig-speed").value + document.getElementById("fig-v").getAttribute("aria-label")`); !strings.HasPrefix(got, "20speed, mph against distance from 20 mph, ft") {
		b.t.Errorf("after a refusal: %s", got)
	}
	b.js(`(document.getElementById("fig-from-rollout").click(), document.getElementById("fig-by-distance").click(), "")`)
	b.wait(`/from rollout/.test(document.getElementById("fig-v").getAttribute("aria-label"))`)
}

// exports takes the table and the figure away and looks into the files.
func (b *tab) exports(dir string) {
	b.t.Helper()
	for _, id := range []string{"fig-svg", "fig-png", "fig-csv"} {
		b.js(`(document.getElementById("` + id + `").click(), "")`)
		time.Sleep(200 * time.Millisecond)
	}
	b.js(`([...document.querySelectorAll("#table a")].find((a) => a.textContent === "Runs as CSV").click(), "")`)
	b.js(`([...document.querySelectorAll("#report a")].find((a) => a.textContent === "Save the report").click(), "")`)
	b.js(`(document.querySelector("#sheet a").click(), "")`)
	svg := waitFile(b.t, dir, "figure-distance-from-rollout.svg")
	if err := xml.Unmarshal(svg, new(struct{})); err != nil || bytes.Count(svg, []byte("<polyline")) < 2 || !bytes.Contains(svg, []byte("full-1#1, full")) {
		b.t.Errorf("SVG of %d bytes: %v", len(svg), err)
	}
	img, err := png.Decode(bytes.NewReader(waitFile(b.t, dir, "figure-distance-from-rollout.png")))
	if err != nil || img.Bounds().Dx() < 1000 {
		b.t.Errorf("PNG: %v", err)
	}
	for _, f := range []string{"figure-distance-from-rollout.csv", "panel-van-on-the-airfield-runs.csv"} {
		rows, err := csv.NewReader(bytes.NewReader(waitFile(b.t, dir, f))).ReadAll()
		if err != nil || len(rows) < 6 {
			b.t.Errorf("%s: %d rows, %v", f, len(rows), err)
		}
	}
	if html := waitFile(b.t, dir, "panel-van-on-the-airfield-report.html"); !bytes.Contains(html, []byte("&lt;b&gt;wheel spin")) || bytes.Contains(html, []byte("<b>wheel spin")) {
		b.t.Error("the report lacks the exclusion, or has it as markup")
	}
	if sheet := waitFile(b.t, dir, "session.toml"); !bytes.Contains(sheet, []byte(`exclude = "<b>wheel spin</b>"`)) || !bytes.Contains(sheet, []byte(`title = "Panel van on the airfield"`)) {
		b.t.Errorf("the sheet lacks the edits:\n%s", sheet)
	}
}

// waitFile waits for a download to be whole.
func waitFile(t *testing.T, dir, name string) []byte {
	t.Helper()
	for end := time.Now().Add(2 * time.Minute); time.Now().Before(end); time.Sleep(100 * time.Millisecond) {
		if _, err := os.Stat(filepath.Join(dir, name+".crdownload")); err == nil {
			continue
		}
		if b, err := os.ReadFile(filepath.Join(dir, name)); err == nil && len(b) > 0 {
			return b
		}
	}
	have, _ := filepath.Glob(filepath.Join(dir, "*"))
	t.Fatalf("%s was never saved; there are %v", name, have)
	return nil
}

// numbersAreTheCommands compares every time on the page with the JSON that the
// runs command prints for the same files.
func numbersAreTheCommands(t *testing.T, b *tab, files []string) {
	t.Helper()
	var in []session.Input
	for _, f := range files {
		in = append(in, session.Input{Path: f})
	}
	res, err := session.Run(context.Background(), in, session.Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := report.RunsJSON(&out, res); err != nil {
		t.Fatal(err)
	}
	var runs struct {
		Runs []struct {
			ID    string
			Times []struct {
				Name, From string
				Seconds    float64
				U95        float64 `json:"u95_s"`
			}
		}
	}
	if err := json.Unmarshal(out.Bytes(), &runs); err != nil {
		t.Fatal(err)
	}
	var page map[string]string
	if err := json.Unmarshal([]byte(b.js(`(() => {
		const out = {};
		const t = document.querySelector(".timing");
		const ids = [...t.tHead.rows[0].cells].slice(1).map((c) => c.textContent.replace(" not counted", ""));
		let section = "";
		for (const r of t.rows) {
			if (r.classList.contains("section")) section = r.textContent;
			if (section === "from rest" || section === "with rollout") [...r.cells].slice(1).forEach((c, i) => {
				const n = c.querySelector(".num:not(.none)");
				if (n) out[ids[i] + "|" + r.cells[0].textContent + "|" + section] = n.textContent;
			});
		}
		return JSON.stringify(out);
	})()`)), &page); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, r := range runs.Runs {
		for _, tm := range r.Times {
			v, h := uncert.Format(tm.Seconds, tm.U95)
			origin := map[string]string{"rest": "from rest", "rollout": "with rollout"}[tm.From]
			if got := page[r.ID+"|"+tm.Name+"|"+origin]; got != v+" ± "+h {
				t.Errorf("%s %s %s: the page has %q, the command %s ± %s", r.ID, tm.Name, origin, got, v, h)
			}
			n++
		}
	}
	if n < 100 || n != len(page) {
		t.Errorf("%d times of the command, %d on the page", n, len(page))
	}
	t.Logf("%d times equal to the digit", n)
}

// looks takes pictures at both widths in both schemes and has each checked.
func looks(b *tab) {
	b.js(`(document.querySelectorAll("details").forEach((d) => { d.open = true; }), "")`)
	for _, w := range []struct {
		width int
		name  string
	}{{1400, "1400"}, {360, "360"}, {2560, "2560"}} {
		for _, scheme := range []string{"light", "dark"} {
			b.media(w.width, scheme)
			b.wait(`document.querySelector("#fig-v canvas")`)
			b.shot("session-" + scheme + "-" + w.name)
			b.axe("session-" + scheme + "-" + w.name)
			// Nothing but its own scrolling boxes may be wider than the window.
			if wide := b.js(`[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".wide, nav, textarea, .skip")).slice(0, 5).map((e) => e.outerHTML.slice(0, 120)).join("\n")`); wide != "" {
				b.t.Errorf("at %s too wide:\n%s", w.name, wide)
			}
		}
	}
	b.printed()
	b.media(1280, "light")
}

// printed shows the sheet as a printer gets it: without its controls.
func (b *tab) printed() {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(794, 1123)) // A4 at 96 dpi
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		b.t.Fatal(err)
	}
	time.Sleep(200 * time.Millisecond)
	b.shot("session-print")
	if n := b.js(`[...document.querySelectorAll("button, .button, select, textarea, .adding")].filter((e) => e.checkVisibility() && !e.matches(".clk")).length`); n != "0" { // a run's time of day leads to it
		b.t.Errorf("%s controls are printed", n)
	}
	if n := b.js(`[...document.querySelectorAll(".timing, .cautions, #fig-v canvas, .modes")].filter((e) => e.checkVisibility()).length`); n != "4" {
		b.t.Errorf("%s of 4 parts are printed", n)
	}
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{}); err != nil {
		b.t.Fatal(err)
	}
}

// axeSource is the accessibility checker, fetched once for the test through npm
// and never part of the project.
var axeSource = func() func(t *testing.T) string {
	var src string
	var tried bool
	var mu sync.Mutex
	return func(t *testing.T) string {
		mu.Lock()
		defer mu.Unlock()
		if tried {
			return src
		}
		tried = true
		dir := t.TempDir()
		if _, err := exec.LookPath("npm"); err != nil {
			t.Log("skipped: no npm to fetch axe-core with")
			return ""
		}
		ctx, cancel := context.WithTimeout(context.Background(), 60*time.Second)
		defer cancel()
		cmd := exec.CommandContext(ctx, "npm", "install", "--no-save", "--ignore-scripts", "--prefix", dir, "axe-core@4.14.1")
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Logf("skipped: axe-core could not be fetched: %v %s", err, bytes.TrimSpace(out))
			return ""
		}
		body, err := os.ReadFile(filepath.Join(dir, "node_modules", "axe-core", "axe.min.js"))
		if err != nil {
			t.Logf("skipped: %v", err)
			return ""
		}
		src = string(body)
		return src
	}
}()

// axe has the page checked against WCAG 2.2 A and AA.
func (b *tab) axe(name string) {
	b.t.Helper()
	src := axeSource(b.t)
	if src == "" {
		return
	}
	b.do(chromedp.Evaluate[chromedp.Void](src + ";0"))
	got := b.js(`axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
		r.violations.map((v) => v.id + ": " + v.help + "\n" + v.nodes.slice(0, 4).map((n) => "   " + n.html.slice(0, 200) + " " + (n.any[0]?.message || "")).join("\n")).join("\n") + "|" + r.passes.length)`)
	violations, passes, _ := strings.Cut(got, "|")
	if violations != "" {
		b.t.Errorf("%s: accessibility\n%s", name, violations)
	}
	if passes == "0" {
		b.t.Errorf("%s: nothing was checked", name)
	}
}

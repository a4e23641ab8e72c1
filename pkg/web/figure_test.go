package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"fromrest/pkg/web/door"
)

// touch sends fingers to the page.
func (b *tab) touch(kind input.DispatchTouchEventType, at ...[2]float64) {
	b.t.Helper()
	points := []*input.TouchPoint{}
	for i, p := range at {
		points = append(points, &input.TouchPoint{X: p[0], Y: p[1], ID: new(float64(i))})
	}
	if _, err := chromedp.Call(b.ctx, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points}); err != nil {
		b.t.Fatal(err)
	}
}

// numbers evaluates an expression that gives a list of numbers.
func (b *tab) numbers(expr string) []float64 {
	b.t.Helper()
	var out []float64
	if err := json.Unmarshal([]byte(b.js(`JSON.stringify(await (`+expr+`))`)), &out); err != nil {
		b.t.Fatal(err)
	}
	return out
}

// The figure is worked in with the mouse, with fingers and with the keyboard alone.
func TestTheFigureIsWorkedIn(t *testing.T) {
	t.Parallel()
	b, _ := fromDrop(t, wholeDemo(t, filepath.Join(t.TempDir(), "van")), 1400, 900)
	// Acceleration is in g, as in the table; the folded figures share axis, cursor and zoom.
	b.js(`(document.getElementById("fold-a").closest("details").open = document.getElementById("fold-g").closest("details").open = true, "")`)
	b.wait(`document.querySelector("#fig-a canvas") && document.querySelector("#fig-g canvas")`)
	b.js(`(document.getElementById("values").open = true, "")`)
	b.wait(`/acceleration, g/.test(document.querySelector("#values thead")?.textContent)`)
	lines := func() []float64 {
		return b.numbers(`[..."vag"].map((k) => Math.round(new DOMMatrix(getComputedStyle(document.querySelector("#fig-" + k + " .u-cursor-x")).transform).e))`)
	}
	b.js(`(document.getElementById("fig-v").focus(), "")`)
	b.do(chromedp.KeyEvent("+"), chromedp.KeyEvent("\u0303"), chromedp.KeyEvent("\u0303"))
	b.js(`new Promise((ok) => setTimeout(ok, 300))`)
	if c := lines(); c[0] < 10 || c[0] != c[1] || c[1] != c[2] {
		t.Errorf("the cursors stand at %v", c)
	}
	// A view, by its word; it survives an edit.
	b.js(`(document.getElementById("view-0").click(), "")`)
	b.wait(`/x=-/.test(location.hash)`)
	seen := b.js(`location.hash`)
	b.fill("#head-place", "elsewhere")
	b.wait(`/elsewhere/.test(document.querySelector(".facts").textContent)`)
	b.js(`new Promise((ok) => setTimeout(ok, 800))`)
	if after := b.js(`location.hash`); after != seen {
		t.Errorf("an edit moves the view from %s to %s", seen, after)
	}
	b.js(`(document.getElementById("view-all").click(), "")`)
	b.wait(`!/x=/.test(location.hash)`)
	b.pointed(t)
	b.fingers(t)
	// In km/h all is metric, and the targets are those of the sheet.
	b.js(`(() => { const e = document.getElementById("form-units"); e.value = "kmh"; e.dispatchEvent(new Event("input")); e.dispatchEvent(new Event("change")); return ""; })()`)
	b.wait(`/0–100 km\/h/.test(document.querySelector("table.modes thead").textContent) && /speed, km\/h/.test(document.querySelector("#values thead").textContent) && /distance, m/.test(document.querySelector("#values thead").textContent)`)
	b.fill("#form-at", "0-50 km/h, 0-80 km/h")
	b.wait(`/0–50 km\/h, s0–80 km\/h, s/.test(document.querySelector("table.modes thead").textContent)`)
}

// pointed hides a line by a click, shows a mode alone by two, and all again beside it.
func (b *tab) pointed(t *testing.T) {
	b.js(`(scrollTo(0, 0), "")`)
	at := b.numbers(`(() => { const o = document.querySelector("#fig-v .u-over").getBoundingClientRect(); return [o.left + 0.62 * o.width, o.top, o.height]; })()`)
	state := `[document.querySelectorAll("[data-pick]:checked").length, new URLSearchParams(location.hash.split("?")[1] || "").get("off")].join()`
	click := func(hit func(string) bool, opts ...chromedp.MouseOption) bool {
		for y := at[1] + 0.45*at[2]; y > at[1]+8; y -= 4 {
			b.do(chromedp.MouseClickXY(at[0], y, opts...))
			b.js(`new Promise((ok) => setTimeout(ok, 400))`)
			if hit(b.js(state)) {
				return true
			}
		}
		return false
	}
	if !click(func(s string) bool { return s != "12," }) {
		t.Fatal("no click hides a line")
	}
	if !click(func(s string) bool { return strings.HasPrefix(s, "1,") || strings.Contains(s, "\x01") }, chromedp.ClickCount(2)) {
		t.Fatal("no double click shows a line alone")
	}
	for i := range 3 { // the ticks of the margin bring all back
		b.js(fmt.Sprintf(`(() => { const e = () => document.getElementById("group-%d"); if (e().checked) e().click(); e().click(); return ""; })()`, i))
	}
	b.wait(state + ` === "12,"`)
}

// fingers move the cursor with one and zoom with two.
func (b *tab) fingers(t *testing.T) {
	if _, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true}); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(390, 844))
	b.js(`(document.getElementById("figure").scrollIntoView(), new Promise((ok) => setTimeout(ok, 500)))`)
	o := b.numbers(`(() => { const o = document.querySelector("#fig-v .u-over").getBoundingClientRect(); return [o.left, o.top, o.width, o.height]; })()`)
	y := o[1] + o[3]/2
	before := b.js(`document.querySelector("#readout b").textContent`)
	b.touch(input.DispatchTouchEventTypeTouchStart, [2]float64{o[0] + 40, y})
	b.touch(input.DispatchTouchEventTypeTouchMove, [2]float64{o[0] + 90, y})
	b.touch(input.DispatchTouchEventTypeTouchEnd)
	if after := b.js(`document.querySelector("#readout b").textContent`); after == before {
		t.Errorf("a finger does not move the cursor from %s", before)
	}
	b.touch(input.DispatchTouchEventTypeTouchStart, [2]float64{o[0] + 80, y}, [2]float64{o[0] + 120, y})
	b.touch(input.DispatchTouchEventTypeTouchMove, [2]float64{o[0] + 40, y}, [2]float64{o[0] + 160, y})
	b.touch(input.DispatchTouchEventTypeTouchEnd)
	b.wait(`/x=/.test(location.hash)`)
	if _, err := chromedp.Call(b.ctx, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: false}); err != nil {
		t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(1400, 900))
	b.js(`(document.getElementById("view-all").click(), "")`)
}

// manyLogs writes logs of the demonstration on days of their own, so that their runs are
// no copies: each of two runs, named after modes in turn.
func manyLogs(t *testing.T, dir string, logs, modes int) []string {
	t.Helper()
	src := demoFiles(t, dir, 6)
	var out []string
	for i := range logs {
		mode := i % modes
		from := src[[]int{0, 1, 2, 4, 5}[mode%5]]
		body, err := os.ReadFile(from)
		if err != nil {
			t.Fatal(err)
		}
		text := redated(string(body), time.Date(2026, 1, 1+i, 0, 0, 0, 0, time.UTC))
		path := filepath.Join(dir, fmt.Sprintf("map%c-%d.nmea", 'A'+mode, i+1))
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		out = append(out, path)
	}
	return out
}

// redated is an NMEA log on another day.
func redated(log string, day time.Time) string {
	var b strings.Builder
	for line := range strings.Lines(log) {
		body := strings.TrimRight(line, "\r\n")
		if f := strings.Split(strings.SplitN(body, "*", 2)[0], ","); len(f) > 9 && strings.HasSuffix(f[0], "RMC") {
			f[9] = day.Format("020106")
			s, sum := strings.Join(f, ","), byte(0)
			for i := 1; i < len(s); i++ {
				sum ^= s[i]
			}
			body = fmt.Sprintf("%s*%02X", s, sum)
		}
		b.WriteString(body + "\r\n")
	}
	return b.String()
}

// Many runs and modes: nothing is wider than the window, means stand for runs, and the
// page stays responsive.
func TestManyRunsAndModes(t *testing.T) {
	t.Parallel()
	sizes := []struct{ logs, modes int }{{1, 1}, {16, 8}}
	if *measure {
		sizes = append(sizes, struct{ logs, modes int }{100, 3}) // takes minutes
	}
	for _, c := range sizes {
		dir := t.TempDir()
		b := openTab(t, "")
		sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
		b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
		b.wait(`document.getElementById("pick-files")`)
		b.js(`(window.slow = [], new PerformanceObserver((l) => { for (const e of l.getEntries()) slow.push(Math.round(e.duration)); }).observe({type: "longtask", buffered: true}), "")`)
		b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), manyLogs(t, dir, c.logs, c.modes)))
		b.wait(`document.querySelector("#ask form")`)
		b.js(`(document.querySelector("#ask form").requestSubmit(), "")`)
		b.waitFor(fmt.Sprintf(`document.querySelectorAll(".log").length === %d && !document.getElementById("adding").checkVisibility() && `, c.logs)+read+` && document.querySelector("#fig-v canvas")`, 5*time.Minute)
		b.js(`new Promise((ok) => setTimeout(ok, 2500))`)
		for _, w := range []int64{1400, 360} {
			b.do(chromedp.EmulateViewport(w, 900))
			b.js(`new Promise((ok) => setTimeout(ok, 500))`)
			if b.js(`document.documentElement.scrollWidth > innerWidth`) == "true" {
				t.Errorf("%d modes at %d px: the page scrolls sideways", c.modes, w)
			}
			b.shot(fmt.Sprintf("many-%d-%d", c.modes, w))
		}
		if rows := b.js(`document.querySelectorAll("table.modes tbody").length`); rows != fmt.Sprint(c.modes) {
			t.Errorf("%s rows for %d modes", rows, c.modes)
		}
		t.Logf("%d logs, %d modes: %s; tasks over 50 ms: %s", c.logs, c.modes, b.js(`document.getElementById("logs-sum").textContent`), b.js(`slow.sort((a, b) => b - a).slice(0, 6).join(" ")`))
	}
}

// Names that turn the order of letters are shown with marks, and nothing of them is markup.
func TestNamesAreShownWithMarks(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	body, err := os.ReadFile(demoFiles(t, dir, 1)[0])
	if err != nil {
		t.Fatal(err)
	}
	odd := filepath.Join(dir, "calm\u202egpj.nmea")
	if err := os.WriteFile(odd, body, 0o644); err != nil {
		t.Fatal(err)
	}
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), []string{odd}))
	b.wait(`document.querySelector("#ask form")`)
	b.fill("#ask-all", "eco\u202e")
	b.js(`(document.querySelector("#ask form").requestSubmit(), "")`)
	b.wait(read + ` && document.querySelector("table.modes tbody")`)
	b.fill("#head-title", "day\u202eone")
	b.wait(`document.querySelector("h1").textContent === "day[U+202E]one"`)
	if got := b.js(`document.body.innerText + document.title + [...document.querySelectorAll("[aria-label],[title]")].map((e) => e.getAttribute("aria-label") + e.title).join()`); strings.ContainsRune(got, '\u202e') || !strings.Contains(got, "calm[U+202E]gpj.nmea") || !strings.Contains(got, "eco[U+202E]") {
		t.Errorf("a name turns the text: %q", got[max(0, strings.IndexRune(got, '\u202e')-80):])
	}
}

// On paper across, nothing is cut.
func TestPaperIsNotCut(t *testing.T) {
	if testing.Short() {
		t.Skip("the demonstration in a browser takes long where it is slowed down")
	}
	t.Parallel()
	b, _ := fromDrop(t, wholeDemo(t, filepath.Join(t.TempDir(), "van")), 1400, 900)
	b.wait(`document.querySelectorAll(".timing tbody tr").length > 30 && document.querySelectorAll(".verdicts p").length === 3`)
	b.js(`(dispatchEvent(new Event("beforeprint")), new Promise((ok) => setTimeout(ok, 800)))`)
	b.do(chromedp.EmulateViewport(1032, 703)) // A4 across at 96 dpi less its margins
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: "print"}); err != nil {
		t.Fatal(err)
	}
	b.js(`new Promise((ok) => setTimeout(ok, 500))`)
	if wide := b.js(`[...document.querySelectorAll("body *")].filter((e) => e.checkVisibility() && e.getBoundingClientRect().right > 1033 && !e.closest(".skip, .vh")).slice(0, 4).map((e) => e.outerHTML.slice(0, 160)).join("\n")`); wide != "" {
		t.Errorf("cut on paper:\n%s", wide)
	}
	b.shot("paper-screen")
	if parts := b.js(`[".timing", "table.modes", "#fig-v canvas", ".cautions", ".runlist", ".verdicts", ".runs"].filter((q) => !document.querySelector(q)?.checkVisibility()).join()`); parts != "" {
		t.Errorf("not printed: %s", parts)
	}
}

// The link with the token works from another site, such as a mail client in the browser.
func TestTheTokenLinkWorksFromElsewhere(t *testing.T) {
	t.Parallel()
	elsewhere := httptest.NewServer(nil)
	defer elsewhere.Close()
	token := door.NewToken()
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{Token: token})
	mail := "http://localhost:" + elsewhere.Listener.Addr().String()[strings.LastIndex(elsewhere.Listener.Addr().String(), ":")+1:]
	elsewhere.Config.Handler = http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
		fmt.Fprintf(w, `<!doctype html><a id="link" href="%s/enter?token=%s">open</a>`, sv.url, token)
	})
	b := openTab(t, "")
	b.do(chromedp.Navigate(mail), chromedp.Click(chromedp.ID("link")))
	b.wait(`document.querySelector("h1")?.textContent === "A blank test sheet"`)
	if got := b.js(`location.href`); got != sv.url+"/" {
		t.Errorf("at %s", got)
	}
}

// The pages that open beside the sheet can be read by everybody too, and the sheet is worked
// in with the keyboard alone.
func TestBesideAndByKeyboard(t *testing.T) {
	if testing.Short() {
		t.Skip("the demonstration in a browser takes long where it is slowed down")
	}
	t.Parallel()
	b, sv := fromDrop(t, wholeDemo(t, filepath.Join(t.TempDir(), "van")), 1400, 900)
	b.js(`(document.querySelector('[data-run="calm-1#1"] .noted').open = document.getElementById("runs").open = true, "")`)
	b.axe("notes")
	// The way by Tab: skip link, sessions, adding, undo, print, then the answer.
	b.js(`(document.activeElement.blur(), scrollTo(0, 0), "")`)
	var way []string
	for range 9 {
		b.do(chromedp.KeyEvent("\t"))
		way = append(way, b.js(`document.activeElement.textContent.trim()`))
	}
	if got := strings.Join(way, ", "); !strings.Contains(got, "Sessions, Add logs, Add a folder, Undo, Print or export, More of this comparison") {
		t.Errorf("by Tab: %s", got)
	}
	b.js(`(document.getElementById("to-plan").focus(), "")`)
	b.do(chromedp.KeyEvent("\r"))
	b.wait(`document.getElementById("plan").open && document.activeElement.closest("#plan")`)
	b.js(`(document.querySelector("[data-pick]").focus(), "")`)
	b.do(chromedp.KeyEvent(" "))
	b.wait(`/runs=/.test(location.hash) && document.activeElement.dataset.pick && !document.activeElement.checked`)
	at := sv.url + "/api/sessions/" + b.id()
	for name, path := range map[string]string{"report": "/export/report.html", "plan": "/plan?modes=calm%0Afull", "why": "/export/explain.html", "wheels": "/wheels"} {
		body := text(t, ask(t, "GET", at+path, ""))
		for _, scheme := range []string{"light", "dark"} {
			for _, w := range []int{360, 1400} {
				b.do(chromedp.Navigate("about:blank"))
				b.media(w, scheme)
				tree, err := chromedp.Call(b.ctx, page.GetFrameTree, chromedp.Void{})
				if err == nil {
					_, err = chromedp.Call(b.ctx, page.SetDocumentContent, page.SetDocumentContentParams{FrameID: tree.FrameTree.Frame.ID, HTML: body})
				}
				if err != nil {
					t.Fatal(err)
				}
				b.axe(fmt.Sprintf("%s-%s-%d", name, scheme, w))
			}
		}
	}
}

package web

import (
	"flag"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

var measure = flag.Bool("measure", false, "measure how long the page takes from a drop to its verdict, and to draw its figure")

// How long a drop of six logs takes to its verdict beside the runs command on them, and
// what drawing 24 runs costs beside the chart alone. Run it alone:
//
//	go test ./pkg/web -run Measure -v -args -measure
func TestMeasure(t *testing.T) {
	if !*measure {
		t.Skip("skipped: it measures; give -args -measure")
	}
	dir := filepath.Join(t.TempDir(), "van")
	files := wholeDemo(t, dir)
	begun := time.Now()
	demoResult(t, dir)
	command := time.Since(begun)
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{})
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.Navigate(sv.url+"/"))
	b.wait(`document.getElementById("pick-files")`)
	b.js(`(new MutationObserver(() => { if (!window.told && document.querySelector("#verdict .second a, #verdict .second button")) window.told = Date.now(); }).observe(document.body, {childList: true, subtree: true}), "")`)
	at := time.Now()
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files))
	b.wait(`window.told`)
	told := b.numbers(`[window.told]`)[0] - float64(at.UnixMilli())
	t.Logf("from the drop of six logs to the verdict %.0f ms; the analysis of the runs command on them %d ms: %.2f times", told, command.Milliseconds(), told/float64(command.Milliseconds()))
	cost := func(decorated bool) float64 {
		return b.numbers(`import("/assets/plot.js").then(async ({ Plot }) => {
			const { decorator } = await import("/assets/marks.js"), x = Array.from({ length: 2500 }, (_, i) => i / 100), el = document.createElement("div");
			el.style.width = "968px";
			document.body.append(el);
			const line = { light: "#0072b2", dark: "#56b4e9", dash: [] };
			const items = Array.from({ length: 24 }, (_, k) => ({ line, width: 1, opacity: 0.7, dash: [], run: "r" + k, mode: "m", short: "r" + k, counted: true, way: k % 2, named: k < 3, y: x.map((t) => 80 * (1 - Math.exp(-t / (6 + k / 10)))), curve: { x, v: x, s: x } }));
			const d = decorator({ items, by: "time", from: "rollout", front: { modes: [], heads: ["0-60 mph"] }, targets: [{ speed: 60, distance: null }] });
			const p = new Plot(el, { x, items, height: 282, yName: "speed", xName: "time", bottom: true, right: 60, decorate: ` + map[bool]string{true: "d", false: "undefined"}[decorated] + ` });
			await new Promise((ok) => setTimeout(ok, 300));
			const direct = [];
			for (let i = 0; i < 30; i++) { const t0 = performance.now(); p.u.batch(() => p.u.redraw(true, true)); await null; await null; direct.push(performance.now() - t0); }
			p.destroy();
			el.remove();
			direct.sort((a, b) => a - b);
			return [direct[15]];
		})`)[0]
	}
	bare, ours := cost(false), cost(true)
	t.Logf("a redraw of 24 runs at 100 Hz: %.1f ms, the bare chart %.1f ms: %.2f times", ours, bare, ours/bare)
}

package web

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"fromrest/pkg/synth"
)

// wholeDemo writes the demonstration as a folder and returns all its files, the sheet and
// a report beside the logs among them.
func wholeDemo(t *testing.T, dir string) []string {
	t.Helper()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "report.html"), []byte("<!doctype html>\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// stands is true once the verdict and the figure of a whole session stand there.
const stands = read + ` && document.querySelector("#verdict .second") && document.querySelector("#fig-v canvas")`

// Pictures of every state to look at:
//
//	go test ./pkg/web -run Look -args -shots /tmp/page
func TestLook(t *testing.T) {
	if *shots == "" {
		t.Skip("skipped: pictures to look at, with -args -shots FOLDER")
	}
	dir := t.TempDir()
	files := wholeDemo(t, filepath.Join(dir, "van"))
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.getElementById("pick-files")`)
	b.screen("blank-light", 1400, 900, "light")
	b.screen("blank-dark", 1400, 900, "dark")
	b.screen("blank-360", 360, 740, "light")
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.SetUploadFiles(chromedp.ID("pick-files"), demoFiles(t, filepath.Join(dir, "bare"), 6)))
	b.wait(`document.querySelector("#ask form")`)
	b.screen("ask-1400", 1400, 900, "light")
	b.screen("ask-360", 360, 740, "dark")
	b.js(`(document.querySelector("#ask form button.link").click(), location.hash = "#/", "")`)
	b.wait(`document.querySelector(".sessions a")`)
	b.do(chromedp.EmulateViewport(1400, 900), chromedp.SetUploadFiles(chromedp.ID("pick-files"), files))
	b.wait(stands)
	for _, s := range [][2]int64{{1400, 900}, {2560, 1440}, {360, 740}, {390, 844}, {820, 1180}} {
		for _, scheme := range []string{"light", "dark"} {
			b.screen(fmt.Sprintf("first-%d-%s", s[0], scheme), s[0], s[1], scheme)
		}
	}
	b.js(`(document.querySelectorAll("details").forEach((d) => { d.open = true; }), "")`)
	for _, w := range []int64{1400, 360, 2560} {
		b.do(chromedp.EmulateViewport(w, 900))
		b.wait(`document.querySelector("#fig-a canvas") && document.querySelector("#fig-g canvas")`)
		b.shot(fmt.Sprintf("whole-%d", w))
	}
	b.paper("paper")
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.querySelector(".sessions a")`)
	b.screen("sessions", 1400, 900, "light")
}

// paper saves the page as a printer gets it.
func (b *tab) paper(name string) {
	b.t.Helper()
	got, err := chromedp.Call(b.ctx, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: new(true), PrintBackground: new(true)})
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*shots, name+".pdf"), got.Data, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// screen saves a picture of what a window of a size shows.
func (b *tab) screen(name string, width, height int64, scheme string) {
	b.t.Helper()
	b.media(int(width), scheme)
	b.do(chromedp.EmulateViewport(width, height))
	b.js(`(scrollTo(0, 0), new Promise((ok) => setTimeout(ok, 400)))`)
	png, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

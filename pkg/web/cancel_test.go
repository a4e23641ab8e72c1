package web

import (
	"context"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/synth"
)

// Reading a log can be cancelled and begun again; a log can be taken out.
func TestReadingIsCancelled(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{Workers: 1})
	id := begin(t, sv.url)
	// The only worker is held, so that the log waits.
	hold := make(chan struct{})
	sv.queue.add(func(context.Context) { <-hold })
	putLog(t, sv, id, filepath.Join(dir, "calm-1.nmea"), "calm")
	w, err := sv.work(context.Background(), id)
	if err != nil {
		t.Fatal(err)
	}
	sha := w.view("").Logs[0].SHA
	at := sv.url + "/api/sessions/" + id + "/logs/" + sha + "/"
	if res := ask(t, "POST", at+"cancel", "{}", "X-Fromrest: 1"); res.StatusCode != 200 {
		t.Fatalf("cancel: %s", res.Status)
	}
	close(hold)
	v := waitRead(t, sv, id, 1)
	if v.Logs[0].State != stateCancelled || len(v.Runs) != 0 {
		t.Errorf("after cancelling: %+v", v.Logs[0])
	}
	ask(t, "POST", at+"again", "{}", "X-Fromrest: 1")
	if v = waitRead(t, sv, id, 1); v.Logs[0].State != stateDone || len(v.Runs) == 0 {
		t.Errorf("read again: %+v", v.Logs[0])
	}
	if res := ask(t, "POST", at+"explode", "{}", "X-Fromrest: 1"); res.StatusCode != 404 {
		t.Errorf("unknown action: %s", res.Status)
	}
	ask(t, "POST", at+"remove", "{}", "X-Fromrest: 1")
	if v = waitRead(t, sv, id, 0); len(v.Runs) != 0 {
		t.Errorf("after removing: %+v", v.Runs)
	}
	if res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/remove", "{}", "X-Fromrest: 1"); res.StatusCode != 200 {
		t.Errorf("remove: %s", res.Status)
	}
	if res := ask(t, "GET", sv.url+"/api/sessions/"+id, ""); res.StatusCode != 404 {
		t.Errorf("removed session: %s", res.Status)
	}
}

// An upload that breaks off leaves nothing.
func TestBrokenUploadIsNotKept(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{})
	id := begin(t, sv.url)
	host := strings.TrimPrefix(sv.url, "http://")
	for _, half := range []int{0, 1000, 2 << 20} {
		c, err := net.Dial("tcp", host)
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "POST /api/sessions/%s/logs?name=x HTTP/1.1\r\nHost: %s\r\nX-Fromrest: 1\r\nContent-Length: %d\r\n\r\n%s", id, host, 3<<20, strings.Repeat("x", half))
		_ = c.Close() // cut off on purpose
	}
	time.Sleep(300 * time.Millisecond)
	if logs, err := sv.arch.Logs(context.Background()); err != nil || len(logs) != 0 {
		t.Errorf("kept %v, %v", logs, err)
	}
}

// Files that are no logs, cannot be read or are dropped twice are each said on
// the page; markup in a name is shown as it is.
func TestBadFilesInABrowser(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	files := demoFiles(t, dir, 1)
	evil := filepath.Join(dir, "<img src=x onerror=document.title=1>.nmea")
	for name, body := range map[string]string{evil: "\x89PNG not a log", filepath.Join(dir, "empty.csv"): "", filepath.Join(dir, "copy.nmea"): ""} {
		if name == filepath.Join(dir, "copy.nmea") {
			b, err := os.ReadFile(files[0])
			if err != nil {
				t.Fatal(err)
			}
			body = string(b)
		}
		if err := os.WriteFile(name, []byte(body), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, name)
	}
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{Token: "open sesame"})
	b.media(1280, "light")
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.getElementById("token")`)
	b.shot("enter")
	b.axe("enter")
	b.do(chromedp.SendKeys(chromedp.ID("token"), "open sesame\n"))
	b.wait(`document.querySelector("h1")?.textContent === "A blank test sheet"`)
	b.drop(files)
	// One more by a real drop, which no field sees.
	b.wait(`document.querySelectorAll(".log").length === 2 && !/still to be read/.test(document.getElementById("logs-sum").textContent)`)
	b.js(`(() => { const d = new DataTransfer(); d.items.add(new File(["dropped, but no log"], "dropped.txt"));
		dispatchEvent(new DragEvent("drop", {dataTransfer: d, cancelable: true})); return ""; })()`)
	b.wait(`document.querySelector('label[for="ask-all"]')?.textContent === "Drive mode of dropped.txt"`)
	b.js(`(document.querySelector("#ask form").requestSubmit(), "")`)
	b.wait(`document.querySelectorAll(".log").length === 3 && !/still to be read/.test(document.getElementById("logs-sum").textContent)`)
	page := b.js(`document.getElementById("adding").textContent + document.getElementById("logs").textContent`)
	for _, want := range []string{"<img src=x onerror=document.title=1>.nmea", "gave nothing: ", "the file is empty", "already in this session", "dropped.txt"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q:\n%s", want, page)
		}
	}
	if n := b.js(`document.querySelectorAll("#main img").length`); n != "0" {
		t.Errorf("%s elements came from a name", n)
	}
	b.shot("bad")
	b.axe("bad")
}

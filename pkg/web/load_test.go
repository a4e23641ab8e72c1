package web

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"fromrest/pkg/synth"
)

var season = flag.Int("load", 0, "drop so many logs of 8 MB on the page in one go and measure; the full test is 200")

// A season dropped at once: memory stays bounded, the page stays responsive and
// the first result comes while the rest is still on its way. Run it alone, as
// it measures the whole process:
//
//	go test ./pkg/web -run Season -v -args -load 200
func TestSeasonInOneDrop(t *testing.T) {
	if *season == 0 {
		t.Skip("skipped: takes minutes; give -load 200")
	}
	dir := t.TempDir()
	files := seasonFiles(t, dir, *season)
	runtime.GC()
	b := openTab(t, "")
	sv := serveTest(t, filepath.Join(dir, "archive.db"), Options{})
	b.media(1280, "light")
	b.do(chromedp.Navigate(sv.url + "/"))
	b.wait(`document.querySelector("h1")?.textContent === "A blank test sheet"`)
	// Long tasks and the time of the first result, as the page sees them.
	b.js(`(() => { window.slow = []; new PerformanceObserver((l) => { for (const e of l.getEntries()) slow.push(Math.round(e.duration)); }).observe({type: "longtask", buffered: true});
		const f = () => { if (!window.first && document.querySelector("#runs tbody tr")) window.first = performance.now(); requestAnimationFrame(f); }; f(); return ""; })()`)
	b.do(chromedp.SetUploadFiles(chromedp.ID("pick-files"), files))
	b.wait(`document.getElementById("ask-all")`)
	stop := make(chan struct{})
	peaks := make(chan int64, 1)
	go watchMemory(stop, peaks)
	begun := time.Now()
	b.js(`(() => { window.began = performance.now(); document.querySelector("#ask form").requestSubmit(); return ""; })()`)
	want := fmt.Sprintf(`/^%d logs, /.test(document.getElementById("logs-sum").textContent) && `, *season) + read
	b.waitFor(want, 30*time.Minute)
	took := time.Since(begun)
	close(stop)
	peak := <-peaks
	var slow []int
	if err := json.Unmarshal([]byte(b.js(`JSON.stringify(window.slow)`)), &slow); err != nil {
		t.Fatal(err)
	}
	worst := 0
	for _, d := range slow {
		worst = max(worst, d)
	}
	t.Logf("tasks over 50 ms: %v", slow)
	t.Logf("%d logs of 8 MB: all read after %v; peak resident memory of server and test %d MB; first run listed after %s ms; longest task of the page %d ms; %s",
		*season, took.Round(time.Millisecond), peak>>20, b.js(`Math.round(window.first - window.began)`), worst, b.js(`document.getElementById("logs-sum").textContent`))
	if peak > 500<<20 {
		t.Errorf("peak memory %d MB", peak>>20)
	}
	if worst > 200 {
		t.Errorf("a task of the page took %d ms", worst)
	}
	if _, faults, err := sv.arch.Verify(context.Background()); err != nil || len(faults) > 0 {
		t.Errorf("archive: %v %v", faults, err)
	}
}

// seasonFiles writes n different logs of an hour at 10 Hz with four runs each,
// made from one by a comment line that makes its bytes its own.
func seasonFiles(t *testing.T, dir string, n int) []string {
	t.Helper()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	body, err := os.ReadFile(filepath.Join(dir, logs[0].Name))
	if err != nil {
		t.Fatal(err)
	}
	// The rest of the hour stands still: the last instant's lines again, later.
	hour := stretch(string(body), 8<<20)
	var files []string
	for i := range n {
		f := filepath.Join(dir, fmt.Sprintf("log-%03d.nmea", i))
		if err := os.WriteFile(f, []byte(fmt.Sprintf("# log %d\r\n", i)+hour), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, f)
	}
	return files
}

// stretch lengthens an NMEA log to a size by repeating its last still seconds
// with times that go on.
func stretch(log string, size int) string {
	lines := strings.Split(strings.TrimRight(log, "\r\n"), "\r\n")
	tail := lines[max(0, len(lines)-30):]
	var b strings.Builder
	b.WriteString(log)
	at := time.Date(2026, 5, 9, 9, 30, 0, 0, time.UTC)
	for b.Len() < size {
		var last string
		for _, l := range tail {
			f := strings.Split(strings.SplitN(l, "*", 2)[0], ",")
			if len(f) < 2 || len(f[0]) < 6 {
				continue
			}
			if kind := f[0][3:]; kind == "RMC" || kind == "GGA" {
				if last != "" && kind == "RMC" {
					at = at.Add(100 * time.Millisecond)
				}
				last = kind
				f[1] = at.Format("150405.00")
			}
			s := strings.Join(f, ",")
			sum := byte(0)
			for i := 1; i < len(s); i++ {
				sum ^= s[i]
			}
			fmt.Fprintf(&b, "%s*%02X\r\n", s, sum)
		}
		at = at.Add(100 * time.Millisecond)
	}
	return b.String()
}

// watchMemory samples the process's resident memory until stopped.
func watchMemory(stop chan struct{}, peak chan int64) {
	var most int64
	for {
		select {
		case <-stop:
			peak <- most
			return
		case <-time.After(50 * time.Millisecond):
			if b, err := os.ReadFile("/proc/self/statm"); err == nil {
				var size, resident int64
				if _, err := fmt.Sscan(string(b), &size, &resident); err == nil {
					most = max(most, resident*int64(os.Getpagesize()))
				}
			}
		}
	}
}

package web

import (
	"context"
	"flag"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"fromrest/pkg/archive"
)

var shots = flag.String("shots", "", "folder to write screenshots of the page to")

// tab is one page of a headless browser.
type tab struct {
	t   *testing.T
	ctx context.Context
}

// chromium finds a browser, or skips the test.
func chromium(t *testing.T) string {
	if testing.Short() {
		t.Skip("a browser waits too long for a program that is slowed down")
	}
	t.Helper()
	for _, p := range []string{"/usr/lib/chromium/chromium", "chromium", "chromium-browser"} {
		if f, err := exec.LookPath(p); err == nil {
			return f
		}
	}
	t.Skip("skipped: no chromium on this machine to drive the page with")
	return ""
}

// openTab starts a browser that saves downloads in a folder.
func openTab(t *testing.T, downloads string) *tab {
	t.Helper()
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(filepath.Join(t.TempDir(), "profile")), chromedp.Flag("disable-component-update", true),
		chromedp.Flag("no-proxy-server", true), chromedp.Flag("js-flags", "--expose-gc"))
	alloc, cancelAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(func() {
		last, done := context.WithTimeout(ctx, 10*time.Second)
		defer done()
		_ = chromedp.Cancel(last) // it may have gone by itself
		cancel()
		cancelAlloc()
	})
	if err := chromedp.Do(ctx); err != nil {
		t.Fatalf("the browser does not start: %v", err)
	}
	b := &tab{t, ctx}
	if downloads != "" {
		if _, err := chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{Behavior: "allow", DownloadPath: downloads}); err != nil {
			t.Fatal(err)
		}
	}
	return b
}

// do runs actions, each within a time limit.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	for _, s := range steps {
		ctx, cancel := context.WithTimeout(b.ctx, 30*time.Second)
		err := chromedp.Do(ctx, s)
		cancel()
		if err != nil {
			b.t.Fatalf("%v", err)
		}
	}
}

// js evaluates an expression that gives a string.
func (b *tab) js(expr string) string {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, 60*time.Second)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[string](`(async () => String(await (`+expr+`)))()`, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", expr, err)
	}
	return v
}

// wait waits until an expression is true.
func (b *tab) wait(expr string) {
	b.t.Helper()
	b.waitFor(expr, 30*time.Second)
}

func (b *tab) waitFor(expr string, d time.Duration) {
	b.t.Helper()
	for end := time.Now().Add(d); ; time.Sleep(50 * time.Millisecond) {
		if b.js("!!("+expr+")") == "true" {
			return
		}
		if time.Now().After(end) {
			b.shot("stuck")
			b.t.Fatalf("never became true: %s\nat %s the page says: %s", expr, b.js(`location.hash`), b.js(`document.getElementById("say").textContent + " | " + document.getElementById("main").innerText.slice(0, 1500)`))
		}
	}
}

// media sets the width of the window and the colour scheme.
func (b *tab) media(width int, scheme string) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(int64(width), 800))
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}}); err != nil {
		b.t.Fatal(err)
	}
	time.Sleep(300 * time.Millisecond)
}

// shot saves a picture of the whole page, if pictures were asked for.
func (b *tab) shot(name string) {
	b.t.Helper()
	if *shots == "" {
		return
	}
	b.js(`scrollTo(0, 0)`)
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*shots, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// served is a running server with its archive.
type served struct {
	*Server
	url  string
	arch *archive.Archive
	stop func()
}

// serveTest starts a server on a free port of loopback over the archive at path.
func serveTest(t *testing.T, path string, opts Options) *served {
	t.Helper()
	return serveAt(t, "127.0.0.1:0", path, opts)
}

// serveAt is serveTest at an address of its own, such as that of a server that went.
func serveAt(t *testing.T, addr, path string, opts Options) *served {
	t.Helper()
	a, err := archive.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	opts.Archive = a
	if opts.Version == "" {
		opts.Version = "test"
	}
	s, err := New(opts)
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", addr)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, ln) }()
	stopped := false
	sv := &served{Server: s, url: "http://" + ln.Addr().String(), arch: a}
	sv.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-done; err != nil {
			t.Errorf("serve: %v", err)
		}
		s.Close()
		if err := a.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	}
	t.Cleanup(sv.stop)
	return sv
}

func openArchive(t *testing.T, path string) *archive.Archive {
	t.Helper()
	a, err := archive.Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

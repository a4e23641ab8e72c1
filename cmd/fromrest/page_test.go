package main

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/web"
)

// localPage is the page as serve serves it, with one session.
type localPage struct {
	t    *testing.T
	base string // of the session
}

// servePage opens the page on a session of some logs with a sheet's text.
func servePage(t *testing.T, sheet string, logs ...string) *localPage {
	t.Helper()
	arch, err := archive.Open(context.Background(), filepath.Join(t.TempDir(), "a.db"))
	if err != nil {
		t.Fatal(err)
	}
	s, err := web.New(web.Options{Version: buildVersion(), Archive: arch, Log: io.Discard})
	if err != nil {
		t.Fatal(err)
	}
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- s.Serve(ctx, ln) }()
	t.Cleanup(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
		if err := arch.Close(); err != nil {
			t.Error(err)
		}
	})
	p := &localPage{t, "http://" + ln.Addr().String() + "/api/sessions"}
	var made struct{ ID string }
	p.json("POST", "", `{"title":""}`, &made)
	p.base += "/" + made.ID
	for _, path := range logs {
		p.ask("POST", "/logs?name="+url.QueryEscape(filepath.Base(path)), mustReadFile(t, path))
	}
	p.wait(len(logs))
	body, err := json.Marshal(map[string]any{"op": "sheet", "base": 0, "text": sheet})
	if err != nil {
		t.Fatal(err)
	}
	p.ask("POST", "/edit", string(body))
	p.wait(len(logs))
	return p
}

// wait waits until all logs have been read.
func (p *localPage) wait(logs int) {
	p.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		var v struct {
			Pending int
			Logs    []any
		}
		if p.json("GET", "", "", &v); v.Pending == 0 && len(v.Logs) == logs {
			return
		}
	}
	p.t.Fatal("the logs were never read")
}

func (p *localPage) ask(method, path, body string) []byte {
	p.t.Helper()
	req, err := http.NewRequest(method, p.base+path, strings.NewReader(body))
	if err != nil {
		p.t.Fatal(err)
	}
	req.Header.Set("X-Fromrest", "1")
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		p.t.Fatal(err)
	}
	defer func() { _ = res.Body.Close() }()
	var b bytes.Buffer
	if _, err := b.ReadFrom(res.Body); err != nil || res.StatusCode != http.StatusOK {
		p.t.Fatalf("%s %s: %s %v %s", method, path, res.Status, err, b.String())
	}
	return b.Bytes()
}

func (p *localPage) json(method, path, body string, to any) {
	p.t.Helper()
	if err := json.Unmarshal(p.ask(method, path, body), to); err != nil {
		p.t.Fatal(err)
	}
}

package web

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/web/door"
)

// ask sends one request with headers given as "Name: value".
func ask(t *testing.T, method, address, body string, headers ...string) *response {
	t.Helper()
	req, err := http.NewRequest(method, address, strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	for _, h := range headers {
		k, v, _ := strings.Cut(h, ": ")
		if k == "Host" {
			req.Host = v
		} else {
			req.Header.Set(k, v)
		}
	}
	client := &http.Client{Timeout: 3 * time.Minute, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	res, err := client.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	return taken(t, res)
}

// response is one that was taken whole.
type response struct {
	Status     string
	StatusCode int
	Header     http.Header
	Cookies    []*http.Cookie
	Body       io.Reader
}

// taken reads a response to its end.
func taken(t *testing.T, res *http.Response) *response {
	t.Helper()
	b, err := io.ReadAll(res.Body)
	body := io.Reader(bytes.NewReader(b))
	if err := cmp.Or(err, res.Body.Close()); err != nil {
		// A refusal may be cut off; it is an error for who reads the body.
		body = io.MultiReader(body, iotest.ErrReader(err))
	}
	return &response{res.Status, res.StatusCode, res.Header, res.Cookies(), body}
}

func text(t *testing.T, res *response) string {
	t.Helper()
	b, err := io.ReadAll(res.Body)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// begin makes a session and returns its id.
func begin(t *testing.T, base string) string {
	t.Helper()
	var out struct{ ID string }
	res := ask(t, "POST", base+"/api/sessions", `{"title":"test"}`, "X-Fromrest: 1")
	if err := json.NewDecoder(res.Body).Decode(&out); err != nil || out.ID == "" {
		t.Fatalf("no session: %v %v", res.Status, err)
	}
	return out.ID
}

func TestOnlyOwnRequestsAreAnswered(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{Hosts: []string{"testbench"}})
	u, _ := url.Parse(sv.url)
	port := u.Port()
	id := begin(t, sv.url)
	own := "Origin: " + sv.url
	for name, c := range map[string]struct {
		method, path string
		headers      []string
		want         int
	}{
		"by address":                   {"GET", "/", nil, 200},
		"by name":                      {"GET", "/", []string{"Host: localhost:" + port}, 200},
		"by a name given":              {"GET", "/", []string{"Host: TestBench:" + port}, 200},
		"rebound name":                 {"GET", "/", []string{"Host: evil.example:" + port}, 421},
		"rebound name, API":            {"GET", "/api/sessions", []string{"Host: 127.0.0.1.evil.example:" + port}, 421},
		"other port":                   {"GET", "/", []string{"Host: localhost:1"}, 421},
		"no port":                      {"GET", "/", []string{"Host: localhost"}, 421},
		"no host":                      {"GET", "/", []string{"Host: :" + port}, 421},
		"own page reads":               {"GET", "/api/sessions", []string{"Sec-Fetch-Site: same-origin"}, 200},
		"other site reads":             {"GET", "/api/sessions", []string{"Sec-Fetch-Site: cross-site"}, 403},
		"other site frames":            {"GET", "/", []string{"Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: navigate", "Sec-Fetch-Dest: iframe"}, 403},
		"other site links":             {"GET", "/", []string{"Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: navigate", "Sec-Fetch-Dest: document"}, 200},
		"other site links deep":        {"GET", "/api/sessions/" + id, []string{"Sec-Fetch-Site: cross-site", "Sec-Fetch-Mode: navigate", "Sec-Fetch-Dest: document"}, 403},
		"other port of this machine":   {"POST", "/api/sessions", []string{"Sec-Fetch-Site: same-site", "X-Fromrest: 1"}, 403},
		"own page posts":               {"POST", "/api/sessions", []string{"Sec-Fetch-Site: same-origin", own, "X-Fromrest: 1"}, 200},
		"cross-origin post":            {"POST", "/api/sessions", []string{"Origin: http://evil.example", "X-Fromrest: 1"}, 403},
		"cross-origin post, null":      {"POST", "/api/sessions", []string{"Origin: null", "X-Fromrest: 1"}, 403},
		"https origin":                 {"POST", "/api/sessions", []string{"Origin: https://" + u.Host, "X-Fromrest: 1"}, 403},
		"post as a form sends it":      {"POST", "/api/sessions", []string{"Content-Type: text/plain", own}, 403},
		"post typed by nobody":         {"POST", "/api/sessions", []string{"Sec-Fetch-Site: none", "X-Fromrest: 1"}, 403},
		"preflight":                    {"OPTIONS", "/api/sessions", []string{"Origin: http://evil.example"}, 405},
		"delete":                       {"DELETE", "/api/sessions/" + id, []string{"X-Fromrest: 1"}, 405},
		"cross-origin removal":         {"POST", "/api/sessions/" + id + "/remove", []string{"Origin: http://evil.example", "X-Fromrest: 1"}, 403},
		"removal without the header":   {"POST", "/api/sessions/" + id + "/remove", nil, 403},
		"cross-origin upload":          {"POST", "/api/sessions/" + id + "/logs?name=x", []string{"Origin: http://evil.example", "X-Fromrest: 1"}, 403},
		"unknown session":              {"GET", "/api/sessions/nothing", nil, 404},
		"unknown asset":                {"GET", "/assets/nothing.js", nil, 404},
		"folder of assets":             {"GET", "/assets/", nil, 404},
		"unknown log":                  {"GET", "/api/sessions/" + id + "/logs/0123", nil, 404},
		"unknown export":               {"GET", "/api/sessions/" + id + "/export/passwd", nil, 404},
		"entering where none is asked": {"GET", "/enter", nil, 404},
	} {
		t.Run(name, func(t *testing.T) {
			body := ""
			if c.method == "POST" {
				body = `{"title":"x"}`
			}
			if res := ask(t, c.method, sv.url+c.path, body, c.headers...); res.StatusCode != c.want {
				t.Errorf("%s %s %v: %s, want %d", c.method, c.path, c.headers, res.Status, c.want)
			}
		})
	}
	if _, err := sv.arch.Session(context.Background(), id); err != nil {
		t.Errorf("a refused removal removed the session: %v", err)
	}
}

func TestNoPathLeadsOut(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "secret.db"), Options{})
	id := begin(t, sv.url)
	for _, p := range []string{"/../../etc/passwd", "/assets/../secret.db", "/assets/..%2f..%2fetc/passwd", "/assets/%2e%2e/server.go", "/assets/..\\server.go",
		"/assets//etc/passwd", "/assets/%00", "//evil.example/", "/assets/vendor/../../server.go", "/api/sessions/" + id + "/export/..%2f..%2fsecret.db", "/api/sessions/..%2f/logs/x"} {
		// Written by hand: a client would tidy the path.
		c, err := net.Dial("tcp", strings.TrimPrefix(sv.url, "http://"))
		if err != nil {
			t.Fatal(err)
		}
		fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: %s\r\nConnection: close\r\n\r\n", p, strings.TrimPrefix(sv.url, "http://"))
		res, err := http.ReadResponse(bufio.NewReader(c), nil)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := io.ReadAll(res.Body)
		_ = res.Body.Close()
		_ = c.Close()
		if res.StatusCode < 400 || bytes.Contains(b, []byte("root:")) || bytes.Contains(b, []byte("package web")) {
			t.Errorf("%s: %s %q", p, res.Status, b)
		}
	}
}

func TestSecurityHeaders(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{})
	for _, path := range []string{"/", "/assets/app.js", "/api/sessions", "/nothing"} {
		h := ask(t, "GET", sv.url+path, "").Header
		csp := h.Get("Content-Security-Policy")
		for _, want := range []string{"default-src 'none'", "script-src 'self'", "frame-ancestors 'none'", "base-uri 'none'", "require-trusted-types-for 'script'"} {
			if !strings.Contains(csp, want) {
				t.Errorf("%s: policy %q lacks %q", path, csp, want)
			}
		}
		if strings.Contains(csp, "unsafe") || strings.Contains(csp, "*") {
			t.Errorf("%s: policy %q", path, csp)
		}
		if h.Get("X-Content-Type-Options") != "nosniff" || h.Get("Cross-Origin-Resource-Policy") != "same-origin" || h.Get("Access-Control-Allow-Origin") != "" {
			t.Errorf("%s: headers %v", path, h)
		}
	}
	page := text(t, ask(t, "GET", sv.url+"/", ""))
	for _, inline := range []string{"<script>", "onclick=", "style=", "javascript:", "//cdn", "https://"} {
		if strings.Contains(page, inline) {
			t.Errorf("the page has %q", inline)
		}
	}
}

// The embedded chart library is the one whose sums were checked in.
func TestVendoredFilesAreWhatTheyWere(t *testing.T) {
	sums, err := os.ReadFile("assets/vendor/SHA256SUMS")
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, line := range strings.Split(strings.TrimSpace(string(sums)), "\n") {
		f := strings.Fields(line)
		b, err := os.ReadFile("assets/vendor/" + f[1])
		if err != nil {
			t.Error(err)
			continue
		}
		if h := sha256.Sum256(b); hex.EncodeToString(h[:]) != f[0] {
			t.Errorf("%s was changed", f[1])
		}
		n++
	}
	files, _ := os.ReadDir("assets/vendor")
	if n != len(files)-1 {
		t.Errorf("%d files, %d sums", len(files)-1, n)
	}
}

func TestTokenOpensTheDoor(t *testing.T) {
	token := door.NewToken()
	if len(token) < 20 || token == door.NewToken() {
		t.Fatalf("token %q", token)
	}
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{Token: token})
	is := func(what string, res *response, want int) *response {
		t.Helper()
		if res.StatusCode != want {
			t.Errorf("%s: %s, want %d", what, res.Status, want)
		}
		return res
	}
	is("page", ask(t, "GET", sv.url+"/", ""), 303)
	is("API", ask(t, "GET", sv.url+"/api/sessions", ""), 401)
	is("script", ask(t, "GET", sv.url+"/assets/app.js", ""), 401)
	is("post", ask(t, "POST", sv.url+"/api/sessions", `{}`, "X-Fromrest: 1"), 401)
	is("form", ask(t, "GET", sv.url+"/enter", ""), 200)
	is("wrong token", ask(t, "GET", sv.url+"/enter?token=wrong", ""), 401)
	is("wrong cookie", ask(t, "GET", sv.url+"/api/sessions", "", "Cookie: fromrest="+token), 401)
	is("token from another site", ask(t, "POST", sv.url+"/enter", "token="+token, "Content-Type: application/x-www-form-urlencoded", "Origin: http://evil.example"), 403)
	res := is("right token", ask(t, "GET", sv.url+"/enter?token="+token, ""), 200)
	cookies := res.Cookies
	if len(cookies) != 1 || !cookies[0].HttpOnly || cookies[0].SameSite != http.SameSiteStrictMode || strings.Contains(cookies[0].Value, token) {
		t.Fatalf("cookies %v", cookies)
	}
	pass := "Cookie: fromrest=" + cookies[0].Value
	is("with the cookie", ask(t, "GET", sv.url+"/api/sessions", "", pass), 200)
	is("by form", ask(t, "POST", sv.url+"/enter", "token="+token, "Content-Type: application/x-www-form-urlencoded", "Origin: "+sv.url, "Sec-Fetch-Site: same-origin"), 303)
	is("cookie from another site", ask(t, "POST", sv.url+"/api/sessions", `{}`, pass, "Origin: http://evil.example", "X-Fromrest: 1"), 403)
}

func TestTooLargeIsRefused(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{MaxLog: 1 << 20})
	id := begin(t, sv.url)
	at := sv.url + "/api/sessions/" + id + "/logs?name=big.nmea"
	if res := ask(t, "POST", at, strings.Repeat("x", 1<<20+1), "X-Fromrest: 1"); res.StatusCode != 413 {
		t.Errorf("announced: %s", res.Status)
	}
	// Without a length, in chunks: the limit is met on the way.
	r, w := io.Pipe()
	go func() {
		for range 40 {
			if _, err := w.Write(make([]byte, 64<<10)); err != nil {
				return
			}
		}
		_ = w.Close()
	}()
	req, _ := http.NewRequest("POST", at, r)
	req.Header.Set("X-Fromrest", "1")
	res, err := http.DefaultClient.Do(req)
	if err == nil {
		if res := taken(t, res); res.StatusCode != 413 || !strings.Contains(text(t, res), "larger than the 1 MiB") {
			t.Errorf("in chunks: %s", res.Status)
		}
	}
	_ = r.Close()
	if res := ask(t, "POST", sv.url+"/api/sessions", `{"title":"`+strings.Repeat("x", maxRequest)+`"}`, "X-Fromrest: 1"); res.StatusCode != 413 {
		t.Errorf("JSON: %s", res.Status)
	}
	if res := ask(t, "GET", sv.url+"/", "", "X-Long: "+strings.Repeat("x", 64<<10)); res.StatusCode != 431 {
		t.Errorf("header: %s", res.Status)
	}
	if logs, _ := sv.arch.Logs(context.Background()); len(logs) != 0 {
		t.Errorf("kept %v", logs)
	}
}

// A client that sends its headers or its body by the byte is given up, and the
// page is answered meanwhile.
func TestSlowClientsAreGivenUp(t *testing.T) {
	t.Parallel()
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{Stall: 300 * time.Millisecond})
	id := begin(t, sv.url)
	host := strings.TrimPrefix(sv.url, "http://")
	trickle := func(head string) net.Conn {
		c, err := net.Dial("tcp", host)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { _ = c.Close() })
		if _, err := io.WriteString(c, head); err != nil {
			t.Fatal(err)
		}
		go func() {
			for {
				time.Sleep(50 * time.Millisecond)
				if _, err := io.WriteString(c, "x"); err != nil {
					return
				}
			}
		}()
		return c
	}
	var slow []net.Conn
	for range 8 { // more than the slots for uploads
		slow = append(slow, trickle(fmt.Sprintf("POST /api/sessions/%s/logs?name=slow HTTP/1.1\r\nHost: %s\r\nX-Fromrest: 1\r\nContent-Length: 100000\r\n\r\n", id, host)))
	}
	for range 20 {
		slow = append(slow, trickle("GET / HTTP/1.1\r\nHost: "+host+"\r\nX-Slow: "))
	}
	if res := ask(t, "GET", sv.url+"/api/sessions", ""); res.StatusCode != 200 {
		t.Errorf("page meanwhile: %s", res.Status)
	}
	res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/logs?name=quick", "no log, but quick", "X-Fromrest: 1")
	if res.StatusCode != 200 {
		t.Errorf("upload meanwhile: %s", res.Status)
	}
	for i, c := range slow {
		if err := c.SetReadDeadline(time.Now().Add(9 * time.Second)); err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, c); err != nil && os.IsTimeout(err) {
			t.Errorf("slow client %d was not given up", i)
		}
	}
	if logs, _ := sv.arch.Logs(context.Background()); len(logs) != 1 {
		t.Errorf("kept %v, want the quick one alone", logs)
	}
}

// Names are data: they come back as they were, in JSON that no browser takes for
// a page, and as harmless file names.
func TestMarkupInNamesStaysText(t *testing.T) {
	sv := serveTest(t, filepath.Join(t.TempDir(), "a.db"), Options{})
	id := begin(t, sv.url)
	name := `<img src=x onerror=alert(1)>"; filename=x` + "\r\nSet-Cookie: a=b" + `/../../evil.nmea`
	mode := `<script>alert(2)</script>`
	q := url.Values{"name": {name}, "mode": {mode}, "key": {"<k>"}}
	res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/logs?"+q.Encode(), "$GPRMC nothing", "X-Fromrest: 1")
	var up struct{ SHA string }
	if err := json.NewDecoder(res.Body).Decode(&up); err != nil {
		t.Fatal(err)
	}
	res = ask(t, "GET", sv.url+"/api/sessions/"+id, "")
	if k := res.Header.Get("Content-Type"); !strings.HasPrefix(k, "application/json") {
		t.Errorf("content type %q", k)
	}
	raw := text(t, res)
	if strings.Contains(raw, "<img") || strings.Contains(raw, "<script") {
		t.Errorf("markup is not escaped: %s", raw)
	}
	var v sessionView
	if err := json.Unmarshal([]byte(raw), &v); err != nil {
		t.Fatal(err)
	}
	if len(v.Logs) != 1 || v.Logs[0].Name != clean(name, 300) || v.Logs[0].Mode != mode || strings.ContainsAny(v.Logs[0].Name, "\r\n") {
		t.Errorf("log %+v", v.Logs)
	}
	res = ask(t, "GET", sv.url+"/api/sessions/"+id+"/logs/"+up.SHA, "")
	if got := text(t, res); res.StatusCode == http.StatusOK || strings.Contains(got, "GPRMC") {
		t.Errorf("a raw log left the page: status %d, %q", res.StatusCode, got)
	}
}

func TestFullDiskIsSaidClearly(t *testing.T) {
	w := &recorder{header: http.Header{}}
	fail(w, fmt.Errorf("x: %w", archive.ErrFull))
	if w.status != http.StatusInsufficientStorage || !strings.Contains(w.body.String(), "no space left") {
		t.Errorf("%d %s", w.status, w.body.String())
	}
}

type recorder struct {
	header http.Header
	status int
	body   bytes.Buffer
}

func (r *recorder) Header() http.Header         { return r.header }
func (r *recorder) WriteHeader(n int)           { r.status = n }
func (r *recorder) Write(b []byte) (int, error) { return r.body.Write(b) }

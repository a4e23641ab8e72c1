// Package door lets in what comes from the page itself: requests that name the server by a
// known host, that no other site's page made, and that, where a token is asked for, carry
// the cookie that it buys. It sets the headers by which a browser keeps to that.
//
// There is one token for all, and no encryption.
package door

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"net"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"
)

// policy lets the page load its own files and talk to its own server, nothing
// else: no inline script or style, no frame around it, no form that leads away.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self'; " +
	"form-action 'self'; base-uri 'none'; frame-ancestors 'none'; require-trusted-types-for 'script'; trusted-types 'none'"

// cookieName is the cookie that stands for a token given on entering.
const cookieName = "fromrest"

// Mark must be on every request that changes something: a page of another
// origin cannot send it without being asked for leave first.
const Mark = "X-Fromrest"

// What one client may take, and how long a wrong token costs; assumed, see the limits of
// package web.
const (
	maxToken   = 4096                   // bytes of the form that a token is given in
	wrongToken = 300 * time.Millisecond // before the answer to a wrong token, so that guessing takes for ever
)

// Options shape a door.
type Options struct {
	Hosts []string // names, without port, beside those of the loopback address
	Token string   // that must be given on entering, "" for none
	// Wait is how long a client has to take its answer.
	Wait time.Duration
	// Enter asks for the token with a status, and Entered goes on to the page.
	Enter   func(w http.ResponseWriter, status int)
	Entered func(http.ResponseWriter)
}

// Door refuses what does not come from the server's own page.
type Door struct {
	o      Options
	next   http.Handler
	mu     sync.RWMutex
	hosts  map[string]bool // lower case, without port
	port   string          // "" until the listener is known
	token  [sha256.Size]byte
	locked bool   // a token is asked for
	cookie string // what entering gives

	failMu sync.Mutex // one wrong token at a time, each costs a while
	delay  time.Duration
}

// New makes a door before a handler.
func New(opts Options, next http.Handler) *Door {
	g := &Door{o: opts, next: next, hosts: map[string]bool{"localhost": true, "127.0.0.1": true, "::1": true},
		locked: opts.Token != "", token: sha256.Sum256([]byte(opts.Token)), cookie: rand.Text(), delay: wrongToken}
	for _, h := range opts.Hosts {
		g.hosts[strings.ToLower(strings.Trim(h, "[]"))] = true
	}
	return g
}

// Serves tells the door which port is its own.
func (g *Door) Serves(addr net.Addr) {
	if t, ok := addr.(*net.TCPAddr); ok {
		_, port, _ := net.SplitHostPort(t.String())
		g.mu.Lock()
		g.port = port
		g.mu.Unlock()
	}
}

// ServeHTTP implements http.Handler.
func (g *Door) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	h := w.Header()
	h.Set("Content-Security-Policy", policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("X-Frame-Options", "DENY")
	h.Set("Referrer-Policy", "same-origin") // no-referrer would make the origin of a form "null"
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
	h.Set("Cross-Origin-Resource-Policy", "same-origin")
	h.Set("Permissions-Policy", "camera=(), geolocation=(), microphone=(), payment=(), usb=()")
	h.Set("Cache-Control", "no-store")

	switch {
	case !g.knownHost(r.Host):
		http.Error(w, "this server does not answer to that host name", http.StatusMisdirectedRequest)
	case r.Method != http.MethodGet && r.Method != http.MethodHead && r.Method != http.MethodPost:
		h.Set("Allow", "GET, HEAD, POST")
		http.Error(w, "method not allowed", http.StatusMethodNotAllowed)
	case !plainPath(r.URL):
		http.Error(w, "bad path", http.StatusBadRequest)
	case !g.sameSite(r):
		http.Error(w, "requests from other sites are refused", http.StatusForbidden)
	case g.locked && r.URL.Path == "/enter":
		g.enter(w, r)
	case g.locked && !g.entered(r) && r.URL.Path != "/assets/style.css":
		if r.Method == http.MethodGet && r.URL.Path == "/" {
			http.Redirect(w, r, "/enter", http.StatusSeeOther)
			return
		}
		http.Error(w, "the token shown at the start of the server is needed", http.StatusUnauthorized)
	case r.Method == http.MethodPost && r.Header.Get(Mark) == "":
		http.Error(w, "the request did not come from the page", http.StatusForbidden)
	default:
		// A client that does not take its answer may not hold it for ever;
		// events and uploads set deadlines of their own.
		if err := http.NewResponseController(w).SetWriteDeadline(time.Now().Add(g.o.Wait)); err != nil && !errors.Is(err, http.ErrNotSupported) {
			return // the connection is gone
		}
		g.next.ServeHTTP(w, r)
	}
}

// knownHost reports whether the Host header is one of ours, so that a name which
// somebody else points at this address is refused.
func (g *Door) knownHost(host string) bool {
	g.mu.RLock()
	defer g.mu.RUnlock()
	name, port := host, ""
	if h, p, err := net.SplitHostPort(host); err == nil {
		name, port = h, p
	}
	if g.port != "" && port != g.port && (port != "" || g.port != "80") {
		return false
	}
	return g.hosts[strings.ToLower(strings.Trim(name, "[]"))]
}

// plainPath refuses paths that try to climb or to hide.
func plainPath(u *url.URL) bool {
	climbs := func(part string) bool { return part == ".." || part == "." }
	return !strings.ContainsAny(u.Path, "\\\x00") && !strings.Contains(u.Path, "//") &&
		!slices.ContainsFunc(strings.Split(u.Path, "/"), climbs)
}

// sameSite lets a browser come from our own page, or by an address typed or a
// link followed to the page itself. Programs that send neither header are let
// through; they are nobody's browser.
func (g *Door) sameSite(r *http.Request) bool {
	site := r.Header.Get("Sec-Fetch-Site")
	navigates := r.Method == http.MethodGet && r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
	switch site {
	case "", "same-origin":
	case "none":
		if r.Method == http.MethodPost {
			return false
		}
	default:
		return navigates && (r.URL.Path == "/" || r.URL.Path == "/enter")
	}
	origin := r.Header.Get("Origin")
	if origin == "" {
		return true
	}
	u, err := url.Parse(origin)
	return err == nil && u.Scheme == "http" && strings.EqualFold(u.Host, r.Host)
}

func (g *Door) entered(r *http.Request) bool {
	c, err := r.Cookie(cookieName)
	return err == nil && subtle.ConstantTimeCompare([]byte(c.Value), []byte(g.cookie)) == 1
}

// enter takes the token, from the address shown at the start or from the form,
// and gives the cookie for it.
func (g *Door) enter(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, maxToken)
	given := r.FormValue("token")
	if given == "" {
		g.o.Enter(w, http.StatusOK)
		return
	}
	sum := sha256.Sum256([]byte(strings.TrimSpace(given)))
	if subtle.ConstantTimeCompare(sum[:], g.token[:]) != 1 {
		g.failMu.Lock()
		time.Sleep(g.delay)
		g.failMu.Unlock()
		g.o.Enter(w, http.StatusUnauthorized)
		return
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName, Value: g.cookie, Path: "/", HttpOnly: true, SameSite: http.SameSiteStrictMode})
	if r.Method == http.MethodGet {
		// The cookie is not sent on a redirect that a mail client began, so the page
		// itself goes on.
		g.o.Entered(w)
		return
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
}

// NewToken returns a token of 128 random bits or more, in letters and digits.
func NewToken() string { return rand.Text() }

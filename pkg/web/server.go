// Package web is the local page on which logs are dropped, runs are listed and
// edited, traces are laid over each other, and tables and reports are taken
// away. It shows what the commands show: the same analysis, the same numbers by
// the same rounding.
//
// # Model
//
// One process serves one archive. What the page holds lies in the archive; the
// memory holds only what was worked out from the raw logs of the sessions that
// are open, by a small number of workers, and what each browser is told of it
// as server-sent events.
//
// A log of an open session is queued, being read, done, failed or cancelled, and
// can be read again from any of the last three. The result is that of all logs that
// are done, with the sheet applied; it is made anew at every change and never
// changed. Every edit is a change of the sheet's text that is kept only if the sheet
// then says what was meant, so that undo, the text on the page and the file that
// the commands take are one thing.
//
// # Trust
//
// The server answers only requests that name it by a known host, come from its
// own page, and, where it listens on more than the loopback address, carry the
// cookie that a token shown at the start buys. Names and contents of logs are
// never trusted: they are sent as JSON and shown as text, and the page may run
// no script but its own files. There is no encryption: on another address than
// loopback the network itself must be trusted.
//
// # Limits
//
// limits.go has them all. The sessions that nobody looks at are forgotten but for a
// few and analysed again when they are opened. A sheet that is written in an unusual
// way, such as with inline tables, can be edited as text only. One token opens
// everything: there are no users.
package web

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log"
	"maps"
	"net"
	"net/http"
	"path"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/net/netutil"

	"fromrest/pkg/archive"
	"fromrest/pkg/web/door"
)

// Options shapes a server. Only Archive is needed.
type Options struct {
	Archive *archive.Archive
	Version string // of the program, recorded with results
	Units   string // "mph" (default) or "kmh", of sessions whose sheet names none
	Columns string // CSV mapping, see the formats page

	// Hosts are names, without port, by which the server may be called beside
	// those of the loopback address.
	Hosts []string
	// Token must be given on entering; empty for none. It is needed on every
	// address but loopback.
	Token string

	MaxLog  int64         // bytes of one log, 2 GiB by default
	Workers int           // logs analysed at a time, the number of processors by default
	Stall   time.Duration // time a client has for each 64 KiB of an upload, 30 s by default
	Log     io.Writer     // where messages go, discarded by default
}

// Server is the page and what it works on.
type Server struct {
	opts Options
	arch *archive.Archive
	hub  *hub
	door *door.Door // of the whole page
	log  *log.Logger

	ctx   context.Context // ends when the server stops
	stop  context.CancelFunc
	queue *queue

	mu     sync.Mutex
	open   map[string]*work // by session
	used   map[string]time.Time
	briefs map[string]briefed // of sessions that were listed

	uploads chan struct{} // a slot for each upload at a time
}

// New makes a server. Close stops its workers.
func New(opts Options) (*Server, error) {
	if opts.Archive == nil {
		return nil, errors.New("web: no archive given")
	}
	opts.MaxLog = cmp.Or(max(opts.MaxLog, 0), defaultMaxLog)
	opts.Workers = cmp.Or(max(opts.Workers, 0), runtime.GOMAXPROCS(0))
	opts.Stall = cmp.Or(max(opts.Stall, 0), defaultStall)
	opts.Units = cmp.Or(opts.Units, "mph")
	if opts.Log == nil {
		opts.Log = io.Discard
	}
	s := &Server{opts: opts, arch: opts.Archive, hub: newHub(), log: log.New(opts.Log, "", 0),
		open: map[string]*work{}, used: map[string]time.Time{}, briefs: map[string]briefed{}, uploads: make(chan struct{}, mostUploads)}
	s.ctx, s.stop = context.WithCancel(context.Background())
	s.queue = newQueue(s.ctx, opts.Workers)
	s.door = door.New(door.Options{Hosts: opts.Hosts, Token: opts.Token, Wait: answerWait, Enter: serveEnter, Entered: serveEntered}, s.routes())
	return s, nil
}

// Close stops the workers and stores the results that are not stored yet.
func (s *Server) Close() {
	s.mu.Lock()
	works := slices.Collect(maps.Values(s.open))
	s.mu.Unlock()
	for _, w := range works {
		w.store(context.Background())
	}
	s.hub.close()
	s.stop()
	s.queue.wg.Wait()
}

// Serve answers on ln until ctx ends, then lets requests finish for a few
// seconds and returns nil.
func (s *Server) Serve(ctx context.Context, ln net.Listener) error {
	srv := &http.Server{
		Handler:           s.door,
		ReadHeaderTimeout: headerWait,
		IdleTimeout:       idleWait,
		MaxHeaderBytes:    maxHeader,
		ErrorLog:          s.log,
	}
	srv.RegisterOnShutdown(s.hub.close)
	s.door.Serves(ln.Addr())
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(netutil.LimitListener(ln, mostConnections)) }()
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.Background(), grace)
	defer cancel()
	if err := srv.Shutdown(last); err != nil {
		_ = srv.Close() // whoever is still there had the grace
	}
	return nil
}

//go:embed assets
var embedded embed.FS

// asset is one file of the page.
type asset struct {
	body []byte
	kind string
	tag  string
}

var kinds = map[string]string{".html": "text/html; charset=utf-8", ".css": "text/css; charset=utf-8",
	".js": "text/javascript; charset=utf-8", ".svg": "image/svg+xml"}

// assets are the files that may be asked for, by exact path: nothing is looked
// up on the disk.
var assets = load()

func load() map[string]asset {
	out := map[string]asset{}
	err := fs.WalkDir(embedded, "assets", func(p string, d fs.DirEntry, err error) error {
		kind := kinds[path.Ext(p)]
		if err != nil || d.IsDir() || kind == "" {
			return err
		}
		body, err := embedded.ReadFile(p)
		if err != nil {
			return err
		}
		sum := sha256.Sum256(body)
		out["/"+p] = asset{body, kind, `"` + hex.EncodeToString(sum[:12]) + `"`}
		return nil
	})
	if err != nil {
		panic(err) // the files are part of the program
	}
	return out
}

func serveAsset(w http.ResponseWriter, r *http.Request, name string) {
	a, ok := assets[name]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", a.kind)
	w.Header().Set("Etag", a.tag)
	w.Header().Set("Cache-Control", "no-cache")
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(a.body))
}

// serveEntered goes on to the page from one of our own, without a step in the history.
func serveEntered(w http.ResponseWriter) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	_, _ = io.Copy(w, bytes.NewReader(assets["/assets/entered.html"].body))
}

func serveEnter(w http.ResponseWriter, status int) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	body := string(assets["/assets/enter.html"].body)
	if status != http.StatusOK {
		body = strings.Replace(body, "<!-- wrong -->", `<p role="alert">That is not the token of this server.</p>`, 1)
	}
	_, _ = io.WriteString(w, body)
}

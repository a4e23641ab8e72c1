package web

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"io"
	"io/fs"
	"net/http"
	"path"
	"strings"
	"time"
)

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

func serveEnter(w http.ResponseWriter, status int) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	body := string(assets["/assets/enter.html"].body)
	if status != http.StatusOK {
		body = strings.Replace(body, "<!-- wrong -->", `<p role="alert">That is not the token of this server.</p>`, 1)
	}
	_, _ = io.WriteString(w, body)
}

package main

import (
	"archive/zip"
	"bytes"
	"context"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/synth"
)

// Every command that the page names gives what the page gives.
func TestCommandsOfThePage(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "van")
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	logs, err := filepath.Glob(filepath.Join(dir, "*-*"))
	if err != nil {
		t.Fatal(err)
	}
	p := servePage(t, mustReadFile(t, filepath.Join(dir, folderSheet)), logs...)
	var limits struct{ Exports [][3]string }
	host := p.base[:strings.Index(p.base, "/api/")]
	api := localPage{t, host + "/api"}
	api.json("GET", "/limits", "", &limits)
	var v struct{ Call struct{ Tail string } }
	p.json("GET", "", "", &v)
	t.Chdir(dir)
	for _, e := range limits.Exports {
		want := p.ask("GET", "/export/"+e[0], "")
		if e[2] == "" {
			t.Errorf("%s has no command", e[0])
			continue
		}
		stdout, files := called(t, e[2]+v.Call.Tail)
		switch {
		case e[0] == "parquet.zip":
			sameSets(t, want, ".")
		case len(files) == 1:
			stdout = files[0]
			fallthrough
		default:
			if !bytes.Equal(stdout, want) {
				at := 0
				for at < min(len(stdout), len(want)) && stdout[at] == want[at] {
					at++
				}
				t.Errorf("%s: fromrest %s gives %d bytes, the page %d; they part at %d:\n%.100q\n%.100q", e[0], e[2], len(stdout), len(want), at, stdout[at:], want[at:])
			}
		}
	}
	// The plan, and the figure, which is drawn otherwise: it is looked at that it is drawn.
	plan := p.ask("GET", "/plan?"+url.Values{"modes": {"calm\nfull"}, "runs": {"4"}, "smallest": {"0.2"}, "scatter": {"0.06"}, "directions": {"1"}}.Encode(), "")
	if stdout, _ := called(t, "plan --format html --room . --runs 4 --smallest 0.2 --scatter 0.06 --directions 1 calm full"); !bytes.Equal(bytes.ReplaceAll(stdout, []byte("the command line"), []byte("the page")), plan) {
		t.Error("the plan differs")
	}
	if _, files := called(t, "overlay --by distance --align launch --only full-1#1 --only calm-1#1 -o overlay.svg"+v.Call.Tail); len(files) != 1 || !bytes.Contains(files[0], []byte("<svg")) {
		t.Error("no figure")
	}
}

// called carries out a command as a shell would, and returns what it printed and the file
// that it wrote with -o.
func called(t *testing.T, call string) (stdout []byte, files [][]byte) {
	t.Helper()
	args := strings.Fields(call) // no name of the demonstration needs quotes
	var o, e bytes.Buffer
	if code := run(context.Background(), append([]string{"fromrest"}, args...), &o, &e); code != exitDone {
		t.Errorf("%s: %d %s", call, code, e.String())
	}
	for i, a := range args[:len(args)-1] {
		if a != "-o" || args[i+1] == "." {
			continue
		}
		b, err := os.ReadFile(args[i+1])
		if err != nil {
			t.Error(err)
		}
		files = append(files, b)
	}
	return o.Bytes(), files
}

// sameSets compares the files of an archive with those under a folder.
func sameSets(t *testing.T, packed []byte, dir string) {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(packed), int64(len(packed)))
	if err != nil || len(z.File) < 5 {
		t.Fatalf("%v", err)
	}
	for _, f := range z.File {
		if strings.HasSuffix(f.Name, "/") {
			continue
		}
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if _, err := b.ReadFrom(r); err != nil {
			t.Fatal(err)
		}
		if want, err := os.ReadFile(filepath.Join(dir, f.Name)); err != nil || !bytes.Equal(want, b.Bytes()) {
			t.Errorf("%s: %d bytes on the page, %d of the command: %v", f.Name, b.Len(), len(want), err)
		}
	}
}

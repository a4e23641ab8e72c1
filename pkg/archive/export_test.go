package archive

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestExportWritesOnlyBelowItsFolder(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	a := openTest(t, filepath.Join(dir, "archive.db"))
	s := mustSession(t, a, "names")
	names := []string{"../../etc/passwd", `..\..\boot.ini`, "/abs", "nul", "a\x00b", "..", "", "<img src=x>.nmea",
		"same.nmea", "SAME.nmea", strings.Repeat("ä", 200), "bad\xff\xfe.csv"}
	for i, n := range names {
		if _, err := a.Import(ctx, s.ID, n, []string{"", "../up", "eco"}[i%3], bytes.NewReader(noise(uint64(i), 100+i))); err != nil {
			t.Fatalf("%q: %v", n, err)
		}
	}
	_, err := a.Edit(ctx, s.ID, Change{Base: 0, Body: "title = 'x'"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.SaveResult(ctx, s.ID, Result{Body: []byte("{}")}); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(dir, "out")
	files, err := a.Export(ctx, s.ID, out)
	if err != nil {
		t.Fatal(err)
	}
	if want := len(names) + 3; len(files) != want {
		t.Errorf("%d files, want %d: %v", len(files), want, files)
	}
	hashes := map[string]bool{}
	for _, f := range files {
		if rel, err := filepath.Rel(out, f); err != nil || !filepath.IsLocal(rel) {
			t.Errorf("%q is outside the folder", f)
		}
		b, err := os.ReadFile(f)
		if err != nil {
			t.Error(err)
		}
		hashes[sum(b)] = true
	}
	for i := range names {
		if !hashes[sum(noise(uint64(i), 100+i))] {
			t.Errorf("log %q was not exported byte for byte", names[i])
		}
	}
	if _, err := a.Export(ctx, s.ID, out); !errors.Is(err, fs.ErrExist) {
		t.Errorf("second export over the first: %v", err)
	}
}

func TestDefaultPathFollowsTheEnvironment(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("XDG_DATA_HOME", dir)
	if p, err := DefaultPath(); err != nil || p != filepath.Join(dir, "fromrest", "archive.db") {
		t.Errorf("%q, %v", p, err)
	}
	t.Setenv("XDG_DATA_HOME", "relative is ignored")
	t.Setenv("HOME", dir)
	if p, err := DefaultPath(); err != nil || !filepath.IsAbs(p) {
		t.Errorf("%q, %v", p, err)
	}
}

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestDocumentsStayTrue carries out every command in the console blocks of the
// documents and compares what they print with what the document shows. Each
// document begins in an empty folder. A command may end in "| head -n N" or
// "| tail -n N". With -update the documents are rewritten.
func TestDocumentsStayTrue(t *testing.T) {
	paths, err := filepath.Glob("../../*.md")
	if err != nil {
		t.Fatal(err)
	}
	more, err := filepath.Glob("../../docs/*.md")
	if err != nil {
		t.Fatal(err)
	}
	var commands atomic.Int64
	t.Cleanup(func() {
		if commands.Load() == 0 && !t.Failed() {
			t.Error("no document shows a command")
		}
	})
	for _, path := range append(paths, more...) {
		path, err := filepath.Abs(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(path), func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			shell := &shell{dir: t.TempDir(), env: append(os.Environ(), "XDG_CACHE_HOME="+t.TempDir())}
			got, n := shell.replay(t, string(text))
			commands.Add(int64(n))
			shell.pictures(t, path, got)
			if *update && got != string(text) {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			if d := cmp.Diff(string(text), got); d != "" {
				t.Errorf("-shown +printed; make update-goldens if that is meant\n%s", d)
			}
		})
	}
}

// shell runs a document's commands one after the other, each in a process of its
// own, so that documents are carried out side by side.
type shell struct {
	dir string
	env []string
}

// pictures compares what the commands of a document drew with the pictures that it shows
// of a folder beside it. With -update they are replaced.
func (sh *shell) pictures(t *testing.T, path, text string) {
	t.Helper()
	for _, m := range shownPicture.FindAllStringSubmatch(text, -1) {
		shown := filepath.Join(filepath.Dir(path), m[1])
		drawn, err := os.ReadFile(filepath.Join(sh.dir, filepath.Base(m[1])))
		if err != nil {
			t.Error(err)
			continue
		}
		if *update {
			if err := os.WriteFile(shown, drawn, 0o644); err != nil {
				t.Error(err)
			}
		}
		if have, err := os.ReadFile(shown); err != nil || string(have) != string(drawn) {
			t.Errorf("%s is not what its command draws; make update-goldens if that is meant (%v)", m[1], err)
		}
	}
}

// progressLine is what a slow machine says now and then; no document shows it.
var progressLine = regexp.MustCompile(`(?m)^fromrest: \d+ of \d+ logs done, .* left\n`)

var shownPicture = regexp.MustCompile(`!\[[^\]]*\]\((gallery/[^)]+)\)`)

// replay returns the document with the output of its console blocks made anew,
// and the number of commands in them.
func (sh *shell) replay(t *testing.T, text string) (string, int) {
	t.Helper()
	var out strings.Builder
	inside, n := false, 0
	for _, line := range strings.SplitAfter(text, "\n") {
		bare := strings.TrimRight(line, "\n")
		switch {
		case bare == "```console":
			inside = true
			out.WriteString(line)
		case inside && bare == "```":
			inside = false
			out.WriteString(line)
		case inside && strings.HasPrefix(bare, "$ "):
			out.WriteString(line)
			if strings.HasPrefix(bare, "$ fromrest ") {
				n++
				out.WriteString(sh.printed(t, strings.TrimPrefix(bare, "$ ")))
			}
		case inside:
			// Output: printed above.
		default:
			out.WriteString(line)
		}
	}
	if inside {
		t.Error("a console block is not closed")
	}
	return out.String(), n
}

// printed runs one command line and returns what a terminal would show.
func (sh *shell) printed(t *testing.T, line string) string {
	t.Helper()
	line, filter, _ := strings.Cut(line, " | ")
	var both strings.Builder
	words := shellWords(line)
	cmd := exec.CommandContext(t.Context(), words[0], words[1:]...)
	cmd.Dir, cmd.Env, cmd.Stdout, cmd.Stderr = sh.dir, sh.env, &both, &both
	if err := cmd.Run(); err != nil {
		t.Errorf("%s: %v\n%s", line, err, both.String())
	}
	lines := strings.SplitAfter(progressLine.ReplaceAllString(both.String(), ""), "\n")
	if lines[len(lines)-1] == "" {
		lines = lines[:len(lines)-1]
	}
	var what string
	var k int
	if filter != "" {
		var num string
		if _, err := fmt.Sscanf(filter, "%s -n %s", &what, &num); err != nil {
			t.Fatalf("%s: filter %q: %v", line, filter, err)
		}
		var err error
		if k, err = strconv.Atoi(num); err != nil {
			t.Fatal(err)
		}
	}
	switch {
	case what == "head" && len(lines) > k:
		lines = lines[:k]
	case what == "tail" && len(lines) > k:
		lines = lines[len(lines)-k:]
	}
	return strings.Join(lines, "")
}

var link = regexp.MustCompile(`\]\(([^)#:]+)\)`)

// TestLinksLead checks that every file that a document points to is there.
func TestLinksLead(t *testing.T) {
	seen := 0
	for _, pattern := range []string{"../../*.md", "../../docs/*.md", "../../fixtures/*.md"} {
		paths, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range paths {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range link.FindAllStringSubmatch(string(text), -1) {
				seen++
				if _, err := os.Stat(filepath.Join(filepath.Dir(path), m[1])); err != nil {
					t.Errorf("%s: %v", path, err)
				}
			}
		}
	}
	if seen == 0 {
		t.Error("no document points to another")
	}
}

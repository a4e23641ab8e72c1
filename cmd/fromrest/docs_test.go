package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
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
	commands := 0
	for _, path := range append(paths, more...) {
		path, err := filepath.Abs(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(filepath.Base(path), func(t *testing.T) {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			t.Chdir(t.TempDir())
			t.Setenv("XDG_CACHE_HOME", t.TempDir())
			got, n := replay(t, string(text))
			commands += n
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
	if commands == 0 && !t.Failed() {
		t.Skip("no document shows a command")
	}
}

// replay returns the document with the output of its console blocks made anew,
// and the number of commands in them.
func replay(t *testing.T, text string) (string, int) {
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
				out.WriteString(printed(t, strings.TrimPrefix(bare, "$ ")))
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
func printed(t *testing.T, line string) string {
	t.Helper()
	line, filter, _ := strings.Cut(line, " | ")
	var both strings.Builder
	if code := run(context.Background(), shellWords(line), &both, &both); code != exitDone {
		t.Errorf("%s: exit status %d\n%s", line, code, both.String())
	}
	lines := strings.SplitAfter(both.String(), "\n")
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

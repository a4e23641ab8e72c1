package main

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/urfave/cli/v2"

	"fromrest/pkg/synth"
)

// TestGrowingLog looks at a log at every few seconds of it: each run is printed once, after
// it has ended, with the time that the whole log gives, and the modes are held against
// each other once there are two.
func TestGrowingLog(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	whole, err := os.ReadFile(filepath.Join(dir, "full-1.nmea"))
	if err != nil {
		t.Fatal(err)
	}
	grows := filepath.Join(dir, "grows.nmea")
	if err := os.WriteFile(grows, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	var out, complaints bytes.Buffer
	app := newApp(&out, &complaints)
	set := flag.NewFlagSet("runs", flag.ContinueOnError)
	command := runsCommand()
	for _, f := range command.Flags {
		if err := f.Apply(set); err != nil {
			t.Fatal(err)
		}
	}
	if err := set.Parse([]string{"--no-memory", "--quiet", "calm=" + filepath.Join(dir, "calm-1.nmea"), "full=" + grows}); err != nil {
		t.Fatal(err)
	}
	c := cli.NewContext(app, set, nil)
	c.Command, c.Context = command, t.Context()
	s, err := readArgs(c)
	if err != nil {
		t.Fatal(err)
	}
	seen := follower{opts: s.opts, printed: map[string]bool{}, told: map[string]bool{}}
	for part := 0; part <= 4; part++ {
		if err := os.WriteFile(grows, whole[:len(whole)*part/4], 0o644); err != nil {
			t.Fatal(err)
		}
		if err := seen.look(c); err != nil {
			t.Fatal(err)
		}
	}
	if n := strings.Count(complaints.String(), "grows.nmea"); n != 1 {
		t.Errorf("that the log is empty yet is said %d times: %s", n, complaints.String())
	}
	text := out.String()
	for _, want := range []string{"calm-1#1: calm, 064°, 0–30 mph", "grows#1: full, 064°", "grows#2: full, 244°, 0–30 mph"} {
		if strings.Count(text, want) != 1 {
			t.Errorf("%q is not there once:\n%s%s", want, text, complaints.String())
		}
	}
	if strings.Index(text, "grows#1") < strings.Index(text, "calm-1#2") || !strings.Contains(text, "calm and full") {
		t.Errorf("not in the order of the log, or no word on the modes:\n%s", text)
	}
}

// TestEveryAnswerKnowsItsTerminal: commands write to the terminal's own width.
func TestEveryAnswerKnowsItsTerminal(t *testing.T) {
	if _, ok := newApp(&bytes.Buffer{}, &bytes.Buffer{}).Writer.(interface{ Columns() int }); !ok {
		t.Error("what commands write to does not know its width")
	}
}

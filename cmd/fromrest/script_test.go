package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/urfave/cli/v2"

	"fromrest/pkg/synth"
)

var update = flag.Bool("update", false, "rewrite the expected outputs in testdata/script")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"fromrest": func() { os.Exit(realMain()) }})
}

// TestScripts runs the program as a user does, one scenario a file.
func TestScripts(t *testing.T) {
	fixtures, err := filepath.Abs("../../fixtures")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:           "testdata/script",
		UpdateScripts: *update,
		Setup: func(e *testscript.Env) error {
			e.Setenv("FIXTURES", fixtures)
			e.Setenv("XDG_CACHE_HOME", filepath.Join(e.WorkDir, ".cache"))
			return nil
		},
		Condition: func(cond string) (bool, error) {
			return cond == "root" && os.Geteuid() == 0, nil
		},
	})
}

// onlyChecked are commands whose examples cannot run here: one serves until it is
// stopped, the other needs the archive that it leaves.
var onlyChecked = map[string]bool{"serve": true, "archive": true}

// TestExamplesRun carries out every example of every command's help, in a folder
// with the demonstration's logs.
func TestExamplesRun(t *testing.T) {
	dir := t.TempDir()
	if _, err := synth.WriteDemo(filepath.Join(dir, "logs")); err != nil {
		t.Fatal(err)
	}
	for to, from := range map[string]string{"calm.nmea": "calm-1.nmea", "full.nmea": "full-1.nmea", "warmup.nmea": "plain-1.nmea", "session.toml": "session.toml"} {
		b, err := os.ReadFile(filepath.Join(dir, "logs", from))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, to), b, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	for _, c := range newApp(io.Discard, io.Discard).Commands {
		if c.Name == "help" {
			continue
		}
		t.Run(c.Name, func(t *testing.T) {
			examples := examplesOf(c)
			if len(examples) == 0 {
				t.Fatal("the help has no example")
			}
			if onlyChecked[c.Name] {
				return
			}
			for _, args := range examples {
				var stderr strings.Builder
				if code := run(context.Background(), args, io.Discard, &stderr); code != exitDone {
					t.Errorf("%s: exit status %d: %s", strings.Join(args, " "), code, stderr.String())
				}
			}
		})
	}
}

var redirection = regexp.MustCompile(`\s*[<>].*$`)

// examplesOf are the command lines that follow "Example" in a command's help.
func examplesOf(c *cli.Command) [][]string {
	var out [][]string
	_, text, _ := strings.Cut(c.UsageText, "Example")
	text = strings.ReplaceAll(text, "\\\n", " ")
	for _, line := range strings.Split(text, "\n") {
		line = strings.TrimPrefix(strings.TrimSpace(line), "source <(")
		if strings.HasPrefix(line, "fromrest ") {
			line = strings.TrimSuffix(redirection.ReplaceAllString(line, ""), ")")
			out = append(out, shellWords(line))
		}
	}
	return out
}

// shellWords splits a line at spaces outside quotes.
func shellWords(line string) []string {
	var out []string
	word, quote, some := "", rune(0), false
	for _, r := range line {
		switch {
		case quote != 0 && r == quote:
			quote = 0
		case quote == 0 && (r == '\'' || r == '"'):
			quote, some = r, true
		case quote == 0 && r == ' ':
			if word != "" || some {
				out = append(out, word)
			}
			word, some = "", false
		default:
			word += string(r)
		}
	}
	if word != "" || some {
		out = append(out, word)
	}
	return out
}

func TestFlagsMayFollowArguments(t *testing.T) {
	app := newApp(io.Discard, io.Discard)
	for _, c := range []struct{ in, want string }{
		{"fromrest runs a.nmea --format json b.nmea", "fromrest runs --format json a.nmea b.nmea"},
		{"fromrest runs a.nmea --all b.nmea", "fromrest runs --all a.nmea b.nmea"},
		{"fromrest runs a.nmea --units=kmh", "fromrest runs --units=kmh a.nmea"},
		{"fromrest runs a.nmea -- --all", "fromrest runs a.nmea -- --all"},
		{"fromrest overlay a.nmea -o x.svg", "fromrest overlay -o x.svg a.nmea"},
		{"fromrest --help", "fromrest --help"},
		{"fromrest nothing a -o x", "fromrest nothing a -o x"},
	} {
		if got := strings.Join(flagsFirst(app, strings.Fields(c.in)), " "); got != c.want {
			t.Errorf("%s\n got %s\nwant %s", c.in, got, c.want)
		}
	}
}

// After an interrupt what is done is printed, and what is not is named.
func TestInterruptPrintsWhatIsDone(t *testing.T) {
	cache := t.TempDir()
	t.Setenv("XDG_CACHE_HOME", cache)
	dir := t.TempDir()
	b, err := os.ReadFile("../../fixtures/session-10hz.nmea")
	if err != nil {
		t.Fatal(err)
	}
	const logs = 100
	for i := range logs {
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%03d.nmea", i)), append(b, fmt.Sprintf("\r\n#%d\r\n", i)...), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() { // as soon as a first log is remembered
		for ctx.Err() == nil {
			if done, _ := filepath.Glob(filepath.Join(cache, "fromrest", "finished", "*", "*")); len(done) > 1 {
				cancel()
			}
			time.Sleep(time.Millisecond)
		}
	}()
	var stdout, stderr strings.Builder
	code := run(ctx, []string{"fromrest", "runs", "--full", dir}, &stdout, &stderr)
	printed := strings.Count(stdout.String(), ": NMEA, ")
	want := fmt.Sprintf("fromrest: interrupted: %d of %d logs are done; not done: ", printed, logs)
	if code != exitInterrupted || printed == 0 || printed == logs || !strings.HasPrefix(stderr.String(), want) || strings.Count(stderr.String(), "\n") != 1 {
		t.Errorf("exit status %d, %d logs printed, %q", code, printed, stderr.String())
	}
	if !strings.Contains(stdout.String(), fmt.Sprintf("Interrupted: %d of %d logs were not analysed.", logs-printed, logs)) {
		t.Error("the output does not say that it is a part")
	}
}

func TestInterruptEndsWithOneLine(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var stdout, stderr strings.Builder
	code := run(ctx, []string{"fromrest", "runs", "../../fixtures/session-10hz.nmea"}, &stdout, &stderr)
	if code != exitInterrupted || stdout.Len() > 0 || stderr.String() != "fromrest: interrupted\n" {
		t.Errorf("exit status %d, %q, %q", code, stdout.String(), stderr.String())
	}
}

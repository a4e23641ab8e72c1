package main

import (
	"archive/zip"
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"fromrest/pkg/session"
	"fromrest/pkg/synth"
)

// TestEveryFormNamesTheModel writes the demonstration in every form of every
// command: each says by which revision of the model its numbers were made. A new
// form is looked at without a line here.
func TestEveryFormNamesTheModel(t *testing.T) {
	was := version
	t.Cleanup(func() { version = was })
	version = "v9"
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	dir := t.TempDir()
	if _, err := synth.WriteDemo(filepath.Join(dir, "logs")); err != nil {
		t.Fatal(err)
	}
	t.Chdir(dir)
	logs := []string{"--sheet", "logs/session.toml", "logs"}
	type line struct {
		out  string // the file that is looked at, "" for what is printed
		args []string
	}
	lines := []line{{"", []string{"--version"}}, {"page.html", append([]string{"report", "-o", "page.html"}, logs...)},
		{"demo/report.html", []string{"demo"}}, {"overlay.svg", append([]string{"overlay", "-o", "overlay.svg"}, logs...)},
		{"force.svg", append([]string{"explain", "-o", "force.svg", "--mode", "full"}, logs...)},
		{"figures/time-gained.svg", append([]string{"compare", "--figures", "figures"}, logs...)},
		{"", []string{"explain", "--sheet", "logs/session.toml"}}, {"", []string{"explain", "--wheels", "--sheet", "logs/session.toml"}}}
	for _, c := range []struct {
		name  string
		forms []string
		args  []string
	}{{"runs", runsForms.names(), logs}, {"check", checkForms.names(), logs}, {"compare", compareForms.names(), logs}, {"explain", explainForms.names(), logs},
		{"table", tableForms.names(), logs}, {"table --by run", tableForms.names(), logs}, {"plan --runs 4", planForms.names(), []string{"calm", "full"}}} {
		for _, f := range c.forms {
			l := line{"", append(strings.Fields(c.name), "--format", f)}
			switch f {
			case "parquet":
				l = line{"sets/runs/session=s/part-0.parquet", append(l.args, "-o", "sets", "--session", "s")}
			case "xlsx":
				l = line{"t.xlsx", append(l.args, "-o", "t.xlsx")}
			}
			l.args = append(l.args, c.args...)
			lines = append(lines, l)
		}
	}
	for _, l := range lines {
		what := strings.Join(l.args, " ")
		var stdout, stderr strings.Builder
		if code := run(context.Background(), append([]string{"fromrest"}, l.args...), &stdout, &stderr); code != exitDone {
			t.Errorf("%s: exit status %d: %s", what, code, stderr.String())
			continue
		}
		if text := said(t, l.out, stdout.String()); !namesModel(text) {
			t.Errorf("%s does not say which model made it:\n%.300s", what, text)
		}
	}
}

// namesModel reports whether an output says in its way what made it: in words, as
// JSON or at the end of each line of a CSV.
func namesModel(text string) bool {
	for _, way := range []string{session.MadeBy("v9", session.ModelRevision), fmt.Sprintf(`"model": %d`, session.ModelRevision), fmt.Sprintf(",v9,%d\r\n", session.ModelRevision)} {
		if strings.Contains(text, way) {
			return true
		}
	}
	return false
}

// said is the text of an output: of what was printed, or of the file.
func said(t *testing.T, path, printed string) string {
	t.Helper()
	fail := func(err error) {
		if err != nil {
			t.Fatalf("%s: %v", path, err)
		}
	}
	switch filepath.Ext(path) {
	case "":
		return printed
	case ".xlsx":
		z, err := zip.OpenReader(path)
		fail(err)
		defer func() { _ = z.Close() }()
		text := ""
		for _, f := range z.File {
			b, err := fs.ReadFile(z, f.Name)
			fail(err)
			text += string(b)
		}
		return text
	case ".parquet":
		f, err := os.Open(path)
		fail(err)
		defer func() { _ = f.Close() }()
		st, err := f.Stat()
		fail(err)
		p, err := parquet.OpenFile(f, st.Size())
		fail(err)
		version, _ := p.Lookup("version")
		model, _ := p.Lookup("model")
		if _, ok := p.Schema().Lookup("model"); !ok {
			t.Errorf("%s has no column of the model", path)
		}
		return "," + version + "," + model + "\r\n"
	}
	b, err := os.ReadFile(path)
	fail(err)
	return string(b)
}

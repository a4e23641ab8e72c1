package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"fromrest/pkg/archive"
	"fromrest/pkg/report"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
	"fromrest/pkg/testschema"
)

// TestOlderSessionsAreHeldAgainstTheNew keeps what another model is made to have found
// of a session: half-widths that its times stay within, then times that they do not and
// verdicts that turned.
func TestOlderSessionsAreHeldAgainstTheNew(t *testing.T) {
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	ctx := context.Background()
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "a.db")
	a, err := archive.Open(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	s, err := a.NewSession(ctx, "three maps")
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range []int{0, 2} {
		b, err := os.ReadFile(filepath.Join(dir, logs[l].Name))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := a.Import(ctx, s.ID, logs[l].Name, logs[l].Mode, bytes.NewReader(b)); err != nil {
			t.Fatal(err)
		}
	}
	res, err := a.Analyse(ctx, s.ID, session.Options{Version: buildVersion()})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if err := report.StoredJSON(&b, res); err != nil {
		t.Fatal(err)
	}
	keep := func(changes ...string) {
		t.Helper()
		body := b.String()
		for i := 0; i < len(changes); i += 2 {
			re := regexp.MustCompile(changes[i])
			if !re.MatchString(body) {
				t.Fatalf("%q is not in the result", changes[i])
			}
			body = re.ReplaceAllString(body, changes[i+1])
		}
		if _, err := a.SaveResult(ctx, s.ID, archive.Result{Version: "v0", Settings: "{}", Body: []byte(body)}); err != nil {
			t.Fatal(err)
		}
	}
	says := func(want ...string) {
		t.Helper()
		text := strings.Join(strings.Fields(out(t, "archive", "compare-versions", "--archive", path)), " ")
		for _, w := range want {
			if !strings.Contains(text, w) {
				t.Errorf("%q is not in %q", w, text)
			}
		}
	}
	says(s.ID+", three maps", "No other version left a result.")
	keep()
	says("No other version left a result.") // what this version left is none
	first := []string{`"version": "[^"]*"`, `"version": "v0"`, fmt.Sprintf(`"model": %d,`, session.ModelRevision), ``}
	keep(append(first, `(?s)"verdicts": \[.*?\],`, ``)...)
	says("Against fromrest v0, model 1: none of ", "moved by more than its half-width; verdicts are not compared: it kept none.")
	keep(first...)
	says("moved by more than its half-width; none of ", " verdicts turned.")
	keep(append(first, `"seconds": 1\d\.`, `"seconds": 3.`, `"verdict": "no verdict"`, `"verdict": "b quicker"`)...)
	says(" turned.", "- calm-1#1, 1/4 mile with rollout: 3.8", "s then, 19.84", "calm and full, 1/4 mile with rollout: full quicker then, no verdict now")
	text := out(t, "archive", "compare-versions", "--archive", path, "--format", "json", s.ID)
	testschema.Published(t, "../../docs/versions.schema.json", &jsonVersions{}, *update, []byte(text))
	testschema.Published(t, "../../docs/archive.schema.json", &jsonArchive{}, *update, []byte(out(t, "archive", "list", "--archive", path, "--format", "json")))
	if !strings.Contains(text, `"before": "b quicker"`) || !strings.Contains(text, `"against": "fromrest v0, model 1"`) {
		t.Errorf("%s", text)
	}
	// Under another sheet verdicts may differ for that.
	if _, err := a.Edit(ctx, s.ID, archive.Change{Base: 0, Body: "title = \"renamed\"\n"}); err != nil {
		t.Fatal(err)
	}
	says("verdicts are not compared: the sheet was changed since.")
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
}

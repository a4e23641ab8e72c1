package archive

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/session"
	"fromrest/pkg/synth"
)

// kept puts the demonstration's first logs in an archive, with a sheet.
func kept(t *testing.T, n int) (*Archive, Session) {
	t.Helper()
	ctx := context.Background()
	dir := t.TempDir()
	logs, err := synth.WriteDemo(dir)
	if err != nil {
		t.Fatal(err)
	}
	a := openTest(t, filepath.Join(dir, "archive.db"))
	s := mustSession(t, a, "parquet")
	for _, l := range logs[:n] {
		b, err := os.ReadFile(filepath.Join(dir, l.Name))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := a.Import(ctx, s.ID, l.Name, l.Mode, bytes.NewReader(b)); err != nil {
			t.Fatal(err)
		}
	}
	return a, s
}

func TestAnalyseSaysWhatIsWrongWithTheSheet(t *testing.T) {
	ctx := context.Background()
	a, s := kept(t, 1)
	for i, body := range []string{"tilte = 1", "targets = [\"soon\"]", "[[exclude]]\nrun = \"x#1\"\nreason = \"r\""} {
		if _, err := a.Edit(ctx, s.ID, Change{Base: i, Body: body}); err != nil {
			t.Fatal(err)
		}
		if _, err := a.Analyse(ctx, s.ID, session.Options{}); err == nil || !strings.Contains(err.Error(), "sheet of session "+s.ID+": line ") {
			t.Errorf("%q: %v", body, err)
		}
	}
}

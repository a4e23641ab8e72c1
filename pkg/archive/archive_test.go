package archive

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"testing/iotest"
)

func openTest(t *testing.T, path string) *Archive {
	t.Helper()
	a, err := Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := a.Close(); err != nil {
			t.Error(err)
		}
	})
	return a
}

// noise is n bytes that look like a log: text with repetition.
func noise(seed uint64, n int) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	var b bytes.Buffer
	for i := 0; b.Len() < n; i++ {
		fmt.Fprintf(&b, "$GNRMC,%06d.%02d,A,5130.%04d,N,00007.%04d,W,%d.%03d,%d.0,140626,,,A*%02X\r\n",
			i, r.IntN(100), r.IntN(10000), r.IntN(10000), r.IntN(70), r.IntN(1000), r.IntN(360), r.IntN(256))
	}
	return b.Bytes()[:n]
}

func sum(b []byte) string {
	h := sha256.Sum256(b)
	return hex.EncodeToString(h[:])
}

func mustSession(t *testing.T, a *Archive, title string) Session {
	t.Helper()
	s, err := a.NewSession(context.Background(), title)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func readLog(t *testing.T, a *Archive, sha string) []byte {
	t.Helper()
	r, err := a.OpenLog(context.Background(), sha)
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = r.Close() }()
	b, err := io.ReadAll(r)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func mustBeClean(t *testing.T, a *Archive) Checked {
	t.Helper()
	n, faults, err := a.Verify(context.Background())
	if err != nil || len(faults) > 0 {
		t.Fatalf("verify: %v %v", faults, err)
	}
	return n
}

func TestLogsComeBackByteForByte(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "a ?%#'; folder", "archive.db")
	a := openTest(t, path)
	s := mustSession(t, a, "runway")
	sizes := []int{0, 1, chunkSize - 1, chunkSize, chunkSize + 1, 3*chunkSize + 17}
	logs := map[string][]byte{}
	for i, n := range sizes {
		b := noise(uint64(i), n)
		// Small reads: a network does not fill a buffer.
		st, err := a.Import(ctx, s.ID, fmt.Sprintf("%d.nmea", n), "eco", iotest.HalfReader(bytes.NewReader(b)))
		if err != nil || st.SHA256 != sum(b) || st.Bytes != int64(n) || st.Known || st.InSession {
			t.Fatalf("import of %d bytes: %+v, %v", n, st, err)
		}
		logs[st.SHA256] = b
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(path); err != nil {
		t.Fatal("the file has another name than asked for: ", err)
	}
	a = openTest(t, path)
	for sha, want := range logs {
		if got := readLog(t, a, sha); !bytes.Equal(got, want) {
			t.Errorf("log of %d bytes came back as %d bytes", len(want), len(got))
		}
	}
	if n := mustBeClean(t, a); n.Logs != len(sizes) {
		t.Errorf("verify looked at %d logs, want %d", n.Logs, len(sizes))
	}
	got, err := a.Session(ctx, s.ID)
	if err != nil || len(got.Logs) != len(sizes) || got.Logs[3].Name != fmt.Sprintf("%d.nmea", chunkSize) {
		t.Errorf("session after reopening: %+v, %v", got, err)
	}
}

func TestKnownLogIsRecognised(t *testing.T) {
	ctx := context.Background()
	a := openTest(t, filepath.Join(t.TempDir(), "archive.db"))
	one, two := mustSession(t, a, "one"), mustSession(t, a, "two")
	b := noise(7, 5000)
	if _, err := a.Import(ctx, one.ID, "x.nmea", "eco", bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	st, err := a.Import(ctx, one.ID, "again.nmea", "sport", bytes.NewReader(b))
	if err != nil || !st.Known || !st.InSession {
		t.Errorf("same bytes, same session: %+v, %v", st, err)
	}
	st, err = a.Import(ctx, two.ID, "x.nmea", "sport", bytes.NewReader(b))
	if err != nil || !st.Known || st.InSession {
		t.Errorf("same bytes, other session: %+v, %v", st, err)
	}
	logs, _ := a.Logs(ctx)
	if len(logs) != 1 || logs[0].Sessions != 2 || logs[0].Packed >= logs[0].Bytes {
		t.Errorf("stored logs: %+v", logs)
	}
	// The bytes go with the last session that uses them.
	if err := a.Remove(ctx, one.ID); err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(readLog(t, a, sum(b)), b) {
		t.Error("the log of the other session was damaged")
	}
	if err := a.DropLog(ctx, two.ID, sum(b)); err != nil {
		t.Fatal(err)
	}
	if _, err := a.OpenLog(ctx, sum(b)); !errors.Is(err, ErrNotFound) {
		t.Errorf("log that nobody uses: %v", err)
	}
	mustBeClean(t, a)
}

// A connection that breaks says io.ErrUnexpectedEOF. That is no end of file.
func TestCutUploadIsNotKept(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	a := openTest(t, filepath.Join(dir, "archive.db"))
	s := mustSession(t, a, "cut")
	for _, n := range []int{0, 100, chunkSize, chunkSize + 5} {
		r := io.MultiReader(bytes.NewReader(noise(1, n)), iotest.ErrReader(io.ErrUnexpectedEOF))
		if _, err := a.Import(ctx, s.ID, "cut.nmea", "", r); !errors.Is(err, io.ErrUnexpectedEOF) {
			t.Errorf("cut after %d bytes: %v", n, err)
		}
	}
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := a.Import(cancelled, s.ID, "x", "", bytes.NewReader(noise(1, 10))); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if _, err := a.Import(ctx, "nowhere", "x", "", bytes.NewReader(noise(1, 10))); !errors.Is(err, ErrNotFound) {
		t.Errorf("import into no session: %v", err)
	}
	if logs, _ := a.Logs(ctx); len(logs) != 0 {
		t.Errorf("kept %v", logs)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, incoming+"*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestEveryEditCanBeUndone(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "archive.db")
	a := openTest(t, path)
	s := mustSession(t, a, "sheet")
	edit := func(base int, body string) Sheet {
		t.Helper()
		sh, err := a.Edit(ctx, s.ID, Change{Base: base, Body: body, Note: "edit " + body, Author: "me", Undoes: base})
		if err != nil {
			t.Fatal(err)
		}
		return sh
	}
	is := func(sh Sheet, err error, rev int, body string) {
		t.Helper()
		if err != nil || sh.Revision != rev || sh.Body != body {
			t.Fatalf("got revision %d %q, %v; want %d %q", sh.Revision, sh.Body, err, rev, body)
		}
	}
	sh, err := a.Sheet(ctx, s.ID)
	is(sh, err, 0, "")
	edit(0, "one")
	edit(1, "two")
	if _, err := a.Edit(ctx, s.ID, Change{Base: 1, Body: "late"}); !errors.Is(err, ErrStale) {
		t.Errorf("edit of an old revision: %v", err)
	}
	sh, err = a.Undo(ctx, s.ID)
	is(sh, err, 1, "one")
	edit(1, "three") // a branch: "two" stays in the history
	sh, err = a.Undo(ctx, s.ID)
	is(sh, err, 1, "one")
	sh, err = a.Undo(ctx, s.ID)
	is(sh, err, 0, "")
	sh, err = a.Undo(ctx, s.ID)
	is(sh, err, 0, "")
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	a = openTest(t, path)
	sh, err = a.Redo(ctx, s.ID)
	is(sh, err, 1, "one")
	sh, err = a.Redo(ctx, s.ID)
	is(sh, err, 3, "three")
	sh, err = a.Redo(ctx, s.ID)
	is(sh, err, 3, "three")
	h, err := a.History(ctx, s.ID)
	if err != nil || len(h) != 3 || h[1].Body != "two" || h[1].Note != "edit two" {
		t.Errorf("history %+v, %v", h, err)
	}
	if _, err := a.Sheet(ctx, "nowhere"); !errors.Is(err, ErrNotFound) {
		t.Errorf("sheet of no session: %v", err)
	}
	mustBeClean(t, a)
}

func TestResultsAreNumbered(t *testing.T) {
	ctx := context.Background()
	a := openTest(t, filepath.Join(t.TempDir(), "archive.db"))
	s := mustSession(t, a, "results")
	r := Result{Revision: 2, Version: "v1", Settings: `{"units":"mph"}`, Body: []byte(`{"schema":"fromrest.runs/1"}`)}
	for i, want := range []int{1, 1, 2} {
		if i == 2 {
			r.Version = "v2"
		}
		if n, err := a.SaveResult(ctx, s.ID, r); err != nil || n != want {
			t.Errorf("result %d has number %d, %v; want %d", i, n, err, want)
		}
	}
	got, err := a.Result(ctx, s.ID, 0)
	if err != nil || got.Number != 2 || got.Version != "v2" || !bytes.Equal(got.Body, r.Body) {
		t.Errorf("newest result %+v, %v", got, err)
	}
	if _, err := a.Result(ctx, s.ID, 9); !errors.Is(err, ErrNotFound) {
		t.Errorf("result 9: %v", err)
	}
}

func TestVerifyFindsDamage(t *testing.T) {
	ctx := context.Background()
	for name, c := range map[string]struct{ damage, where string }{
		"flipped chunk":  {"UPDATE chunks SET data = substr(data, 1, length(data)-3) || x'00FF00' WHERE seq = 1", "log "},
		"missing chunk":  {"DELETE FROM chunks WHERE seq = 2", "log "},
		"swapped chunks": {"UPDATE chunks SET seq = 9 WHERE seq = 1; UPDATE chunks SET seq = 1 WHERE seq = 2; UPDATE chunks SET seq = 2 WHERE seq = 9", "log "},
		"edited sheet":   {"UPDATE sheets SET body = 'other'", "sheet 1"},
		"lost sheet":     {"DELETE FROM sheets", "its current sheet is missing"},
		"edited result":  {"UPDATE results SET sha256 = 'x'", "result 1"},
		"orphan":         {"PRAGMA foreign_keys = off; DELETE FROM logs", "points nowhere"},
	} {
		t.Run(name, func(t *testing.T) {
			a := openTest(t, filepath.Join(t.TempDir(), "archive.db"))
			s := mustSession(t, a, "damage")
			if _, err := a.Import(ctx, s.ID, "x", "", bytes.NewReader(noise(3, 2*chunkSize+50))); err != nil {
				t.Fatal(err)
			}
			_, _ = a.Edit(ctx, s.ID, Change{Base: 0, Body: "body"}) // what fails is looked for below
			_, _ = a.SaveResult(ctx, s.ID, Result{Body: []byte("{}")})
			mustBeClean(t, a)
			a.db.SetMaxOpenConns(1)
			if _, err := a.db.Exec(c.damage); err != nil {
				t.Fatal(err)
			}
			_, faults, err := a.Verify(ctx)
			if err != nil || len(faults) == 0 || !strings.Contains(fmt.Sprint(faults), c.where) {
				t.Errorf("verify: %v, %v; want a fault with %q", faults, err, c.where)
			}
		})
	}
}

func TestOlderArchiveIsMigrated(t *testing.T) {
	ctx := context.Background()
	path := filepath.Join(t.TempDir(), "archive.db")
	old, err := open(ctx, path, migrations[:1])
	if err != nil {
		t.Fatal(err)
	}
	s := mustSession(t, old, "from version 1")
	b := noise(5, 2*chunkSize)
	if _, err := old.Import(ctx, s.ID, "x", "eco", bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	if _, err := old.db.Exec("INSERT INTO sheets VALUES (?1, 1, 0, 'body', ?2, '', ?3); UPDATE sessions SET sheet = 1 WHERE id = ?1", s.ID, hashOf([]byte("body")), now()); err != nil {
		t.Fatal(err)
	}
	if err := old.Close(); err != nil {
		t.Fatal(err)
	}

	// A step that fails leaves the old version as it was.
	if _, err := open(ctx, path, []string{migrations[0], "CREATE TABLE half (x); CREATE TABLE logs (x)"}); err == nil {
		t.Fatal("a failing step was not reported")
	}
	a := openTest(t, path)
	if !bytes.Equal(readLog(t, a, sum(b)), b) {
		t.Error("the log did not survive")
	}
	if sh, err := a.Sheet(ctx, s.ID); err != nil || sh.Body != "body" {
		t.Errorf("the sheet did not survive: %+v %v", sh, err)
	}
	var n int
	if err := a.db.QueryRow("PRAGMA user_version").Scan(&n); err != nil || n != len(migrations) {
		t.Errorf("version %d after opening, %v", n, err)
	}
	if err := a.db.QueryRow("SELECT count(*) FROM sqlite_master WHERE name = 'half'").Scan(&n); err != nil || n != 0 {
		t.Error("half a step was kept")
	}
	mustBeClean(t, a)
}

func TestNewerAndForeignFilesAreRefused(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	newer := filepath.Join(dir, "newer.db")
	a, err := open(ctx, newer, append(append([]string{}, migrations...), "CREATE TABLE future (x)"))
	if err != nil {
		t.Fatal(err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", other)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("CREATE TABLE theirs (x)"); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	text := filepath.Join(dir, "text.db")
	if err := os.WriteFile(text, []byte(strings.Repeat("not a database at all\n", 500)), 0o600); err != nil {
		t.Fatal(err)
	}

	for path, want := range map[string]string{
		newer: fmt.Sprintf("its schema is %d, written by a newer fromrest", len(migrations)+1),
		other: "a database of another program",
		text:  "not a database",
	} {
		before, _ := os.ReadFile(path)
		_, err := Open(ctx, path)
		if err == nil || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), path) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v; want one line with %q and the path", filepath.Base(path), err, want)
		}
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) && path != other {
			t.Errorf("%s was changed", filepath.Base(path))
		}
	}
	if _, err := OpenExisting(ctx, filepath.Join(dir, "none.db")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("no archive: %v", err)
	}
}

// A new archive is its owner's alone, with what the database puts beside it.
func TestNobodyElseReadsTheArchive(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("skipped: rights are kept otherwise there")
	}
	dir := t.TempDir()
	a, err := Open(t.Context(), filepath.Join(dir, "a.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = a.Close() }()
	if _, err := a.NewSession(t.Context(), "x"); err != nil {
		t.Fatal(err)
	}
	files, err := os.ReadDir(dir)
	if err != nil || len(files) == 0 {
		t.Fatal(files, err)
	}
	for _, f := range files {
		if info, err := f.Info(); err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: %v, %v", f.Name(), info.Mode(), err)
		}
	}
}

package archive

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"
)

var kills = flag.Int("kills", 6, "how often the crash test kills a writing process; the full test is 100")

// The environment of the process that is killed.
const (
	childPath = "FROMREST_TEST_ARCHIVE"
	childSeed = "FROMREST_TEST_SEED"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(childPath); path != "" {
		writeForever(path)
		return
	}
	os.Exit(m.Run())
}

// writeForever imports logs and edits sheets and prints a line for each once it
// was acknowledged, until it is killed.
func writeForever(path string) {
	ctx := context.Background()
	seed, _ := strconv.ParseUint(os.Getenv(childSeed), 10, 64)
	a, err := Open(ctx, path)
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	s, err := a.NewSession(ctx, fmt.Sprint("crash ", seed))
	if err != nil {
		fmt.Println("error", err)
		os.Exit(1)
	}
	fmt.Println("session", s.ID)
	r := rand.New(rand.NewPCG(seed, 2))
	go func() {
		for rev := 0; ; rev++ {
			body := fmt.Sprintf("edit %d of %d %s", rev, seed, strings.Repeat("x", r.IntN(3000)))
			sh, err := a.Edit(ctx, s.ID, Change{Base: rev, Body: body})
			if err != nil {
				fmt.Println("error", err)
				os.Exit(1)
			}
			fmt.Printf("edit %s %d %s\n", s.ID, sh.Revision, sum([]byte(body)))
		}
	}()
	for i := uint64(0); ; i++ {
		b := noise(seed*1000+i, int(i%5)*700_000+10)
		st, err := a.Import(ctx, s.ID, "x", "", bytes.NewReader(b))
		if err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		fmt.Println("log", s.ID, st.SHA256, st.Bytes)
	}
}

// A writing process is killed at random instants. What it had acknowledged must
// be there, and everything that is there must be whole.
func TestKilledAtRandomInstants(t *testing.T) {
	path := filepath.Join(t.TempDir(), "archive.db")
	r := rand.New(rand.NewPCG(uint64(*kills), 3))
	acked, n := 0, *kills
	if testing.Short() {
		n = min(n, 2)
	}
	for i := range n {
		cmd := exec.Command(os.Args[0], "-test.run=^$")
		cmd.Env = append(os.Environ(), childPath+"="+path, childSeed+"="+strconv.Itoa(i+1))
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		time.AfterFunc(time.Duration(20+r.IntN(500))*time.Millisecond, func() { _ = cmd.Process.Kill() })
		lines, err := io.ReadAll(out)
		_ = cmd.Wait() // it was killed
		if err != nil {
			t.Fatal(err)
		}
		acked += mustHave(t, path, lines)
		if t.Failed() {
			t.Fatalf("after kill %d", i+1)
		}
	}
	if acked < n {
		t.Errorf("only %d acknowledged writes in %d kills: the test looks at nothing", acked, n)
	}
	t.Logf("%d kills, %d acknowledged writes, all there", n, acked)
}

// mustHave checks every acknowledged line against the archive and returns how
// many there were.
func mustHave(t *testing.T, path string, lines []byte) int {
	t.Helper()
	ctx := context.Background()
	a := openTest(t, path)
	defer func() { _ = a.Close() }()
	mustBeClean(t, a) // which reads every log and compares its hash
	sessions, err := a.Sessions(ctx)
	if err != nil {
		t.Fatal(err)
	}
	have := map[string]bool{}
	for _, s := range sessions {
		have["session "+s.ID] = true
		for _, l := range s.Logs {
			have[fmt.Sprintf("log %s %s %d", s.ID, l.SHA256, l.Bytes)] = true
		}
		sheets, err := a.History(ctx, s.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, sh := range sheets {
			have[fmt.Sprintf("edit %s %d %s", s.ID, sh.Revision, sum([]byte(sh.Body)))] = true
		}
	}
	// A last line without its end was cut by the kill.
	acked := strings.Split(string(lines), "\n")
	acked = acked[:len(acked)-1]
	for _, line := range acked {
		if !have[line] {
			t.Errorf("acknowledged but not there: %s", line)
		}
	}
	return len(acked)
}

// A full disk is met on a small memory file system, which only root can make.
func TestFullDisk(t *testing.T) {
	if runtime.GOOS != "linux" || os.Getuid() != 0 {
		t.Skip("skipped: making a small file system to fill needs root on Linux")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=6m", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("skipped: a small file system could not be mounted: %s", out)
	}
	t.Cleanup(func() { _ = exec.Command("umount", dir).Run() })
	ctx := context.Background()
	path := filepath.Join(dir, "archive.db")
	a := openTest(t, path)
	s := mustSession(t, a, "full")
	kept := map[string][]byte{}
	rev, failed := 0, 0
	r := rand.New(rand.NewPCG(9, 9))
	for i := 0; i < 60 && failed < 8; i++ {
		b := make([]byte, 300_000) // does not compress
		for k := range b {
			b[k] = byte(r.Uint32())
		}
		st, err := a.Import(ctx, s.ID, "x", "", bytes.NewReader(b))
		switch {
		case err == nil:
			kept[st.SHA256] = b
		case errors.Is(err, ErrFull):
			failed++
			if text := err.Error(); !strings.Contains(text, "no space left") || strings.Contains(text, "\n") {
				t.Errorf("message %q", text)
			}
		default:
			t.Fatalf("import on a full disk: %v", err)
		}
		sh, err := a.Edit(ctx, s.ID, Change{Base: rev, Body: fmt.Sprint("edit ", i)})
		switch {
		case err == nil:
			rev = sh.Revision
		case !errors.Is(err, ErrFull):
			t.Fatalf("edit on a full disk: %v", err)
		}
	}
	if failed == 0 || len(kept) == 0 {
		t.Fatalf("%d kept, %d refused: the disk was never filled", len(kept), failed)
	}
	check := func(a *Archive) {
		t.Helper()
		mustBeClean(t, a)
		for sha, want := range kept {
			if !bytes.Equal(readLog(t, a, sha), want) {
				t.Errorf("log %s was lost", sha)
			}
		}
		if sh, err := a.Sheet(ctx, s.ID); err != nil || sh.Revision != rev {
			t.Errorf("sheet %d, %v; want %d", sh.Revision, err, rev)
		}
	}
	check(a)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	again := openTest(t, path)
	check(again)
	t.Logf("%d logs kept, %d refused", len(kept), failed)
}

package web

import (
	"bufio"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"fromrest/pkg/archive"
	"fromrest/pkg/sheet"
	"fromrest/pkg/synth"
)

var kills = flag.Int("kills", 4, "how often the crash test kills a serving process; the full test is 100")

// childPath tells the test binary to serve the archive at its value.
const childPath = "FROMREST_TEST_SERVE"

func TestMain(m *testing.M) {
	if path := os.Getenv(childPath); path != "" {
		serveForever(path)
	}
	os.Exit(m.Run())
}

func serveForever(path string) {
	a, err := archive.Open(context.Background(), path)
	if err == nil {
		var s *Server
		var ln net.Listener
		if s, err = New(Options{Archive: a, Version: "crash"}); err == nil {
			if ln, err = net.Listen("tcp", "127.0.0.1:0"); err == nil {
				fmt.Println("http://" + ln.Addr().String())
				err = s.Serve(context.Background(), ln)
			}
		}
	}
	fmt.Fprintln(os.Stderr, err)
	os.Exit(1)
}

// acked is what the killed server had answered as done.
type acked struct {
	mu    sync.Mutex
	logs  []string // session and hash
	edits []string // session and title
}

// A server is killed at random instants while it takes uploads, analyses them
// and edits sheets. What it had answered must be there, and all must be whole.
func TestServerKilledAtRandomInstants(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if _, err := synth.WriteDemo(dir); err != nil {
		t.Fatal(err)
	}
	body, err := os.ReadFile(filepath.Join(dir, "calm-1.nmea"))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, "archive.db")
	r := rand.New(rand.NewPCG(uint64(*kills), 5))
	logs, edits := 0, 0
	// A slow machine may be killed before it answered anything: then once more.
	for i := 0; i < shorter(*kills) || (logs < shorter(*kills) || edits == 0) && i < 10*shorter(*kills); i++ {
		got := killOnce(t, path, i, string(body), time.Duration(50+r.IntN(700))*time.Millisecond)
		check(t, path, got)
		logs, edits = logs+len(got.logs), edits+len(got.edits)
		if t.Failed() {
			t.Fatalf("after kill %d", i+1)
		}
	}
	if logs < shorter(*kills) || edits == 0 {
		t.Errorf("%d logs and %d edits acknowledged in %d kills: the test looks at nothing", logs, edits, shorter(*kills))
	}
	t.Logf("%d kills, %d logs and %d edits acknowledged, all there", *kills, logs, edits)
}

// shorter is a count that -short cuts to two.
func shorter(n int) int {
	if testing.Short() {
		return min(n, 2)
	}
	return n
}

// child starts a process that serves the archive at path, to be killed, and returns where
// it listens.
func child(t *testing.T, path string) (*exec.Cmd, string) {
	t.Helper()
	cmd := exec.Command(os.Args[0], "-test.run=^$")
	cmd.Env = append(os.Environ(), childPath+"="+path)
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _, _ = cmd.Process.Kill(), cmd.Wait() }) // where the test did not come to it
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatal(err)
	}
	return cmd, strings.TrimSpace(line)
}

func killOnce(t *testing.T, path string, i int, body string, after time.Duration) *acked {
	t.Helper()
	cmd, base := child(t, path)
	id := begin(t, base)
	got := &acked{}
	time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	var wg sync.WaitGroup
	for worker := range 2 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for n := 0; ; n++ {
				b := fmt.Sprintf("# %d %d %d\r\n%s", i, worker, n, body)
				if !posted(base+"/api/sessions/"+id+"/logs?name=x.nmea", b) {
					return
				}
				sum := sha256.Sum256([]byte(b))
				got.mu.Lock()
				got.logs = append(got.logs, id+" "+hex.EncodeToString(sum[:]))
				got.mu.Unlock()
			}
		}()
	}
	for n := 0; ; n++ {
		title := fmt.Sprintf("kill %d edit %d", i, n)
		q, _ := json.Marshal(title)
		if !posted(base+"/api/sessions/"+id+"/edit", `{"op":"head","key":"title","value":`+string(q)+`}`) {
			break
		}
		got.edits = append(got.edits, id+" "+title)
	}
	wg.Wait()
	_ = cmd.Wait() // it was killed
	return got
}

// posted reports whether a request was answered with success, to the last byte.
func posted(address, body string) bool {
	req, err := http.NewRequest("POST", address, strings.NewReader(body))
	if err != nil {
		return false
	}
	req.Header.Set("X-Fromrest", "1")
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return false
	}
	_, err = io.Copy(io.Discard, res.Body)
	err = cmp.Or(err, res.Body.Close())
	return err == nil && res.StatusCode == http.StatusOK
}

func check(t *testing.T, path string, got *acked) {
	t.Helper()
	a := openArchive(t, path)
	defer func() { _ = a.Close() }()
	ctx := context.Background()
	if _, faults, err := a.Verify(ctx); err != nil || len(faults) > 0 {
		t.Errorf("archive: %v %v", faults, err)
	}
	list, err := a.Sessions(ctx)
	if err != nil {
		t.Fatal(err)
	}
	have := map[string]bool{}
	for _, s := range list {
		for _, l := range s.Logs {
			have[s.ID+" "+l.SHA256] = true
		}
		sheets, err := a.History(ctx, s.ID)
		if err != nil {
			t.Fatal(err)
		}
		for _, sh := range sheets {
			p, err := sheet.Parse(sh.Body, sheetName)
			if err != nil {
				t.Fatal(err)
			}
			have[s.ID+" "+p.Title] = true
		}
	}
	for _, want := range append(got.logs, got.edits...) {
		if !have[want] {
			t.Errorf("acknowledged but not there: %s", want)
		}
	}
}

// A disk that fills up while logs are dropped is said in the answer, and the
// server goes on.
func TestDropOnAFullDisk(t *testing.T) {
	if runtime.GOOS != "linux" || os.Getuid() != 0 {
		t.Skip("skipped: making a small file system to fill needs root on Linux")
	}
	dir := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("skipped: a small file system could not be mounted: %s", out)
	}
	t.Cleanup(func() { _ = exec.Command("umount", dir).Run() })
	sv := serveTest(t, filepath.Join(dir, "a.db"), Options{})
	id := begin(t, sv.url)
	r := rand.New(rand.NewPCG(1, 1))
	stored, full := 0, 0
	for range 20 {
		b := make([]byte, 400_000)
		for k := range b {
			b[k] = byte(r.Uint32())
		}
		res := ask(t, "POST", sv.url+"/api/sessions/"+id+"/logs?name=x", string(b), "X-Fromrest: 1")
		switch res.StatusCode {
		case http.StatusOK:
			stored++
		case http.StatusInsufficientStorage:
			full++
			if s := text(t, res); !strings.Contains(s, "no space left") {
				t.Errorf("message %q", s)
			}
		default:
			t.Fatalf("%s %s", res.Status, text(t, res))
		}
	}
	if stored == 0 || full == 0 {
		t.Fatalf("%d stored, %d refused: the disk was never filled", stored, full)
	}
	s, err := sv.arch.Session(context.Background(), id)
	if err != nil || len(s.Logs) != stored {
		t.Errorf("%d logs, %v; want %d", len(s.Logs), err, stored)
	}
	sv.stop()
	if a, err := archive.Open(context.Background(), filepath.Join(dir, "a.db")); err != nil {
		t.Errorf("opening it again: %v", err)
	} else {
		if _, faults, err := a.Verify(context.Background()); err != nil && !errors.Is(err, archive.ErrFull) || len(faults) > 0 {
			t.Errorf("archive: %v %v", faults, err)
		}
		_ = a.Close()
	}
}

package cache

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"
)

func openDisk(t *testing.T, dir string) *Disk {
	t.Helper()
	f, err := OpenDisk(dir)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// entries are the files of the folder.
func entries(t *testing.T, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*", "*"))
	if err != nil {
		t.Fatal(err)
	}
	return files
}

func TestDiskComesBackOrIsNothing(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a", "b")
	f := openDisk(t, dir)
	body := noise(1, 100000)
	for _, b := range [][]byte{body, {}, {0}} {
		f.Remember("key", b)
		if got, ok := f.Recall("key"); !ok || !bytes.Equal(got, b) {
			t.Fatalf("%d bytes came back as %d, %v", len(b), len(got), ok)
		}
	}
	f.Remember("key", body)
	if _, ok := f.Recall("another"); ok {
		t.Error("recalled what was never remembered")
	}
	file := entries(t, dir)[0]
	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for i := 0; i < len(whole); i += 1 + len(whole)/200 {
		for what, data := range map[string][]byte{"cut": whole[:i], "flipped": flipped(whole, i)} {
			if err := os.WriteFile(file, data, 0o600); err != nil {
				t.Fatal(err)
			}
			if _, ok := f.Recall("key"); ok {
				t.Fatalf("%s at byte %d of %d: recalled all the same", what, i, len(whole))
			}
			if _, err := os.Stat(file); err == nil {
				t.Fatalf("%s at byte %d: the damaged entry is still there", what, i)
			}
		}
	}
	f.Remember("key", body)
	if got, ok := f.Recall("key"); !ok || !bytes.Equal(got, body) {
		t.Error("not rewritten after damage")
	}
}

// noise is n bytes that look like a log.
func noise(seed uint64, n int) []byte {
	r := rand.New(rand.NewPCG(seed, 1))
	var b bytes.Buffer
	for i := 0; b.Len() < n; i++ {
		fmt.Fprintf(&b, "$GNRMC,%06d.%02d,A,5130.%04d,N,00007.%04d,W,%d.%03d,%d.0,140626,,,A*%02X\r\n",
			i, r.IntN(100), r.IntN(10000), r.IntN(10000), r.IntN(70), r.IntN(1000), r.IntN(360), r.IntN(256))
	}
	return b.Bytes()[:n]
}

func flipped(b []byte, i int) []byte {
	c := bytes.Clone(b)
	c[i] ^= 0x40
	return c
}

func TestDiskDropsTheLeastUsed(t *testing.T) {
	dir := t.TempDir()
	f := openDisk(t, dir)
	long := time.Now().Add(-48 * time.Hour)
	for i := range 20 {
		f.Remember(fmt.Sprint(i), noise(uint64(i), 50000))
		at := long.Add(time.Duration(i) * time.Minute)
		if err := os.Chtimes(f.path(fmt.Sprint(i)), at, at); err != nil {
			t.Fatal(err)
		}
	}
	stale := filepath.Join(dir, tempPrefix+"left")
	if err := os.WriteFile(stale, []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(stale, long, long); err != nil {
		t.Fatal(err)
	}
	if _, ok := f.Recall("0"); !ok { // the oldest, used again
		t.Fatal("entry 0 is gone")
	}
	f.most = f.written.Load() / 2
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	f = openDisk(t, dir)
	for i, want := range map[int]bool{0: true, 1: false, 5: false, 19: true, 18: true} {
		if _, ok := f.Recall(fmt.Sprint(i)); ok != want {
			t.Errorf("entry %d is there: %v, want %v", i, ok, want)
		}
	}
	if n := len(entries(t, dir)); n < 7 || n > 10 {
		t.Errorf("%d of 20 entries left where half the bytes are allowed", n)
	}
	if _, err := os.Stat(stale); err == nil {
		t.Error("an unfinished entry was left")
	}
}

// Several programs on one folder, one of them always tidying up.
func TestDiskIsSharedByProcesses(t *testing.T) {
	dir := t.TempDir()
	bodies := map[string][]byte{}
	for i := range 8 {
		bodies[fmt.Sprint(i)] = noise(uint64(i), 20000)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for range 10 {
				f, err := OpenDisk(dir)
				if err != nil {
					t.Error(err)
					return
				}
				f.most = 40000
				for key, want := range bodies {
					if got, ok := f.Recall(key); ok && !bytes.Equal(got, want) {
						t.Errorf("key %s: another body", key)
					}
					f.Remember(key, want)
				}
				if err := f.Close(); err != nil {
					t.Error(err)
				}
			}
		}()
	}
	wg.Wait()
}

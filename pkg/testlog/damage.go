// Package testlog is what the tests of the readers share: it makes damaged
// copies of logs, checks that a recording keeps the promises of its type, tells
// what damage changed, and measures what reading allocates.
//
// The model of damage is a card or a line that fails at one place: bits flip, a
// piece of up to 200 bytes is lost, comes twice, is shuffled, is overwritten by
// noise or by zeros. Everything is seeded. Only tests import the package.
package testlog

import (
	"bytes"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

var (
	mutants = flag.Int("mutants", 0, "damaged copies of each log; 0 is each test's own, quick number")
	longest = flag.Duration("mutants.longest", 30*time.Second, "processor time that reading one damaged copy may take")
)

// Thorough reports whether a number of copies was asked for: tests then read
// logs whole that they otherwise shorten.
func Thorough() bool { return *mutants > 0 }

// root returns the folder of the real recordings, beside the project's own.
func root() string {
	dir := "."
	for range 8 { // no package lies deeper
		if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
			break
		}
		dir = filepath.Join("..", dir)
	}
	return filepath.Join(dir, "../shared/data")
}

// Recording returns the path of one real recording, by its path in the folder of
// all. The test is skipped where it is absent.
func Recording(t testing.TB, name string) string {
	t.Helper()
	path := filepath.Join(root(), filepath.FromSlash(name))
	if _, err := os.Stat(path); err != nil {
		t.Skipf("the real recording %s is absent", name)
	}
	return path
}

// Recordings returns the real recordings that match the patterns, by their path
// in the folder of all, none where that is absent.
func Recordings(t testing.TB, patterns ...string) map[string][]byte {
	t.Helper()
	logs := map[string][]byte{}
	for _, p := range patterns {
		paths, err := filepath.Glob(filepath.Join(root(), p))
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range paths {
			if info, err := os.Stat(path); err != nil || info.IsDir() {
				continue
			}
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			name, _ := filepath.Rel(root(), path)
			logs[filepath.ToSlash(name)] = b
		}
	}
	return logs
}

// Logs is Recordings for a test that is skipped where there are none.
func Logs(t testing.TB, patterns ...string) map[string][]byte {
	t.Helper()
	logs := Recordings(t, patterns...)
	if len(logs) == 0 {
		t.Skip("the folder of real recordings is absent")
	}
	return logs
}

// Names returns the names of logs in order, so that loops are repeatable.
func Names(logs map[string][]byte) []string {
	return slices.Sorted(maps.Keys(logs))
}

// Hurt says what was done: the bytes [At, At+Len) of the original.
type Hurt struct {
	At, Len int
	How     string
}

// Mutate returns a copy of b that is damaged at one place. b is not empty.
func Mutate(rng *rand.Rand, b []byte) ([]byte, Hurt) {
	out := bytes.Clone(b)
	at := rng.IntN(len(out))
	n := min(1+rng.IntN(200), len(out)-at)
	h := Hurt{At: at, Len: n}
	p := out[at : at+n]
	switch rng.IntN(6) {
	case 0:
		h.How = "flipped"
		for range 1 + rng.IntN(8) {
			p[rng.IntN(n)] ^= byte(1 << rng.IntN(8))
		}
	case 1:
		h.How = "cut"
		out = slices.Delete(out, at, at+n)
	case 2:
		h.How = "doubled"
		out = slices.Insert(out, at, bytes.Clone(p)...)
	case 3:
		h.How = "shuffled"
		rng.Shuffle(n, func(i, k int) { p[i], p[k] = p[k], p[i] })
	case 4:
		h.How = "overwritten"
		for i := range p {
			p[i] = byte(rng.Uint32())
		}
	default:
		h.How = "zeroed"
		clear(p)
	}
	return out, h
}

// Reader reads a log; the recording is never nil.
type Reader func(b []byte) (*recording.Recording, error)

// Each reads n damaged copies of b, or as many as -mutants says, and hands each
// result to check, which may be nil. No copy may panic, break the promises of a
// recording, or take too long.
func Each(t *testing.T, name string, b []byte, n int, read Reader, check func(h Hurt, rec *recording.Recording, err error)) {
	t.Helper()
	if *mutants > 0 {
		n = *mutants
	}
	rng := rand.New(rand.NewPCG(uint64(len(name)), uint64(len(b))))
	for i := range n {
		m, h := Mutate(rng, b)
		begin := cpu()
		rec, err := read(m)
		if d := cpu() - begin; d > *longest {
			t.Errorf("%s, copy %d: %d bytes %s at %d take %v to read", name, i, h.Len, h.How, h.At, d)
		}
		if rec == nil {
			t.Fatalf("%s, copy %d: no recording", name, i)
		}
		Sound(t, rec)
		if check != nil {
			check(h, rec, err)
		}
		if t.Failed() {
			t.Fatalf("%s, copy %d: %d bytes %s at %d", name, i, h.Len, h.How, h.At)
		}
	}
}

// Copy is what was read of a damaged copy, beside what was read of the whole.
type Copy struct {
	Hurt  Hurt
	Whole *recording.Recording
	Rec   *recording.Recording
	Err   error
}

// Damage reads n damaged copies of b as Each does. lost says what a copy lost
// that it should not have, "" where all is well; more than the share of the
// copies may not lose anything.
func Damage(t *testing.T, name string, b []byte, n int, read Reader, share float64, lost func(Copy) string) {
	t.Run(name, func(t *testing.T) {
		whole, err := read(b)
		if err != nil {
			t.Fatal(err)
		}
		var all int
		var poor []string
		Each(t, name, b, n, read, func(h Hurt, rec *recording.Recording, err error) {
			all++
			if what := lost(Copy{h, whole, rec, err}); what != "" {
				poor = append(poor, fmt.Sprintf("%d bytes %s at %d: %s", h.Len, h.How, h.At, what))
			}
		})
		if float64(len(poor)) > share*float64(all) {
			t.Errorf("%d of %d damaged copies lose much:\n%s", len(poor), all, strings.Join(poor, "\n"))
		}
	})
}

package fit

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

var mutants = flag.Int("mutants", 40, "damaged copies of each file")

// seeds are the real recordings that are here, and files of our own.
func seeds(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{"records": recordsFile(400), "accelerometer": accelFile(true),
		"clock": gpsFile([][3]int64{{10, 700, 1000000000}, {10, 800, 1000000001}}, [4]int64{1000000000, 0, 10, 0})}
	names, _ := filepath.Glob(shared + "*.fit")
	for _, n := range names {
		b, err := os.ReadFile(n)
		if err != nil {
			t.Fatal(err)
		}
		all[filepath.Base(n)] = b
	}
	return all
}

// damage flips, cuts, doubles or shuffles bytes and returns where.
func damage(rng *rand.Rand, b []byte) (out []byte, at int) {
	out = bytes.Clone(b)
	at = rng.IntN(len(out))
	n := min(1+rng.IntN(64), len(out)-at)
	switch rng.IntN(4) {
	case 0:
		for range 1 + rng.IntN(4) {
			out[min(at+rng.IntN(8), len(out)-1)] ^= byte(1 << rng.IntN(8))
		}
	case 1:
		out = append(out[:at], out[at+n:]...)
	case 2:
		out = append(append(bytes.Clone(out[:at+n]), out[at:at+n]...), out[at+n:]...)
	case 3:
		rng.Shuffle(n, func(i, k int) { out[at+i], out[at+k] = out[at+k], out[at+i] })
	}
	return out, at
}

func ordered(t *testing.T, rec *recording.Recording) {
	t.Helper()
	for _, tr := range rec.Tracks {
		for i := 1; i < tr.Len(); i++ {
			if tr.NanoAt(i) <= tr.NanoAt(i-1) {
				t.Fatalf("%s: fix %d is not later than the one before it", tr.Name, i)
			}
		}
	}
	a := rec.Accel
	for i := 1; i < a.Len(); i++ {
		if a.NanoUTC[i] <= a.NanoUTC[i-1] {
			t.Fatalf("sample %d is not later than the one before it", i)
		}
	}
}

// TestDamage reads damaged copies of every file: no panic, no hang, everything
// in the order of time, and little lost.
func TestDamage(t *testing.T) {
	for name, b := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			n := *mutants
			if len(b) > 200_000 {
				n = (n + 3) / 4
			}
			rng := rand.New(rand.NewPCG(1, uint64(len(b))))
			whole, _ := Read(context.Background(), bytes.NewReader(b), "", Options{})
			full, worst, poor := fixes(whole), 0, 0
			for range n {
				m, at := damage(rng, b)
				begin := time.Now()
				rec, _ := Read(context.Background(), bytes.NewReader(m), "", Options{})
				if d := time.Since(begin); d > 30*time.Second {
					t.Errorf("took %v with damage at %d", d, at)
				}
				ordered(t, rec)
				lost := full - fixes(rec)
				worst = max(worst, lost)
				if lost > full/10+20 && at > 200 {
					poor++
					t.Logf("%d of %d fixes lost by damage at %d", lost, full, at)
				}
			}
			// Damage in a definition costs the messages until it is sent again,
			// which nothing can help.
			if full > 100 && poor > n/5 {
				t.Errorf("%d of %d damaged copies lose much", poor, n)
			}
		})
	}
}

func fixes(rec *recording.Recording) int {
	n := 0
	for _, tr := range rec.Tracks {
		n += tr.Len()
	}
	return n
}

// TestFarFromDamage flips one byte and looks at the fixes far from it.
func TestFarFromDamage(t *testing.T) {
	b := recordsFile(3000)
	want := read(t, b).Primary()
	rng := rand.New(rand.NewPCG(2, 2))
	for range 200 {
		at := 300 + rng.IntN(len(b)-302)
		m := bytes.Clone(b)
		m[at] ^= byte(1 << rng.IntN(8))
		rec, err := Read(context.Background(), bytes.NewReader(m), "", Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := rec.Primary()
		// A record is 27 bytes with its header.
		near := (at - 60) / 27
		have := make(map[int64]recording.Fix, got.Len())
		for i := range got.Len() {
			have[got.NanoAt(i)] = got.At(i)
		}
		for i := range want.Len() {
			if i > near-15 && i < near+15 {
				continue
			}
			w := want.At(i)
			if g, ok := have[want.NanoAt(i)]; !ok || g.Q[recording.Speed] != w.Q[recording.Speed] || g.Q[recording.LatDeg] != w.Q[recording.LatDeg] {
				t.Fatalf("damage at %d (fix %d) changes fix %d", at, near, i)
			}
		}
	}
}

// TestHostileSearch reads bytes made to keep the search for messages busy: the
// time stays bounded.
func TestHostileSearch(t *testing.T) {
	// Bytes that look like definitions and messages without end.
	for _, pattern := range [][]byte{{0x40, 0, 0, 20, 0, 1, 253, 4, 0x86}, {0}, {0x40}, {0xFF}, {0x40, 0, 1, 0, 20, 64, 0, 0, 0}} {
		w := newWriter(14)
		w.define(0, mesgRecord, fieldTime, typeUint32, 4)
		w.values(0, 1000000000, 4)
		w.body = append(w.body, bytes.Repeat(pattern, 1<<20/len(pattern))...)
		begin := time.Now()
		rec, _ := Read(context.Background(), bytes.NewReader(w.file()), "", Options{})
		if d := time.Since(begin); d > 30*time.Second {
			t.Errorf("%x: 1 MiB took %v", pattern, d)
		}
		ordered(t, rec)
	}
}

func FuzzRead(f *testing.F) {
	for _, b := range seeds(f) {
		if len(b) < 20_000 {
			f.Add(b)
		}
	}
	f.Add(unhex(f, shortFile))
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, err := Read(context.Background(), bytes.NewReader(b), "", Options{})
		if rec == nil {
			t.Fatal("no recording")
		}
		if err == nil && fixes(rec) == 0 && rec.Accel.Len() == 0 {
			t.Fatal("no error and nothing read")
		}
		ordered(t, rec)
	})
}

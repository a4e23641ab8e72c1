package gpx

import (
	"bytes"
	"context"
	"flag"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

var mutants = flag.Int("mutants", 12, "damaged copies of each file")

// seeds are the real recordings that are here, and a file of our own.
func seeds(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{"own": []byte(head11 + pt("2026-05-09T08:30:00Z", "<speed>1</speed>") + pt("2026-05-09T08:30:01Z", "<speed>2</speed>") + tail)}
	names, _ := filepath.Glob(filepath.Join(shared, "*.gpx"))
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
func damage(rng *rand.Rand, b []byte) (out []byte, at, n int) {
	out = bytes.Clone(b)
	at = rng.IntN(len(out))
	n = min(1+rng.IntN(200), len(out)-at)
	switch rng.IntN(4) {
	case 0:
		for i := range n {
			out[at+i] ^= byte(1 << rng.IntN(8))
		}
	case 1:
		out = append(out[:at], out[at+n:]...)
	case 2:
		out = append(append(bytes.Clone(out[:at+n]), out[at:at+n]...), out[at+n:]...)
	case 3:
		rng.Shuffle(n, func(i, k int) { out[at+i], out[at+k] = out[at+k], out[at+i] })
	}
	return out, at, n
}

func ordered(t *testing.T, tr *recording.Track) {
	t.Helper()
	for i := 1; i < tr.Len(); i++ {
		if tr.NanoAt(i) <= tr.NanoAt(i-1) {
			t.Fatalf("fix %d is not later than the one before it", i)
		}
	}
}

// TestDamage reads damaged copies: no panic, no hang, and every fix whose text
// lies away from the damage unchanged.
func TestDamage(t *testing.T) {
	for name, b := range seeds(t) {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(1, uint64(len(b))))
			whole := read(t, string(b)).Primary()
			for range *mutants {
				m, at, n := damage(rng, b)
				begin := time.Now()
				rec, _ := Read(context.Background(), bytes.NewReader(m), "", Options{})
				if d := time.Since(begin); d > 30*time.Second {
					t.Errorf("took %v with damage at %d", d, at)
				}
				got := rec.Primary()
				ordered(t, got)
				if whole.Len() < 100 {
					continue
				}
				have := make(map[int64]float64, got.Len())
				for i := range got.Len() {
					have[got.NanoAt(i)] = got.Value(recording.Speed, i)
				}
				lost := 0
				for i := range whole.Len() {
					if v, ok := have[whole.NanoAt(i)]; !ok || v != whole.Value(recording.Speed, i) {
						lost++
					}
				}
				if lost > 5+n/50 {
					t.Errorf("%d of %d fixes lost by damage of %d bytes at %d", lost, whole.Len(), n, at)
				}
			}
		})
	}
}

// TestGrowth reads hostile text of two lengths. Nothing may be kept of it: the
// time is bounded, and so is a token.
func TestGrowth(t *testing.T) {
	for _, unit := range []string{"<a>", "<trkpt ", "&a;", "<!--", "<![CDATA[", "<trkpt lat=\"1\" lon=\"2\">", "<trkseg>", "\xff", "<"} {
		begin := time.Now()
		rec, _ := Read(context.Background(), strings.NewReader(head11+strings.Repeat(unit, (2<<20)/len(unit))), "", Options{})
		if d := time.Since(begin); d > 30*time.Second {
			t.Errorf("2 MiB of %q took %v", unit, d)
		}
		ordered(t, rec.Primary())
	}
}

func FuzzRead(f *testing.F) {
	for _, b := range seeds(f) {
		if len(b) < 5000 {
			f.Add(b)
		}
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, err := Read(context.Background(), bytes.NewReader(b), "", Options{MaxToken: 4096})
		if rec == nil {
			t.Fatal("no recording")
		}
		if err == nil && rec.Primary().Len() == 0 {
			t.Fatal("no error and nothing read")
		}
		ordered(t, rec.Primary())
	})
}

func BenchmarkRead(b *testing.B) {
	var text strings.Builder
	text.WriteString(head11)
	at := time.Date(2026, 5, 9, 8, 30, 0, 0, time.UTC)
	for i := range 20000 {
		text.WriteString(pt(at.Add(time.Duration(i)*100*time.Millisecond).Format(time.RFC3339Nano), "<ele>81.2</ele><extensions><a:speed>12.345</a:speed></extensions>"))
	}
	text.WriteString(tail)
	in := text.String()
	b.SetBytes(int64(len(in)))
	b.ReportAllocs()
	for range b.N {
		if _, err := Read(context.Background(), strings.NewReader(in), "", Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

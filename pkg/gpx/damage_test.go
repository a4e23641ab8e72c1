package gpx

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/damage"
	"fromrest/pkg/recording"
)

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

func readBytes(b []byte) (*recording.Recording, error) {
	return Read(context.Background(), bytes.NewReader(b), "", Options{})
}

// TestDamage reads damaged copies: no panic, no hang, and every fix whose text
// lies away from the damage unchanged.
func TestDamage(t *testing.T) {
	logs := seeds(t)
	for _, name := range damage.Names(logs) {
		t.Run(name, func(t *testing.T) {
			b := logs[name]
			whole, _ := readBytes(b)
			damage.Each(t, name, b, 12, readBytes, func(h damage.Hurt, rec *recording.Recording, err error) {
				if whole.Primary().Len() < 100 {
					return
				}
				if changed, lost := damage.Loss(whole, rec); changed+lost > 5+h.Len/50 {
					t.Errorf("%d fixes changed, %d lost", changed, lost)
				}
			})
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
		damage.Sound(t, rec)
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
		damage.Sound(t, rec)
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

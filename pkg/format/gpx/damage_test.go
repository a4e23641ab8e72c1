package gpx

import (
	"bytes"
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// seeds are the real recordings that are here, and a file of our own.
func seeds(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{"own": []byte(head11 + pt("2026-05-09T08:30:00Z", "<speed>1</speed>") + pt("2026-05-09T08:30:01Z", "<speed>2</speed>") + tail)}
	for name, b := range testlog.Recordings(t, "gpx/*.gpx") {
		all[filepath.Base(name)] = b
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
	for _, name := range testlog.Names(logs) {
		testlog.Damage(t, name, logs[name], 12, readBytes, 0, func(c testlog.Copy) string {
			if changed, lost := testlog.Loss(c.Whole, c.Rec); c.Whole.Primary().Len() >= 100 && changed+lost > 5+c.Hurt.Len/50 {
				return fmt.Sprintf("%d fixes changed, %d lost", changed, lost)
			}
			return ""
		})
	}
}

// TestGrowth reads hostile text of two lengths. Nothing may be kept of it.
func TestGrowth(t *testing.T) {
	for _, unit := range []string{"<a>", "<trkpt ", "&a;", "<!--", "<![CDATA[", "<trkpt lat=\"1\" lon=\"2\">", "<trkseg>", "\xff", "<", "<trkpt><!--", "<trkpt a='"} {
		testlog.Growth(t, unit, (512<<10)/len(unit), func(n int) []byte { return []byte(head11 + strings.Repeat(unit, n)) }, 250, readBytes)
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
		testlog.Sound(t, rec)
	})
}

// readSlow is Read with every token from encoding/xml.
func readSlow(b []byte) (*recording.Recording, error) {
	return Read(context.Background(), bytes.NewReader(b), "", Options{slow: true})
}

// TestPlainIsXML reads damaged copies of every log in both ways: plain tokens
// read here are those of encoding/xml, and stop and go on between any two.
func TestPlainIsXML(t *testing.T) {
	logs := seeds(t)
	for _, name := range testlog.Names(logs) {
		b := logs[name]
		b = b[:min(len(b), 60_000)]
		testlog.Each(t, name, b, 150, func(b []byte) (*recording.Recording, error) {
			rec, err := readBytes(b)
			if got, want := testlog.Dump(rec, err), testlog.Dump(readSlow(b)); got != want {
				t.Error(cmp.Diff(want, got))
			}
			return rec, err
		}, nil)
	}
}

// FuzzPlain compares the two ways on any bytes, in small pieces, so that tokens
// are cut by the end of the buffer.
func FuzzPlain(f *testing.F) {
	for _, b := range seeds(f) {
		if len(b) < 5000 {
			f.Add(b)
		}
	}
	for _, s := range []string{`<a:speed>1</a:speed>`, `<speed  >1</speed >`, "<speed>\r\n1]]></speed>", `<extensions/><speed>2</speed>`, `<!--<speed>--><speed>1<?x?>2</speed>`,
		`<speed a='"' b=">">3</speed>`, `<speed a="1"b="2">3</speed>`, `<speed>&lt;1&#50;</speed>`, `<:speed>1</:speed>`, `<a:b:speed>1</a:b:speed>`, `<1speed>1</1speed>`, `<speed/ >1`} {
		f.Add([]byte(head11 + pt("2026-05-09T08:30:00Z", s) + pt("2026-05-09T08:30:01Z", s) + tail))
	}
	f.Add([]byte("<!00000>< "))
	f.Add([]byte("00<A000>00<<trkpt "))
	f.Fuzz(func(t *testing.T, b []byte) {
		opts := Options{MaxToken: 512}
		got := testlog.Dump(Read(context.Background(), iotest.OneByteReader(bytes.NewReader(b)), "", opts))
		opts.slow = true
		if want := testlog.Dump(Read(context.Background(), bytes.NewReader(b), "", opts)); got != want {
			t.Error(cmp.Diff(want, got))
		}
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

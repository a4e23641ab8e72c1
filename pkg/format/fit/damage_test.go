package fit

import (
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// seeds are the real recordings that are here, and files of our own.
func seeds(t testing.TB) map[string][]byte {
	t.Helper()
	all := map[string][]byte{"records": recordsFile(400), "accelerometer": accelFile(true),
		"clock": gpsFile([][3]int64{{10, 700, 1000000000}, {10, 800, 1000000001}}, [4]int64{1000000000, 0, 10, 0})}
	for name, b := range testlog.Recordings(t, "fit/*.fit") {
		all[filepath.Base(name)] = b
	}
	return all
}

func readBytes(b []byte) (*recording.Recording, error) {
	return Read(context.Background(), bytes.NewReader(b), "", Options{})
}

// TestDamage reads damaged copies of every file: no panic, no hang, everything
// in the order of time, and little lost.
func TestDamage(t *testing.T) {
	logs := seeds(t)
	for _, name := range testlog.Names(logs) {
		n := 40
		if len(logs[name]) > 200_000 {
			n = 10
		}
		// Damage in a definition costs the messages until it is sent again,
		// which nothing can help.
		testlog.Damage(t, name, logs[name], n, readBytes, 0.2, func(c testlog.Copy) string {
			full := fixes(c.Whole)
			if lost := full - fixes(c.Rec); full > 100 && lost > full/10+20 && c.Hurt.At > 200 {
				return fmt.Sprintf("%d of %d fixes lost", lost, full)
			}
			return ""
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

// TestGrowth reads bytes made to keep the search for messages busy, and files
// that claim more than they hold: what reading takes stays in proportion.
func TestGrowth(t *testing.T) {
	// Bytes that look like definitions and messages without end.
	for _, pattern := range [][]byte{{0x40, 0, 0, 20, 0, 1, 253, 4, 0x86}, {0}, {0x40}, {0xFF}, {0x40, 0, 1, 0, 20, 64, 0, 0, 0}} {
		testlog.Growth(t, fmt.Sprintf("%x", pattern), (256<<10)/len(pattern), func(n int) []byte {
			w := newWriter(14)
			w.define(0, mesgRecord, fieldTime, typeUint32, 4)
			w.values(0, 1000000000, 4)
			w.body = append(w.body, bytes.Repeat(pattern, n)...)
			return w.file()
		}, 400, readBytes)
	}
	one := recordsFile(3)
	claims := bytes.Clone(one)
	binary.LittleEndian.PutUint32(claims[4:], 0xFFFFFFF0)
	for name, file := range map[string][]byte{"a file of three records after the other": one, "each claiming 4 GB": claims} {
		testlog.Growth(t, name, 1000, func(n int) []byte { return bytes.Repeat(file, n) }, 2500, readBytes)
	}
	testlog.Growth(t, "a layout a record", 2000, func(n int) []byte {
		w := newWriter(14)
		for i := range n {
			w.define(0, mesgRecord, fieldTime, typeUint32, 4, 6, typeUint16, 2, 200, typeByte, byte(i), 201, typeByte, byte(i>>8))
			data := binary.LittleEndian.AppendUint32(nil, 1000000000+uint32(i))
			w.data(0, append(data, make([]byte, 2+i&255+i>>8&255)...))
		}
		return w.file()
	}, 400, readBytes)
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
		testlog.Sound(t, rec)
	})
}

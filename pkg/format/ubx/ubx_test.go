package ubx

import (
	"bytes"
	"context"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"testing/iotest"
	"time"

	"github.com/google/go-cmp/cmp"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// enframe wraps a payload.
func enframe(class, id byte, payload []byte) []byte {
	b := append([]byte{sync1, sync2, class, id, byte(len(payload)), byte(len(payload) >> 8)}, payload...)
	a, c := fletcher(b[2:])
	return append(b, a, c)
}

// pvt writes a NAV-PVT of an invented drive.
func pvt(at time.Time, nano int32, speed int32) []byte {
	p := make([]byte, 92)
	put := func(at int, v int32) { binary.LittleEndian.PutUint32(p[at:], uint32(v)) }
	binary.LittleEndian.PutUint16(p[4:], uint16(at.Year()))
	p[6], p[7], p[8], p[9], p[10], p[11] = byte(at.Month()), byte(at.Day()), byte(at.Hour()), byte(at.Minute()), byte(at.Second()), 7
	put(16, nano)
	p[20], p[21], p[23] = 3, 1, 17
	put(24, -12345678)
	put(28, 521234567)
	put(36, 45678)
	put(40, 1200)
	put(48, -1500)
	put(52, 2500)
	put(56, -30)
	put(60, speed)
	put(64, 27050000)
	put(68, 45)
	return enframe(1, 7, p)
}

var noon = time.Date(2026, 6, 14, 12, 0, 1, 0, time.UTC)

func TestSolutionInSI(t *testing.T) {
	r, err := Read(context.Background(), bytes.NewReader(pvt(noon, -175_000, 2915)), "x")
	if err != nil {
		t.Fatal(err)
	}
	f := r.Primary().At(0)
	if want := noon.Add(-175 * time.Microsecond); !f.Time.Equal(want) {
		t.Errorf("time %v, want %v", f.Time, want)
	}
	nan := math.NaN()
	want := recording.NewFix(f.Time)
	for c, v := range map[recording.Column]float64{recording.Speed: 2.915, recording.Course: 270.5, recording.LatDeg: 52.1234567, recording.LonDeg: -1.2345678,
		recording.Altitude: 45.678, recording.VelNorth: -1.5, recording.VelEast: 2.5, recording.VelUp: 0.03, recording.SpeedSD: 0.045, recording.PosSD: 1.2,
		recording.HDOP: nan, recording.Satellites: 17} {
		want.Q[c] = v
	}
	for c := range want.Q {
		if g, w := f.Q[c], want.Q[c]; g != w && (g == g || w == w) {
			t.Errorf("column %d: %v, want %v", c, g, w)
		}
	}
	if tr := r.Primary(); tr.Source != recording.GNSS || tr.Name != "NAV-PVT" || tr.SpeedStep != 0.001 {
		t.Errorf("track %+v", tr)
	}
}

// The checksum of a frame in a public recording (mixed/pygpsdata-ESF.log,
// pyubx2, BSD) and of one in the protocol's description [M]: a poll of MON-VER.
func TestChecksum(t *testing.T) {
	if got, want := enframe(0x0a, 0x04, nil), []byte{0xb5, 0x62, 0x0a, 0x04, 0, 0, 0x0e, 0x34}; !bytes.Equal(got, want) {
		t.Errorf("% x, want % x", got, want)
	}
}

func TestWhatIsNoFixOrNoTime(t *testing.T) {
	change := func(at int, v byte) []byte {
		b := pvt(noon, 0, 1000)
		p := bytes.Clone(b[6 : len(b)-2])
		p[at] = v
		return enframe(1, 7, p)
	}
	good := pvt(noon.Add(time.Second), 0, 2000)
	for _, c := range []struct {
		name string
		b    []byte
		kind string
	}{
		{"no fix", change(20, 0), "no-fix"}, {"time only", change(20, 5), "no-fix"}, {"flag off", change(21, 0), "no-fix"},
		{"date not valid", change(11, 6), "no-time"}, {"time not valid", change(11, 5), "no-time"},
		{"month 13", change(6, 13), "no-time"}, {"31 June", change(7, 31), "no-time"}, {"second 60", change(10, 60), "no-time"},
	} {
		r, err := Read(context.Background(), bytes.NewReader(append(c.b, good...)), "x")
		if err != nil || r.Primary().Len() != 1 || r.Primary().Value(recording.Speed, 0) != 2 {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if g := r.Problems.Groups(); len(g) != 1 || g[0].Kind != c.kind {
			t.Errorf("%s: problems %v", c.name, g)
		}
	}
}

// Frames are found among text, stray sync bytes and damage, whatever pieces the
// reader gives.
func TestFramesAmongDirt(t *testing.T) {
	var b []byte
	for i := range 40 {
		b = append(b, "$GNRMC,1,2*00\r\n\xb5\xb5\x62\xff"...)
		f := pvt(noon.Add(time.Duration(i)*time.Second), 0, int32(1000+i))
		if i == 20 {
			f[30] ^= 1
		}
		b = append(b, f...)
		b = append(b, "\xd3\x00\x13\x3e"...)
	}
	b = append(b, pvt(noon.Add(time.Hour), 0, 1)[:50]...)
	for name, r := range map[string]func() (*recording.Recording, error){
		"whole": func() (*recording.Recording, error) {
			return Read(context.Background(), bytes.NewReader(b), "x")
		},
		"bytes": func() (*recording.Recording, error) {
			return Read(context.Background(), iotest.OneByteReader(bytes.NewReader(b)), "x")
		},
	} {
		rec, err := r()
		if err != nil || rec.Primary().Len() != 39 {
			t.Fatalf("%s: %v, %d fixes", name, err, rec.Primary().Len())
		}
		g := rec.Problems.Groups()
		at := int64(20*(19+100+4) + 19)
		if len(g) != 1 || g[0].Kind != "checksum" || g[0].First().Byte != at {
			t.Errorf("%s: %+v at %d, want byte %d", name, g[0], g[0].First().Byte, at)
		}
	}
}

func TestTimeSteppingBack(t *testing.T) {
	b := append(pvt(noon, 0, 1), pvt(noon, 0, 2)...)
	b = append(b, pvt(noon.Add(-time.Second), 0, 3)...)
	r, err := Read(context.Background(), bytes.NewReader(b), "x")
	if err != nil || r.Primary().Len() != 2 {
		t.Fatal(err)
	}
	var kinds []string
	for _, g := range r.Problems.Groups() {
		kinds = append(kinds, g.Kind)
	}
	if d := cmp.Diff([]string{"time-repeated", "time-order"}, kinds); d != "" {
		t.Error(d)
	}
}

func TestErrors(t *testing.T) {
	gone := errors.New("medium is gone")
	if _, err := Read(context.Background(), iotest.ErrReader(gone), "x"); !errors.Is(err, gone) {
		t.Errorf("reader's error: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, bytes.NewReader(nil), "x"); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if _, err := Read(context.Background(), bytes.NewReader(enframe(10, 4, nil)), "x"); err == nil || err.Error() != "no fix: none of 1 UBX frames is NAV-PVT, HNR-PVT or NAV-VELNED" {
		t.Errorf("no solution: %v", err)
	}
}

// In mixed/pygpsdata-BADNMEAEOF.log a GGA of 08:02:48.00 gives 5327.04312 N,
// 00214.41389 W, 36.8 m, 7 satellites, beside the NAV-PVT of that instant.
func TestRealRecordingAgreesWithItsSentences(t *testing.T) {
	b, err := os.ReadFile("../../../../shared/data/mixed/pygpsdata-BADNMEAEOF.log")
	if err != nil {
		t.Skip("the folder of real recordings is absent")
	}
	r, err := Read(context.Background(), bytes.NewReader(b), "x")
	if err != nil || r.Primary().Len() != 2 {
		t.Fatal(err)
	}
	f := r.Primary().At(1)
	if d := f.Time.Sub(time.Date(2022, 1, 18, 8, 2, 48, 0, time.UTC)); d.Abs() > time.Millisecond {
		t.Errorf("time %v", f.Time)
	}
	for c, want := range map[recording.Column][2]float64{
		recording.LatDeg: {53 + 27.04312/60, 2e-7}, recording.LonDeg: {-(2 + 14.41389/60), 2e-7}, recording.Altitude: {36.8, 0.06}, recording.Satellites: {7, 0}} {
		if math.Abs(f.Q[c]-want[0]) > want[1] {
			t.Errorf("column %d: %v, want %v", c, f.Q[c], want[0])
		}
	}
	if v := math.Hypot(f.Q[recording.VelNorth], f.Q[recording.VelEast]); math.Abs(v-f.Q[recording.Speed]) > 0.001 {
		t.Errorf("speed %v, its components give %v", f.Q[recording.Speed], v)
	}
}

func readBytes(b []byte) (*recording.Recording, error) {
	return Read(context.Background(), bytes.NewReader(b), "")
}

// Every real recording, and damaged copies of it, is read without a panic, and
// what lies away from the damage is unchanged.
func TestMutants(t *testing.T) {
	want := map[string]int{"pygpsdata-BADNMEAEOF.log": 2, "pygpsdata-HNR.log": 13, "pygpsdata-MIXED.log": 39,
		"pygpsdata-MIXED2.log": 1, "pygpsdata-MIXED3.log": 3, "pygpsdata-MIXED3BADCK.log": 1}
	logs := testlog.Logs(t, "mixed/*")
	for _, name := range testlog.Names(logs) {
		b := logs[name]
		whole, _ := readBytes(b)
		n := 0
		if tr := whole.Primary(); tr != nil {
			n = tr.Len()
		}
		if n != want[filepath.Base(name)] {
			t.Errorf("%s: %d fixes", name, n)
		}
		testlog.Each(t, name, b, 100, readBytes, func(h testlog.Hurt, rec *recording.Recording, err error) {
			// A solution is 80 bytes or more; one whose time is ahead takes
			// another with it.
			if changed, lost := testlog.Loss(whole, rec); n > 20 && changed+lost > 6 {
				t.Errorf("%d fixes changed, %d of %d lost", changed, lost, n)
			}
		})
	}
}

// What reading takes stays in proportion also where every byte may begin a
// frame and every frame claims the longest payload.
func TestGrowth(t *testing.T) {
	for _, unit := range [][]byte{{sync1}, {sync1, sync2}, {sync1, sync2, 1, 7, 0, 4}, {sync1, sync2, 1, 7, 92, 0}, pvt(noon, 5, 1000)} {
		testlog.Growth(t, fmt.Sprintf("%x", unit[:min(6, len(unit))]), (1<<20)/len(unit), func(n int) []byte { return bytes.Repeat(unit, n) }, 8, readBytes)
	}
}

// FuzzRead reads any bytes: no panic, fixes in order and in range.
func FuzzRead(f *testing.F) {
	f.Add(pvt(noon, 5, 1000))
	f.Add(append(pvt(noon, 5, 1000), enframe(0x28, 0, make([]byte, 72))...))
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, _ := readBytes(b)
		if s := Sniff(b); s < 0 || s > 100 {
			t.Fatal(s)
		}
		testlog.Sound(t, rec)
	})
}

package ubx

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"os"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

// withoutPVT is a log without its NAV-PVT frames.
func withoutPVT(b []byte) (out []byte, removed int) {
	for len(b) > 0 {
		f, n, ok, _ := next(b, true)
		if ok && f.class == 1 && f.id == 7 {
			removed++
		} else {
			out = append(out, b[:n]...)
		}
		b = b[n:]
	}
	return out, removed
}

// A real log has both: what is put together from NAV-VELNED, NAV-POSLLH, NAV-SOL and
// NAV-TIMEUTC is what the receiver itself says in NAV-PVT at the same instants.
func TestSolutionsInPiecesAreThoseOfPVT(t *testing.T) {
	b, err := os.ReadFile("../../../../shared/data/mixed/pygpsdata-MIXED.log")
	if err != nil {
		if b, err = os.ReadFile("../../../../shared/data/ubx/pygpsdata-MIXED.log"); err != nil {
			t.Skip("the folder of real recordings is absent")
		}
	}
	whole, err := Read(context.Background(), bytes.NewReader(b), "x")
	if err != nil {
		t.Fatal(err)
	}
	bare, n := withoutPVT(b)
	parts, err := Read(context.Background(), bytes.NewReader(bare), "x")
	if err != nil || n == 0 {
		t.Fatal(err, n)
	}
	pvt, got := whole.Primary(), parts.Primary()
	if pvt.Name != "NAV-PVT" || got.Name != "NAV-VELNED" || got.Len() < 5 {
		t.Fatalf("%s of %d fixes, %s of %d", pvt.Name, pvt.Len(), got.Name, got.Len())
	}
	same := 0
	for i := range got.Len() {
		for k := range pvt.Len() {
			if d := got.TimeAt(i).Sub(pvt.TimeAt(k)); d.Abs() > 2*time.Millisecond {
				continue
			}
			same++
			for c, tol := range map[recording.Column]float64{recording.Speed: 0.0101, recording.VelNorth: 0.0101, recording.VelEast: 0.0101, recording.VelUp: 0.0101,
				recording.Course: 0.01, recording.SpeedSD: 0.0101, recording.LatDeg: 1e-7, recording.LonDeg: 1e-7, recording.Altitude: 0.002, recording.PosSD: 0.002} {
				a, b := got.Value(c, i), pvt.Value(c, k)
				if a == a && math.Abs(a-b) > tol {
					t.Errorf("column %d at %s: %g in pieces, %g in NAV-PVT", c, got.TimeAt(i), a, b)
				}
			}
		}
	}
	if same < got.Len() {
		t.Errorf("%d of %d instants are those of NAV-PVT", same, got.Len())
	}
}

// frameOf wraps a payload.
func frameOf(class, id byte, payload []byte) []byte {
	body := append([]byte{class, id, byte(len(payload)), byte(len(payload) >> 8)}, payload...)
	a, c := fletcher(body)
	return append(append([]byte{sync1, sync2}, body...), a, c)
}

func TestSolutionsInPiecesWithoutUTC(t *testing.T) {
	le := binary.LittleEndian
	var b []byte
	for i := range 20 {
		itow := uint32(36000000 + 100*i)
		vel := le.AppendUint32(nil, itow)
		for _, v := range []int32{0, 300, 0, 300, int32(100 * i), 9000000, 5, 100000} {
			vel = le.AppendUint32(vel, uint32(v))
		}
		sol := make([]byte, 52)
		le.PutUint32(sol, itow)
		le.PutUint16(sol[8:], 2423)
		sol[10], sol[11], sol[47] = 3, 0x0d, 11
		if i == 3 {
			sol[10] = 0
		}
		b = append(b, frameOf(1, 0x12, vel)...)
		if i != 4 {
			b = append(b, frameOf(1, 0x06, sol)...)
		}
		b = append(b, frameOf(1, 0x61, vel[:4])...)
	}
	rec, err := Read(context.Background(), bytes.NewReader(b), "x")
	if err != nil {
		t.Fatal(err)
	}
	// Week 2423 begins on 2026-06-14: 2,423 weeks after 1980-01-06.
	tr := rec.Primary()
	if f := tr.At(1); tr.Len() != 18 || !f.Time.Equal(time.Date(2026, 6, 14, 9, 59, 42, 1e8, time.UTC)) || f.Q[recording.Speed] != 1 ||
		f.Q[recording.Course] != 90 || f.Q[recording.VelEast] != 3 || f.Q[recording.SpeedSD] != 0.05 || f.Q[recording.Satellites] != 11 {
		t.Errorf("%d fixes, second %+v", tr.Len(), f)
	}
	kinds := map[string]int{}
	for _, g := range rec.Problems.Groups() {
		kinds[g.Kind] = g.Count
	}
	if kinds["no-fix"] != 1 || kinds["no-time"] != 1 || kinds["clock"] != 18 {
		t.Errorf("problems %v", kinds)
	}
}

// Measurements of a real receiver at rest feel one g.
func TestAccelerationOfESF(t *testing.T) {
	le := binary.LittleEndian
	var b []byte
	for i := range 40 {
		p := le.AppendUint32(nil, uint32(1000+20*i))
		p = le.AppendUint32(p, 0)
		for a, v := range []int32{-1024, 512, 10035} {
			p = le.AppendUint32(p, uint32(v)&0xffffff|uint32(16+a)<<24)
		}
		b = append(b, frameOf(0x10, 0x02, p)...)
	}
	for i := range 3 {
		b = append(b, pvt(noon.Add(time.Duration(i)*time.Second), 0, 1)...)
	}
	rec, err := Read(context.Background(), bytes.NewReader(b), "x")
	if err != nil {
		t.Fatal(err)
	}
	a := rec.Accel
	if a.Len() != 40 || !a.OwnClock || a.X[3] != -1 || a.Y[3] != 0.5 || math.Abs(a.Z[3]-9.8) > 1e-3 || a.NanoUTC[1]-a.NanoUTC[0] != 20e6 {
		t.Errorf("%d samples, %+v", a.Len(), a)
	}
}

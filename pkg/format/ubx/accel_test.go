package ubx

import (
	"bytes"
	"context"
	"encoding/binary"
	"math"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

// ins is an ESF-INS or HNR-INS after the layout of the public interface description: version
// and validity, reserved, time of week, three rates of turn, three accelerations.
func ins(class, id byte, itow uint32, flags uint16, cm ...int32) []byte {
	p := make([]byte, 36)
	binary.LittleEndian.PutUint16(p, flags)
	binary.LittleEndian.PutUint32(p[8:], itow)
	for a, v := range cm {
		binary.LittleEndian.PutUint32(p[24+4*a:], uint32(v))
	}
	return frameOf(class, id, p)
}

// Acceleration that the receiver made of its sensors lies on the clock of its solutions,
// here over the end of a GPS week; messages that are not valid are passed over.
func TestAccelerationOfINS(t *testing.T) {
	const valid = 0x3f01
	for name, high := range map[string]bool{"ESF-INS": false, "HNR-INS": true} {
		class, id := byte(0x10), byte(0x15)
		if high {
			class, id = 0x28, 0x02
		}
		var b []byte
		for i := range 60 {
			itow := uint32(weekTags - 500 + 20*i)
			b = append(b, ins(class, id, itow%weekTags, valid, int32(i), -250, 3)...)
			if i%10 == 0 {
				b = append(b, ins(class, id, itow%weekTags, 0x1f01, 999, 999, 999)...) // z is not valid
				b = append(b, ins(class, id, itow%weekTags, 0x3f02, 999, 999, 999)...) // another version
			}
		}
		b = append(b, ins(class, id, 20, valid, 1, 2, 3)...) // again what was
		for i := range 3 {
			p := pvt(noon.Add(time.Duration(i)*time.Second), 0, 1)
			p = p[6 : len(p)-2]
			binary.LittleEndian.PutUint32(p, uint32(200+1000*i))
			b = append(b, frameOf(1, 7, p)...)
		}
		rec, err := Read(context.Background(), bytes.NewReader(b), "x")
		if err != nil {
			t.Fatal(err)
		}
		a := rec.Accel
		if a.Len() != 60 || a.OwnClock || !a.GravityRemoved || a.X[59] != 0.59 || a.Y[0] != -2.5 || math.Abs(a.Z[7]-0.03) > 1e-12 {
			t.Fatalf("%s: %d samples, %+v", name, a.Len(), a)
		}
		// The 36th is 200 ms into the week, as the first solution is.
		if at := recording.Instant(a.NanoUTC[35]); !at.Equal(noon) || a.NanoUTC[1]-a.NanoUTC[0] != 20e6 {
			t.Errorf("%s: sample 35 is at %v, want %v", name, at, noon)
		}
		if got := rec.Problems.Groups(); len(got) != 1 || got[0].Kind != "time-backward" || got[0].Count != 1 {
			t.Errorf("%s: problems %+v", name, got)
		}
	}
}

package nmea

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// The sentence is that of the unit test unittest-pubx.c of github.com/coverclock/com-diag-hazer,
// whose speed, course, accuracy and dilution its field list names.
func TestPUBX00(t *testing.T) {
	const published = "$PUBX,00,180730.00,3948.04788,N,10510.62820,W,1703.346,G3,6528077,4616048,1.234,290.12,2.345,,1.23,4.56,7.89,4,0,0*4C\r\n"
	r := reading(t, published)
	f := r.Primary().At(0)
	for c, want := range map[recording.Column]float64{recording.Speed: 1.234 * unit.KMH, recording.Course: 290.12, recording.LatDeg: 39 + 48.04788/60,
		recording.LonDeg: -(105 + 10.62820/60), recording.HDOP: 1.23, recording.Satellites: 4, recording.PosSD: 6528077} {
		if math.Abs(f.Q[c]-want) > 1e-9*math.Abs(want) {
			t.Errorf("column %d: %g, want %g", c, f.Q[c], want)
		}
	}
	if got := f.Time.Format("15:04:05"); got != "18:07:30" || !r.Undated || r.Primary().Name != "PUBX,00" {
		t.Errorf("%s at %s, undated %v", r.Primary().Name, got, r.Undated)
	}
	none := reading2(t, sum("PUBX,00,180731.00,,,,,,NF,,,,,,,,,,0,0,0"))
	if len(none.Tracks) != 0 {
		t.Error("no fix gives a fix")
	}
	// Beside RMC its speed yields.
	both := reading(t, sum("GNRMC,180730.00,A,3948.04788,N,10510.62820,W,10.000,290.0,140626,,,A")+published)
	if v := both.Primary().Value(recording.Speed, 0); math.Abs(v-10*unit.Knot) > 1e-9 || both.Primary().Len() != 1 || both.Undated {
		t.Errorf("%g m/s in %d fixes", v, both.Primary().Len())
	}
}

// reading2 reads a log that may have no fix.
func reading2(t *testing.T, log string) *recording.Recording {
	t.Helper()
	r, _ := Read(t.Context(), strings.NewReader(log), "x", Options{})
	return r
}

// Without a position, speed is that of VTG and time that of ZDA, whichever comes first.
func TestVTGWithZDAAlone(t *testing.T) {
	for name, first := range map[string]bool{"VTG first": true, "ZDA first": false} {
		var log string
		for i := range 40 {
			v := sum(fmt.Sprintf("GPVTG,90.0,T,,M,%.3f,N,%.3f,K,A", float64(i), 1.852*float64(i)))
			z := sum(fmt.Sprintf("GPZDA,1015%02d.%d0,14,06,2026,00,00", i/10, i%10))
			if first {
				log += v + z
			} else {
				log += z + v
			}
		}
		r := reading(t, log)
		tr := r.Primary()
		if tr.Len() != 40 || r.Undated || tr.TimeAt(39).Format("2006-01-02T15:04:05.0") != "2026-06-14T10:15:03.9" {
			t.Errorf("%s: %d fixes to %s", name, tr.Len(), tr.TimeAt(tr.Len()-1))
			continue
		}
		for i := range 40 {
			if v := tr.Value(recording.Speed, i); math.Abs(v-float64(i)*unit.Knot) > 1e-9 {
				t.Fatalf("%s: fix %d has %g m/s", name, i, v)
			}
		}
		if problems(r)["vtg-order"] != 1 {
			t.Errorf("%s: %v", name, problems(r))
		}
	}
}

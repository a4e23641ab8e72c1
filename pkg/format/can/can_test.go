package can

import (
	"fmt"
	"io"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

// A payload by hand: bytes 2 and 3 hold 0x1234 in Intel order, 0x3412 in Motorola's.
// The bit numbers are those of database files of CAN: of Intel order the start is the
// lowest bit, of Motorola's the highest.
func TestSignalBits(t *testing.T) {
	p := []byte{0xff, 0x00, 0x34, 0x12, 0x80, 0x01, 0xf0, 0x0f}
	for form, want := range map[string]float64{
		"speed=0x1A0:16|16@le,unsigned*1+0:m/s": 0x1234,
		"speed=0x1A0:23|16@be,unsigned*1+0:m/s": 0x3412,
		"speed=416:39|8@be,signed*1:m/s":        -128,
		"speed=0x1A0:52|8@le,unsigned*1+0:m/s":  0xff,
		"speed=0x1A0:4|12@le,unsigned*1+0:m/s":  0x00f,
	} {
		s, err := parseSignal(form)
		if err != nil || s.id != 0x1a0 {
			t.Errorf("%s: %v", form, err)
			continue
		}
		if v, ok := s.raw(p); !ok || v != want {
			t.Errorf("%s: %g, want %g", form, v, want)
		}
		if _, ok := s.raw(p[:2]); ok && s.start > 16 {
			t.Errorf("%s: read from a short frame", form)
		}
	}
	for _, bad := range []string{"", "speed=Speed:km/h", "speed=0x1A0:16|99@le,unsigned*1+0:km/h", "speed=0x1A0:16|16@le,unsigned*0+0:km/h", "speed=0x1A0:16|16@le,unsigned*1+0:rpm"} {
		if _, err := parseSignal(bad); err == nil {
			t.Errorf("%s: taken", bad)
		}
	}
}

// candump's screen prints times from the epoch, from the first frame or as dates; times from
// the frame before are refused by name. Forms of can-utils' candump(1), -ta, -tz, -tA and -td.
func TestStampsOfCandump(t *testing.T) {
	const columns = "speed=0x1A0:16|16@le,unsigned*0.01+0:m/s"
	log := func(stamp func(i int) string) io.Reader {
		var b strings.Builder
		for i := range 200 {
			fmt.Fprintf(&b, " (%s)  can0  1A0   [8]  00 00 E8 03 00 00 00 00\n", stamp(i))
		}
		return strings.NewReader(b.String())
	}
	start := time.Date(2026, 6, 14, 9, 40, 0, 0, time.UTC)
	for name, c := range map[string]struct {
		stamp func(i int) string
		first time.Time
		clock string
	}{
		"-ta": {func(i int) string { return fmt.Sprintf("%d.%02d0000", start.Unix()+int64(i/50), i%50*2) }, start, "utc"},
		"-tA": {func(i int) string {
			return start.Add(time.Duration(20*i) * time.Millisecond).Format("2006-01-02 15:04:05.000000")
		}, start, "utc"},
		"-tz": {func(i int) string { return fmt.Sprintf("%03d.%02d0000", i/50, i%50*2) }, recording.Epoch0, "elapsed"},
	} {
		rec, err := Read(t.Context(), log(c.stamp), "x", columns)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		tr := rec.Primary()
		if !tr.TimeAt(0).Equal(c.first) || tr.Len() != 200 || tr.TimeAt(199).Sub(tr.TimeAt(0)) != 3980*time.Millisecond || rec.Clock != c.clock || tr.Value(recording.Speed, 7) != 10 {
			t.Errorf("%s: %d fixes from %v to %v, clock %s", name, tr.Len(), tr.TimeAt(0), tr.TimeAt(tr.Len()-1), rec.Clock)
		}
	}
	_, err := Read(t.Context(), log(func(i int) string { return fmt.Sprintf("000.020%03d", i*7919%1000) }), "x", columns)
	if err == nil || !strings.Contains(err.Error(), "stamps that count from the frame before") {
		t.Errorf("-td: %v", err)
	}
}

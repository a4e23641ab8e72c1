package format

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

func TestLogsOfABus(t *testing.T) {
	const columns = "speed=0x1A0:16|16@le,unsigned*0.01+0:km/h"
	// The first lines are in the forms of can-utils' candump(1), with -l and with -ta,
	// and of the ASCII trace that its log2asc writes.
	for name, c := range map[string]struct {
		head, form, clock string
	}{
		"candump -l":       {"", "(%.6[1]f) can0 1A0#0000%02[2]X%02[3]X00000000\n", "utc"},
		"candump -ta":      {"", " (%.6[1]f)  can0  1A0   [8]  00 00 %02[2]X %02[3]X 00 00 00 00\n", "utc"},
		"candump -l, FD":   {"", "(%.6[1]f) can0 1A0##10000%02[2]X%02[3]X00000000\n", "utc"},
		"ASCII trace":      {"date Sun Jun 14 10:00:00 2026\nbase hex  timestamps absolute\nno internal events logged\n", "%11.6[4]f 1  1A0             Rx   d 8 00 00 %02[2]X %02[3]X 00 00 00 00\n", "utc"},
		"without the date": {"", "(%.6[4]f) vcan0 1A0#0000%02[2]X%02[3]X00000000\n", "elapsed"},
	} {
		var b strings.Builder
		b.WriteString(c.head)
		for i := range 300 {
			raw := 10 * i // 0.1 km/h a frame
			fmt.Fprintf(&b, c.form, 1781430000+float64(i)/50, raw&255, raw>>8, float64(i)/50)
			fmt.Fprintf(&b, strings.ReplaceAll(c.form, "1A0", "2B0"), 1781430000+float64(i)/50+0.001, 7, 7, float64(i)/50+0.001)
		}
		log, err := Read(t.Context(), strings.NewReader(b.String()), "bus.log", Options{Columns: columns})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		tr := log.Recording.Primary()
		if tr.Len() != 300 || log.Recording.Clock != c.clock || tr.Source != recording.Wheel || tr.TimeAt(50).Sub(tr.TimeAt(0)).Seconds() != 1 {
			t.Errorf("%s: %d fixes, clock %s", name, tr.Len(), log.Recording.Clock)
		}
		if v := tr.Value(recording.Speed, 250); math.Abs(v-25*unit.KMH) > 1e-9 {
			t.Errorf("%s: %g m/s", name, v)
		}
		if c.clock == "utc" && tr.TimeAt(0).Format("2006-01-02T15:04") != map[bool]string{true: "2026-06-14T10:00", false: "2026-06-14T09:40"}[c.head != ""] {
			t.Errorf("%s: begins %s", name, tr.TimeAt(0))
		}
		if _, err := Read(t.Context(), strings.NewReader(b.String()), "bus.log", Options{}); err == nil || !strings.Contains(err.Error(), "needs the signal that is the speed") {
			t.Errorf("%s without a signal: %v", name, err)
		}
		if _, err := Read(t.Context(), strings.NewReader(b.String()), "bus.log", Options{Columns: strings.Replace(columns, "1A0", "3C0", 1)}); err == nil || !strings.Contains(err.Error(), "none of 600 frames has the identifier 0x3C0") {
			t.Errorf("%s with another: %v", name, err)
		}
	}
}

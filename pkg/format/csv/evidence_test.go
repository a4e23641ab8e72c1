package csv

import (
	"fmt"
	"strings"
	"testing"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/recording"
)

// steadyRows is a table of 300 rows at 10 Hz.
func steadyRows(head, row string) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for i := range 300 {
		fmt.Fprintf(&b, row+"\n", 1781430000+float64(i)/10, 20+float64(i)/100)
	}
	return b.String()
}

// A count from 1970 is the clock, whatever the name of the video beside it says.
func TestAVideosNameIsNoClock(t *testing.T) {
	for _, c := range []struct{ head, row string }{
		{"ts,file,speed (km/h)", "%.1f,GX010123_20260614_101500.mp4,%g"},
		{"#,file time,speed (km/h)", "%.1f,2026-06-14 10:15:00,%g"},
		{"position in s,video time,speed (km/h)", "%.1f,20260614_101500,%g"},
		{"count,video timestamp,speed (km/h)", "%.1f,2026-06-14T10:15:00Z,%g"},
	} {
		rec, err := Read(t.Context(), strings.NewReader(steadyRows(c.head, c.row)), "x", Options{})
		if err != nil {
			t.Errorf("%s: %v", c.head, err)
			continue
		}
		if tr := rec.Primary(); rec.Clock != clock.UTC || tr.Len() != 300 || tr.TimeAt(299).UnixMilli() != 1781430029900 {
			t.Errorf("%s: clock %s, %d fixes to %s", c.head, rec.Clock, tr.Len(), tr.TimeAt(tr.Len()-1))
		}
	}
}

// The course is the way over ground where the table has it beside the heading.
func TestTrackGoesBeforeHeading(t *testing.T) {
	for _, names := range []string{"heading,track", "Heading (deg),Track (deg)", "gps_heading,gps_track", "heading,true_track",
		"heading,ground_track", "Heading,Track angle", "heading,Track made good", "yaw heading,COG", "headVeh,headMot"} {
		rec, err := Read(t.Context(), strings.NewReader(steadyRows("time,speed (m/s),"+names, "%.1f,%g,11,22")), "x", Options{})
		if err != nil {
			t.Errorf("%s: %v", names, err)
			continue
		}
		if v := rec.Primary().Value(recording.Course, 100); v != 22 {
			t.Errorf("%s: course %g", names, v)
		}
	}
}

// A hint names what is wrong, and where, not what the user has said already.
func TestHintsNameTheReason(t *testing.T) {
	for name, c := range map[string]struct{ in, columns, want string }{
		"said already": {"Utc,Speed (km/h)\n" + strings.Repeat("x1,20\n", 50), "time=Utc:ms",
			`column "Utc" is no clock: its cells cannot be read as ms: row 1 has "x1"`},
		"to and fro": {"Utc,Speed (km/h)\n" + strings.Repeat("9000,20\n1000,21\n", 50), "time=Utc:ms",
			`column "Utc" is no clock: it steps back in 50 % of the rows, first in row 2, from "9000" to "1000"`},
	} {
		_, err := Read(t.Context(), strings.NewReader(c.in), "x", Options{Columns: c.columns})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %s", name, err, c.want)
		}
	}
}

package csv

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"fromrest/pkg/diag"
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

// A cell's own unit goes before that of most others of its column, which are said to be in
// another one; a user's unit goes before both.
func TestCellsOfSeveralUnits(t *testing.T) {
	var b strings.Builder
	b.WriteString("time,speed,ax\n")
	for i := range 300 {
		cells := "72 km/h,0.5 g"
		if i%3 == 0 {
			cells = "20 m/s,4.903325 m/s2"
		}
		fmt.Fprintf(&b, "%.1f,%s\n", 1781430000+float64(i)/10, cells)
	}
	rec, err := Read(t.Context(), strings.NewReader(b.String()), "x", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for i, v := range rec.Primary().Col(recording.Speed) {
		if math.Abs(v-20) > 1e-9 || !(math.Abs(rec.Accel.X[i]-4.903325) < 1e-9) {
			t.Fatalf("row %d: %g m/s, %g m/s²", i, v, rec.Accel.X[i])
		}
	}
	n := 0
	for _, g := range rec.Problems.Groups() {
		if g.Kind == "unit" && g.Effect == diag.Suspect {
			n += g.Count
		}
	}
	if n != 200 {
		t.Errorf("%d cells said to be in another unit, want 200", n)
	}
	rec, err = Read(t.Context(), strings.NewReader(b.String()), "x", Options{Columns: "speed=speed:km/h"})
	if err != nil || math.Abs(rec.Primary().Value(recording.Speed, 0)-20/3.6) > 1e-9 {
		t.Errorf("the user's unit: %v", err)
	}
}

// A leap second is no time: its rows are dropped and counted, and the next second's are kept.
func TestALeapSecondIsNoTime(t *testing.T) {
	for _, form := range []string{"2016-12-31T23:59:%02d.%dZ", "31.12.2016 23:59:%02d.%d", "20161231T2359%02d.%dZ", "2016-12-31 23:59:%02d.%d"} {
		var b strings.Builder
		b.WriteString("time,speed (km/h)\n")
		for i := range 110 {
			fmt.Fprintf(&b, form+",36\n", 50+i/10, i%10)
		}
		next := strings.NewReplacer("2016-12-31", "2017-01-01", "31.12.2016", "01.01.2017", "20161231", "20170101", "23:59", "00:00", "2359", "0000").Replace(form)
		for i := range 100 {
			fmt.Fprintf(&b, next+",72\n", i/10, i%10)
		}
		rec, err := Read(t.Context(), strings.NewReader(b.String()), "x", Options{})
		if err != nil {
			t.Errorf("%s: %v", form, err)
			continue
		}
		tr := rec.Primary()
		if at := tr.TimeAt(100).Format("15:04:05.0"); tr.Len() != 200 || tr.Value(recording.Speed, 100) != 20 || at != "00:00:00.0" || rec.Problems.Count(diag.Dropped) != 10 {
			t.Errorf("%s: %d fixes, the 101st at %s with %g m/s, %d dropped", form, tr.Len(), at, tr.Value(recording.Speed, 100), rec.Problems.Count(diag.Dropped))
		}
	}
}

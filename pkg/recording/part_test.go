package recording

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

func TestBoundsAreReadAsPeopleWriteThem(t *testing.T) {
	for in, want := range map[string]string{
		"":                            "",
		"09:21":                       "09:21:00",
		"09:21:30.25":                 "09:21:30.25",
		"95.5":                        "95.5",
		"12m30s":                      "750",
		"2026-06-14T09:21:30":         "2026-06-14T09:21:30",
		"2026-06-14 09:21":            "2026-06-14T09:21:00",
		"2026-06-14T11:21:30.5+02:00": "2026-06-14T09:21:30.5",
	} {
		b, err := ParseBound(in, nil)
		if err != nil || b.String() != want {
			t.Errorf("%q: %s, %v; want %s", in, b, err, want)
		}
		if again, err := ParseBound(b.String(), nil); err != nil || again != b {
			t.Errorf("%q: printed as %q, which is read as %+v", in, b, again)
		}
	}
	for _, bad := range []string{"noon", "25:00", "1e30", "NaN", "2026-13-01T00:00"} {
		if b, err := ParseBound(bad, nil); err == nil || strings.Contains(err.Error(), "\n") {
			t.Errorf("%q: %v, %v", bad, b, err)
		}
	}
}

// A log of one fix a second from start for an hour, and which of it is taken.
func TestCutFindsTheDayOfATime(t *testing.T) {
	day := time.Date(2026, 6, 14, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		start    time.Time
		from, to string
		first, n int // s since the start
	}{
		{day.Add(9 * time.Hour), "", "", 0, 3600},
		{day.Add(9 * time.Hour), "09:10", "09:20", 600, 600},
		{day.Add(9 * time.Hour), "08:00", "09:01", 0, 60},
		{day.Add(9 * time.Hour), "600", "", 600, 3000},
		{day.Add(9 * time.Hour), "", "12.5", 0, 13},
		{day.Add(9 * time.Hour), "2026-06-14T09:59:00", "23:59", 3540, 60},
		{day.Add(9 * time.Hour), "2026-06-15T09:00:00", "", 0, 0},
		{day.Add(23*time.Hour + 45*time.Minute), "23:50", "00:10", 300, 1200},
		{day.Add(23*time.Hour + 45*time.Minute), "00:05", "", 1200, 2400},
		{Epoch0.Add(9 * time.Hour), "09:10", "09:20", 600, 600},
		{Epoch0, "00:01", "90", 60, 30},
	} {
		from, _ := ParseBound(c.from, nil)
		to, _ := ParseBound(c.to, nil)
		cut := Cut{Part: Part{From: from, To: to}}
		first, n := 0, 0
		for i := range 3600 {
			if cut.Take(Nano(c.start.Add(time.Duration(i) * time.Second))) {
				if n == 0 {
					first = i
				}
				n++
			}
		}
		if first != c.first || n != c.n {
			t.Errorf("%s, %q to %q: %d s from %d, want %d from %d", c.start, c.from, c.to, n, first, c.n, c.first)
		}
		if n == 0 {
			want := fmt.Sprintf("no fix from %s to its end: the log goes from 2026-06-14 09:00:00 to 2026-06-14 09:59:59", c.from)
			if err := cut.Nothing(); err == nil || err.Error() != want {
				t.Errorf("%v, want %s", err, want)
			}
		}
	}
}

// TestBoundsInAZone reads times by the clock on the wall: summer and winter, and the hour in
// which the one becomes the other. A time with a zone of its own keeps it, and a log without a
// date has a clock of its own.
func TestBoundsInAZone(t *testing.T) {
	zone, err := time.LoadLocation("Europe/Athens")
	if err != nil {
		t.Skip("no time zones on this machine")
	}
	utc := func(s string) time.Time {
		at, err := time.Parse("2006-01-02 15:04", s)
		if err != nil {
			t.Fatal(err)
		}
		return at
	}
	for _, c := range []struct{ start, text, want string }{
		{"2026-06-14 09:00", "12:21", "2026-06-14 09:21"},
		{"2026-01-14 09:00", "11:21", "2026-01-14 09:21"},
		{"2026-06-14 21:50", "01:05", "2026-06-14 22:05"},
		{"2026-10-25 00:30", "05:00", "2026-10-25 03:00"}, // clocks went back at 01:00 UTC
		{"2026-06-14 09:00", "2026-06-14T12:21", "2026-06-14 09:21"},
		{"2026-06-14 09:00", "2026-06-14T12:21+01:00", "2026-06-14 11:21"},
		{"0001-01-01 09:00", "09:21", "0001-01-01 09:21"},
	} {
		b, err := ParseBound(c.text, zone)
		if err != nil {
			t.Fatal(err)
		}
		if got := Instant(b.nano(Nano(utc(c.start)))); !got.Equal(utc(c.want)) {
			t.Errorf("%s in a log from %s: %s, want %s", c.text, c.start, got, c.want)
		}
	}
}

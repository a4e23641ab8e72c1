package format

import (
	"context"
	"fmt"
	"path/filepath"
	"strings"
	"testing"

	"fromrest/pkg/recording"
)

// rows is a table of a header and n rows.
func rows(head string, n int, at func(i int) string) string {
	var b strings.Builder
	b.WriteString(head + "\n")
	for i := range n {
		b.WriteString(at(i) + "\n")
	}
	return b.String()
}

// utcAccel is an accelerometer's log in UTC from some second of a minute on.
func utcAccel(from, n int) string {
	return rows("utc_ms,ax_mps2,ay_mps2,az_mps2", n, func(i int) string {
		return fmt.Sprintf("%d,0.1,%g,9.81", 1781430000000+int64(from)*1000+int64(i)*20, 0.01*float64(i%7))
	})
}

func utcSpeed(from, n int) string {
	return rows("utc_ms,speed_mps", n, func(i int) string {
		return fmt.Sprintf("%d,%g", 1781430000000+int64(from)*1000+int64(i)*100, 3+0.01*float64(i))
	})
}

func joined(t *testing.T, with string, several bool, log string) (*Companion, *recording.Recording) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "accel.csv")
	write(t, path, with)
	// The mapping is the log's, which the companion does not follow.
	c, err := OpenCompanion(context.Background(), path, Options{Columns: "time=a:s,speed=b:km/h"})
	if err != nil {
		t.Fatal(err)
	}
	c.Several = several
	l, err := Read(context.Background(), strings.NewReader(log), "log.csv", Options{With: c})
	if err != nil {
		t.Fatal(err)
	}
	return c, l.Recording
}

func TestCompanionOnTheSameClock(t *testing.T) {
	// Five minutes of samples beside ten seconds of speed: 70 s are kept.
	c, rec := joined(t, utcAccel(0, 15000), true, utcSpeed(120, 100))
	if n := rec.Accel.Len(); n < 3490 || n > 3510 || rec.Accel.OwnClock || c.Joined() != 1 {
		t.Errorf("%d samples, own clock %v, joined %d", n, rec.Accel.OwnClock, c.Joined())
	}
	c, rec = joined(t, utcAccel(0, 1000), true, utcSpeed(300, 100))
	if rec.Accel != nil || c.Joined() != 0 || c.Why() != "they were made at other times" {
		t.Errorf("samples of another time: %v, %s", rec.Accel, c.Why())
	}
}

func TestCompanionOnItsOwnClock(t *testing.T) {
	elapsed := rows("t_s,ax_mps2,ay_mps2,az_mps2", 1000, func(i int) string { return fmt.Sprintf("%.2f,0.1,%g,9.81", float64(i)*0.02, 0.01*float64(i%7)) })
	c, rec := joined(t, elapsed, false, utcSpeed(0, 100))
	if rec.Accel.Len() != 1000 || !rec.Accel.OwnClock || c.Joined() != 1 {
		t.Errorf("%d samples, joined %d", rec.Accel.Len(), c.Joined())
	}
	// The companion itself is not changed by being joined.
	if c.rec.Accel.OwnClock {
		t.Error("the companion's own samples changed")
	}
	c, rec = joined(t, elapsed, true, utcSpeed(0, 100))
	if rec.Accel != nil || !strings.Contains(c.Why(), "only a single log") {
		t.Errorf("with several logs: %v, %s", rec.Accel, c.Why())
	}
}

func TestCompanionTakesThePlaceOfTheLogsOwn(t *testing.T) {
	both := rows("utc_ms,speed_mps,ax_mps2,ay_mps2,az_mps2", 500, func(i int) string {
		return fmt.Sprintf("%d,%g,0.5,0.5,%g", 1781430000000+int64(i)*100, 3+0.01*float64(i), 9.7+0.01*float64(i%5))
	})
	_, rec := joined(t, utcAccel(0, 2000), true, both)
	if rec.Accel.Len() != 2000 {
		t.Errorf("%d samples", rec.Accel.Len())
	}
	said := false
	for _, g := range rec.Problems.Groups() {
		said = said || g.Kind == "companion" && strings.Contains(g.First().Text, "takes the place")
	}
	if !said {
		t.Error("nothing is said of it")
	}
}

func TestCompanionErrors(t *testing.T) {
	dir := t.TempDir()
	for name, c := range map[string]struct{ in, want string }{
		"speed.csv": {utcSpeed(0, 50), "no acceleration in it"},
		"words.txt": {"words about the day\n", "not a log"},
	} {
		path := filepath.Join(dir, name)
		write(t, path, c.in)
		_, err := OpenCompanion(context.Background(), path, Options{})
		if err == nil || !strings.HasPrefix(err.Error(), path+": ") || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

package csv

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

func readBytes(b []byte) (*recording.Recording, error) {
	return Read(context.Background(), bytes.NewReader(b), "log.csv", Options{})
}

// Damage at one place must cost no more than a few fixes near it.
func TestDamageStaysWhereItIs(t *testing.T) {
	logs := testlog.Logs(t, "csv/*.csv", "csv/*/*.csv")
	for _, name := range testlog.Names(logs) {
		head := bytes.IndexByte(logs[name], '\n')
		testlog.Damage(t, name, logs[name], 40, readBytes, 0, func(c testlog.Copy) string {
			switch changed, lost := testlog.Loss(c.Whole, c.Rec); {
			case c.Hurt.At <= head: // a damaged header may be refused
			case c.Err != nil:
				return c.Err.Error()
			case (c.Whole.Primary() == nil) != (c.Rec.Primary() == nil):
				return "the track is lost"
			case lost > 45 || changed > 6+c.Hurt.Len/30:
				return fmt.Sprintf("%d fixes lost, %d changed", lost, changed)
			}
			return ""
		})
	}
}

func FuzzRead(f *testing.F) {
	for _, l := range loggers {
		f.Add(l.write(drive(l.hz, 12)))
	}
	f.Add([]byte("time;speed\n\"1\";\"\n\x00\xff\n"))
	f.Add([]byte("a\n1\n2\n3\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		rec, _ := Read(context.Background(), bytes.NewReader(b), "log.csv", Options{})
		testlog.Sound(t, rec)
		Sniff(b)
	})
}

func FuzzMapping(f *testing.F) {
	f.Add("time=utc_ms:ms,speed=Speed:km/h")
	f.Add(`speed="Speed, GPS: raw":mph,time=#1:s`)
	f.Fuzz(func(t *testing.T, s string) {
		if m, err := ParseMapping(s); err == nil && len(m.Columns) == 0 {
			t.Error("an empty mapping was taken")
		}
		if m, err := ReadMapping(strings.NewReader(s), "logger.toml"); err == nil && m == nil {
			t.Error("no mapping and no error")
		}
	})
}

func TestReadersErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "no table of numbers"},
		{"prose", "It was a fine morning.\nThe van stood on the airfield.\n", "no table of numbers"},
		{"no unit", "time_s,Speed\n" + rowsOf("%.1f,%.2f\n", 50, func(i int) []any { return []any{float64(i) / 10, float64(i) * 0.37} }),
			`log.csv: line 1: the unit of column "Speed" cannot be told (neither its header nor the other columns give it); say it with --columns 'speed=Speed:km/h'`},
		{"no time", "Speed (km/h),rpm\n" + rowsOf("%.2f,%d\n", 50, func(i int) []any { return []any{float64(i%9) * 0.37, 800} }),
			`log.csv: line 1: no column with the time was found among "Speed (km/h)", "rpm"; say it with --columns 'time=COLUMN:s'`},
		{"nothing to use", "time_s,Coolant,Oil\n" + rowsOf("%.1f,%d,%d\n", 50, func(i int) []any { return []any{float64(i) / 10, i % 7, 90 - i%3} }),
			`log.csv: line 1: no speed, position or acceleration among the columns "time_s", "Coolant", "Oil"; say which it is with --columns 'speed=COLUMN:km/h'`},
	} {
		rec, err := Read(context.Background(), strings.NewReader(c.text), "log.csv", Options{})
		if err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: error %v, want %s", c.name, err, c.want)
		}
		if err != nil && strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: more than one line", c.name)
		}
		if rec == nil {
			t.Errorf("%s: no recording", c.name)
		}
	}
}

// A line that is too long is no row, and costs no other.
func TestLongLinesAreDropped(t *testing.T) {
	rows := rowsOf("%.1f,%.2f\n", 50, func(i int) []any { return []any{float64(i) / 10, float64(i)} })
	for _, size := range []int{70_000, 3_000_000} {
		rec, err := readBytes([]byte("time_s,speed_kmh\n" + rows + strings.Repeat("7", size) + "\n5.0,50\n"))
		if err != nil {
			t.Fatal(err)
		}
		g := rec.Problems.Groups()
		if rec.Primary().Len() != 51 || len(g) != 1 || g[0].Kind != "row" || g[0].Count != 1 || g[0].First().Line != 52 {
			t.Errorf("%d bytes: %d fixes, problems %v", size, rec.Primary().Len(), g)
		}
	}
}

func rowsOf(format string, n int, row func(i int) []any) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, format, row(i)...)
	}
	return b.String()
}

type failing struct{ r io.Reader }

func (f failing) Read(b []byte) (int, error) {
	n, err := f.r.Read(b)
	if errors.Is(err, io.EOF) {
		err = errors.New("the card was pulled out")
	}
	return n, err
}

func TestWhatWasReadSurvivesAReadError(t *testing.T) {
	text := benchTable(40_000)
	rec, err := Read(context.Background(), failing{bytes.NewReader(text)}, "log.csv", Options{})
	if err == nil || !strings.Contains(err.Error(), "pulled out") {
		t.Errorf("error %v", err)
	}
	if tr := rec.Primary(); tr == nil || tr.Len() < 39_000 {
		t.Error("the rows before the error are lost")
	}
}

func TestReadStopsWhenCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Read(ctx, bytes.NewReader(benchTable(40_000)), "log.csv", Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("error %v", err)
	}
}

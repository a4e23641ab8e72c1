package csv

import (
	"bytes"
	"context"
	"slices"
	"testing"

	"fromrest/pkg/recording"
)

// The mapping that is printed reads the table as it was read without one.
func TestTheMappingFoundRepeatsTheReading(t *testing.T) {
	n := 0
	for _, l := range loggers {
		text := l.write(drive(l.hz, 600))
		rec, err := Read(context.Background(), bytes.NewReader(text), "log.csv", l.opts)
		if err != nil || rec.Columns == "" {
			t.Errorf("%s: %q, %v", l.name, rec.Columns, err)
			continue
		}
		again, err := Read(context.Background(), bytes.NewReader(text), "log.csv", Options{Columns: rec.Columns})
		if err != nil {
			t.Errorf("%s, %s: %v", l.name, rec.Columns, err)
			continue
		}
		n++
		a, b := rec.Primary(), again.Primary()
		same := func(x, y float64) bool { return x == y || x != x && y != y }
		if again.Columns != rec.Columns || rec.Clock != again.Clock || !slices.Equal(a.Nanos(), b.Nanos()) ||
			!slices.EqualFunc(a.Col(recording.Speed), b.Col(recording.Speed), same) || !slices.EqualFunc(a.Col(recording.LatDeg), b.Col(recording.LatDeg), same) {
			t.Errorf("%s: %s gives %s", l.name, rec.Columns, again.Columns)
		}
	}
	if n < 20 {
		t.Errorf("only %d loggers", n)
	}
}

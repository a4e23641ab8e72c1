package nmea

import (
	"bytes"
	"context"
	"errors"
	"math"
	"testing"

	"fromrest/pkg/recording"
	"fromrest/pkg/testlog"
)

// drained reads a log whose fixes go away while they come, and puts them together again.
func drained(b []byte) (*recording.Recording, int, error) {
	kept := &recording.Track{}
	gone := 0
	keep := func(t *recording.Track, n int) {
		for i := range n {
			f := t.At(i)
			kept.AppendNano(t.NanoAt(i), &f.Q)
		}
	}
	d := &recording.Drain{Every: 8, Take: func(t *recording.Track) int {
		n := t.Len() / 2
		keep(t, n)
		gone += n
		return n
	}}
	rec, err := Read(context.Background(), bytes.NewReader(b), "x", Options{Drain: d, Size: int64(len(b))})
	if t := rec.Primary(); t != nil {
		keep(t, t.Len())
		whole := recording.TrackOf(kept.Nanos(), columnsOf(kept))
		whole.Source, whole.Name, whole.SpeedStep, whole.SpeedUnit, whole.TimeStep = t.Source, t.Name, t.SpeedStep, t.SpeedUnit, t.TimeStep
		rec.Tracks = []*recording.Track{whole}
	}
	return rec, gone, err
}

func columnsOf(t *recording.Track) (cols [recording.Columns][]float64) {
	for c := range cols {
		cols[c] = t.Col(recording.Column(c))
	}
	return cols
}

// A log whose fixes go away while it is read gives what it gives whole, or says that its time
// steps.
func TestDrained(t *testing.T) {
	logs := dataFiles(t)
	logs["a drive"] = drive(400)
	took, stepped := 0, 0
	for name, b := range logs {
		testlog.Each(t, name, b, 20, func(b []byte) (*recording.Recording, error) {
			whole, failed := Read(context.Background(), bytes.NewReader(b), "x", Options{})
			rec, gone, err := drained(b)
			if gone > 0 {
				took++
			}
			switch {
			case errors.Is(err, recording.ErrOutOfOrder):
				stepped++
				return whole, failed
			case whole.Primary() == nil:
				return whole, failed
			}
			if a, b := testlog.Dump(whole, failed), testlog.Dump(rec, err); a != b {
				t.Errorf("%s: drained it is\n%.800s\nwhole\n%.800s", name, b, a)
			}
			return whole, failed
		}, func(testlog.Hurt, *recording.Recording, error) {})
	}
	if took == 0 || stepped == 0 {
		t.Errorf("%d logs were drained, of %d time stepped", took, stepped)
	}
}

// Nothing goes of a log without a date, whose fixes are moved when it is known, and of one
// with acceleration, which is placed between them.
func TestNothingIsDrainedThatMoves(t *testing.T) {
	var undated, felt bytes.Buffer
	for i := range 100 {
		undated.WriteString(sum("GPGGA,1015" + two2(i/10) + "." + two2(i%10*10) + ",5212.34567,N,00112.65432,W,1,12,0.78,88.4,M,45.3,M,,"))
	}
	for line := range bytes.Lines(drive(100)) {
		felt.Write(line)
		felt.WriteString(sum("IIXDR,G,0.512,g,ACCX,G,-0.25,G,ACCY,G,1,g,ACCZ"))
	}
	for name, b := range map[string][]byte{"undated": undated.Bytes(), "with acceleration": felt.Bytes()} {
		if rec, gone, err := drained(b); err != nil || gone > 0 || rec.Primary().Len() != 100 || math.IsNaN(rec.Primary().Value(recording.LatDeg, 99)) {
			t.Errorf("%s: %d of %d went, %v", name, gone, rec.Primary().Len(), err)
		}
	}
}

func two2(n int) string { return string([]byte{'0' + byte(n/10), '0' + byte(n%10)}) }

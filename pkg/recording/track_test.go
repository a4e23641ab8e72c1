package recording

import (
	"math"
	"testing"
	"time"

	"fromrest/pkg/diag"
)

func TestTrackOrderAndAbsence(t *testing.T) {
	var tr Track
	at := Epoch0.Add(9 * time.Hour) // an undated day
	for i, sec := range []int{0, 1, 1, 0, 2} {
		f := NewFix(at.Add(time.Duration(sec) * time.Second))
		if sec == 2 {
			f.Q[Speed] = 0
		}
		if got, want := tr.Append(&f), i != 2 && i != 3; got != want {
			t.Errorf("fix %d taken: %v, want %v", i, got, want)
		}
	}
	if tr.Len() != 3 || !math.IsNaN(tr.Value(Speed, 1)) || tr.Value(Speed, 2) != 0 || tr.Has(Course) {
		t.Errorf("track holds %d fixes, speeds %v", tr.Len(), tr.Col(Speed))
	}
	if got := tr.TimeAt(2); !got.Equal(at.Add(2 * time.Second)) {
		t.Errorf("undated instant comes back as %s", got)
	}
}

func TestSequenceDropsLeap(t *testing.T) {
	var tr Track
	var l diag.List
	s := Sequence{Track: &tr, Problems: &l}
	for i, sec := range []int{0, 1, 900, 2, 2, 3} {
		f := NewFix(time.Unix(int64(1e9+sec), 0).UTC())
		s.Add(&f, Place{Line: i + 1})
	}
	s.Close()
	gs := l.Groups()
	if tr.Len() != 4 || len(gs) != 2 || gs[1].Kind != "time-leap" || gs[1].First().Line != 3 || gs[0].Kind != "time-repeated" {
		t.Errorf("%d fixes, %d kinds of problems", tr.Len(), len(gs))
	}
}

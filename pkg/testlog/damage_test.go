package testlog

import (
	"bytes"
	"math/rand/v2"
	"testing"
	"time"

	"fromrest/pkg/recording"
)

func TestMutateHurtsOnlyWhereItSays(t *testing.T) {
	b := bytes.Repeat([]byte("0123456789abcdef"), 60)
	rng := rand.New(rand.NewPCG(1, 2))
	seen := map[string]int{}
	for range 600 {
		keep := bytes.Clone(b)
		m, h := Mutate(rng, b)
		seen[h.How]++
		if !bytes.Equal(b, keep) {
			t.Fatalf("%s changes the original", h.How)
		}
		if !bytes.Equal(m[:h.At], b[:h.At]) || !bytes.HasSuffix(m, b[h.At+h.Len:]) {
			t.Fatalf("%+v changes other bytes", h)
		}
	}
	if len(seen) != 6 {
		t.Errorf("only %v", seen)
	}
}

func TestLossCountsWhatIsMissing(t *testing.T) {
	log := func(speeds ...float64) *recording.Recording {
		tr := &recording.Track{}
		for i, v := range speeds {
			if v < 0 {
				continue
			}
			f := recording.NewFix(time.Unix(1e9+int64(i), 0).UTC())
			f.Q[recording.Speed] = v
			tr.Append(&f)
		}
		return &recording.Recording{Tracks: []*recording.Track{tr}}
	}
	if c, l := Loss(log(1, 2, 3, 4), log(1, -1, 3.5, 4, 5)); c != 2 || l != 1 {
		t.Errorf("%d changed, %d lost, want 2 and 1", c, l)
	}
}

func TestAllocatedCounts(t *testing.T) {
	var keep []byte
	if n := Allocated(func() { keep = make([]byte, 3<<20) }); n < 3<<20 || n > 4<<20 {
		t.Errorf("3 MiB are counted as %d bytes", n)
	}
	_ = keep
}

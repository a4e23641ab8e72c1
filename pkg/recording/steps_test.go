package recording

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"fromrest/pkg/diag"
)

// years is how far ahead a receiver is that has not seen the date yet.
const years = 20 * 365 * 24 * time.Hour

// run is the instants of n fixes at 10 Hz from a second after noon on.
func run(from time.Duration, n int) []time.Duration {
	at := make([]time.Duration, n)
	for i := range at {
		at[i] = from + time.Duration(i)*100*time.Millisecond
	}
	return at
}

// sequenced is the track of fixes at these instants, whose speed is their place in
// the log, and what was said of it.
func sequenced(at []time.Duration) (*Track, *diag.List) {
	noon := time.Date(2026, 6, 14, 12, 0, 0, 0, time.UTC)
	var l diag.List
	s := Sequence{Track: &Track{}, Problems: &l}
	for i, d := range at {
		f := NewFix(noon.Add(d))
		f.Q[Speed] = float64(i)
		s.Add(&f, Place{Line: i + 1})
	}
	s.Close()
	return s.Track, &l
}

func TestTimeThatSteps(t *testing.T) {
	hour := time.Hour
	for name, c := range map[string]struct {
		at   []time.Duration
		kept int
		want string // kind, effect, count and line of the first
	}{
		"in order":                     {run(0, 50), 50, ""},
		"a pause":                      {slices.Concat(run(0, 50), run(hour, 50)), 100, ""},
		"years ahead, then right":      {slices.Concat(run(years, 20), run(0, 1045)), 1065, "time-step suspect 1 line 1"},
		"right, then years ahead":      {slices.Concat(run(0, 1045), run(years, 20)), 1065, "time-step suspect 1 line 1046"},
		"a later log first":            {slices.Concat(run(hour, 60), run(0, 50)), 110, "time-step suspect 1 line 61"},
		"a clock set back over itself": {slices.Concat(run(0, 600), run(10*time.Second, 300)), 900, "time-step suspect 1 line 601"},
		"strays ahead":                 {slices.Concat(run(0, 50), run(years, 3), run(5*time.Second, 50)), 100, "time-leap dropped 3 line 51"},
		"strays behind":                {slices.Concat(run(0, 50), run(-hour, 3), run(5*time.Second, 50)), 100, "time-backward dropped 3 line 51"},
		"a stray at the start":         {slices.Concat(run(years, 1), run(0, 50)), 50, "time-leap dropped 1 line 1"},
		"a stray at the end":           {slices.Concat(run(0, 50), run(years, 2)), 50, "time-leap dropped 2 line 51"},
		"a stray three seconds ahead":  {slices.Concat(run(0, 600), run(63*time.Second, 1), run(60*time.Second, 600)), 1200, "time-leap dropped 1 line 601"},
		"swapped pairs":                {[]time.Duration{2e8, 1e8, 4e8, 3e8, 6e8, 5e8}, 6, "time-order note 3 line 2"},
		"blocks a second late":         {slices.Concat(run(time.Second, 10), run(0, 10), run(2*time.Second, 10)), 30, "time-order note 10 line 11"},
		"a fix every ten seconds, one stray": {[]time.Duration{0, 1e10, 2e10, 3e10, -9e10, 4e10, 5e10}, 6,
			"time-backward dropped 1 line 5"},
	} {
		tr, l := sequenced(c.at)
		if tr.Len() != c.kept {
			t.Errorf("%s: %d of %d fixes kept, want %d", name, tr.Len(), len(c.at), c.kept)
		}
		var got []string
		for _, g := range l.Groups() {
			got = append(got, fmt.Sprintf("%s %s %d %s", g.Kind, g.Effect, g.Count, g.First().Place()))
		}
		if s := strings.Join(got, ", "); s != c.want {
			t.Errorf("%s: %q, want %q", name, s, c.want)
		}
		for i := 1; i < tr.Len(); i++ {
			if tr.NanoAt(i) <= tr.NanoAt(i-1) {
				t.Fatalf("%s: fix %d is not later than the one before it", name, i)
			}
		}
	}
}

// A log that was appended to itself holds its runs once.
func TestACopyInTheSameLogIsLeftOut(t *testing.T) {
	noon := time.Date(2026, 6, 14, 12, 0, 0, 0, time.UTC)
	var l diag.List
	s := Sequence{Track: &Track{}, Problems: &l}
	for i := range 400 {
		f := NewFix(noon.Add(time.Duration(i%200) * time.Second))
		f.Q[Speed] = float64(i % 200)
		s.Add(&f, Place{Line: i + 1})
	}
	s.Close()
	if g := l.Groups(); s.Track.Len() != 200 || len(g) != 1 || g[0].Kind != diag.TimeRepeated || g[0].Count != 200 || g[0].First().Line != 201 {
		t.Errorf("%d fixes, %+v", s.Track.Len(), *g[0])
	}
}

// Two sentences of an instant that stand apart make one fix.
func TestALateFixCompletesTheOneOfItsInstant(t *testing.T) {
	noon := time.Date(2026, 6, 14, 12, 0, 0, 0, time.UTC)
	var l diag.List
	s := Sequence{Track: &Track{}, Problems: &l}
	for i := range 10 {
		for _, c := range []struct {
			col Column
			at  int
		}{{Speed, i + 1}, {Altitude, i}} {
			f := NewFix(noon.Add(time.Duration(c.at) * 100 * time.Millisecond))
			f.Q[c.col] = float64(c.at)
			s.Add(&f, Place{Line: 2*i + 1})
		}
	}
	s.Close()
	if s.Track.Len() != 11 || l.Count(diag.Dropped) != 0 {
		t.Errorf("%d fixes, %d dropped", s.Track.Len(), l.Count(diag.Dropped))
	}
	for i := 1; i < 10; i++ {
		if s.Track.Value(Speed, i) != float64(i) || s.Track.Value(Altitude, i) != float64(i) {
			t.Errorf("fix %d: %v", i, s.Track.At(i).Q)
		}
	}
}

// Whatever the instants, the track is in order and every fix is kept or counted.
func TestNoFixIsLostInSilence(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 20))
	for range 2000 {
		var at []time.Duration
		now := time.Duration(0)
		for len(at) < 200 {
			switch rng.IntN(30) {
			case 0:
				now += time.Duration(rng.NormFloat64() * float64(20*time.Second))
			case 1:
				now += time.Duration(rng.NormFloat64() * float64(time.Hour))
			case 2:
				now -= 150 * time.Millisecond
			}
			now += 100 * time.Millisecond
			at = append(at, now)
		}
		tr, l := sequenced(at)
		if n := tr.Len() + l.Count(diag.Dropped); n != len(at) {
			t.Fatalf("%d kept and %d dropped of %d: %v", tr.Len(), l.Count(diag.Dropped), len(at), at)
		}
		seen := map[float64]bool{}
		for i, v := range tr.Col(Speed) {
			if seen[v] || math.IsNaN(v) || i > 0 && tr.NanoAt(i) <= tr.NanoAt(i-1) {
				t.Fatalf("fix %d of %v", i, at)
			}
			seen[v] = true
		}
	}
}

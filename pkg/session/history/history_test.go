package history

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"
)

// drive is a history of so many dates of n runs: runs scatter by sd, days by day, and the mean at
// each date is what shift adds.
func drive(rng *rand.Rand, dates, n int, sd, day float64, shift func(i int) float64) *Series {
	s := &Series{Target: "0-60 mph", Mode: "full"}
	for i := range dates {
		off := day*rng.NormFloat64() + shift(i)
		var x []float64
		mean := 0.0
		for range n {
			x = append(x, 8+off+sd*rng.NormFloat64())
			mean += x[len(x)-1] / float64(n)
		}
		ss := 0.0
		for _, v := range x {
			ss += (v - mean) * (v - mean)
		}
		s.Days = append(s.Days, Day{Date: time.Date(2026, 3, 1+20*i, 9, 0, 0, 0, time.UTC), Mean: mean, N: n, DF: float64(n - 1), SD: math.Sqrt(ss / float64(n-1)), Receiver: "blue", Model: 7})
	}
	s.test()
	return s
}

func nothing(int) float64 { return 0 }

// In 2,000 histories of each kind in which nothing changed at most 5 in 100 show a step or a drift:
// of two to twelve dates, whose days differ by nothing, by what is taken, and, where there are dates
// enough to show it, by half as much again.
func TestHistoriesOfNoChange(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 7))
	const histories = 2000
	most := Alpha + 2*math.Sqrt(Alpha*(1-Alpha)/histories) // what so many draws leave open
	for _, dates := range []int{2, 3, 5, 8, 12} {
		for _, day := range []float64{0, 8 * DayShare, 1.5 * 8 * DayShare} {
			if dates < 5 && day > 8*DayShare {
				continue // so few dates cannot show it, and the sentence says what was taken
			}
			for _, n := range []int{3, 5} {
				told := 0
				for range histories {
					if s := drive(rng, dates, n, .05, day, nothing); s.Step.Told || s.Drift.Told {
						told++
					}
				}
				rate := float64(told) / histories
				t.Logf("%2d dates of %d runs, days differ by %.3f s: %.2f in 100", dates, n, day, 100*rate)
				if rate > most {
					t.Errorf("%d dates of %d runs, days differ by %.3f s: %.2f in 100 show a change", dates, n, day, 100*rate)
				}
			}
		}
	}
}

// A step of 0.15 s between two dates of five runs each is found, with what days do besides; one
// among six dates is found before its date, and a drift of as much in a season.
func TestChangesAreFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	const histories = 500
	two, six, place, drift := 0, 0, 0, 0
	for range histories {
		if s := drive(rng, 2, 5, .05, 8*DayShare, func(i int) float64 { return .15 * float64(i) }); s.Step.Told && s.Step.Value > 0 {
			two++
			if said := strings.Join(s.Said(), " "); !strings.Contains(said, "from 2026-03-21 on") || !strings.Contains(said, "longer") {
				t.Fatal(said)
			}
		}
		if s := drive(rng, 6, 5, .05, 8*DayShare, func(i int) float64 {
			if i < 3 {
				return 0
			}
			return -.15
		}); s.Step.Told && s.Step.Value < 0 {
			six++
			if s.Step.At == 3 {
				place++
			}
		}
		if s := drive(rng, 8, 5, .05, 8*DayShare, func(i int) float64 { return .03 * float64(i) }); s.Drift.Told {
			drift++
		}
	}
	t.Logf("found in 100: %.1f of two dates, %.1f of six, %.1f at the right date, drift %.1f", float64(two)/5, float64(six)/5, float64(place)/5, float64(drift)/5)
	if two < .8*histories || six < .95*histories || place < .8*histories || drift < .9*histories {
		t.Errorf("of %d histories %d, %d (%d at the right date) and %d were found", histories, two, six, place, drift)
	}
}

// What cannot be held against each other is not.
func TestUntestable(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for want, spoil := range map[string]func(*Series){
		"one session":       func(s *Series) { s.Days = s.Days[:1] },
		"has no date":       func(s *Series) { s.Days[1].Date = time.Time{} },
		"revisions 7 and 6": func(s *Series) { s.Days[1].Model = 6 },
		"how far runs":      func(s *Series) { s.Days[0].DF, s.Days[1].DF = 0, 0 },
	} {
		s := drive(rng, 2, 5, .05, 0, nothing)
		spoil(s)
		if s.test(); !strings.Contains(s.Why, want) || s.Step.Told || !strings.Contains(s.Said()[0], want) {
			t.Errorf("%s: %+v", want, s.Why)
		}
	}
}

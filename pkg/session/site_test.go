package session

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

const siteHeading = 64.0 // degrees

// drivenFrom is a log of standing starts that begins so many m along and across a straight, so
// many minutes into the day.
func drivenFrom(t *testing.T, seed uint64, along, across float64, minute int, wander float64, ways ...bool) (Input, *synth.Session) {
	t.Helper()
	sin, cos := math.Sincos(siteHeading * math.Pi / 180)
	n, e := along*cos-across*sin, along*sin+across*cos
	const lat = 47.1
	metre := 180 / math.Pi / unit.EarthSemiMajor // degrees, to 0.5 %
	sc := synth.Scenario{Begin: time.Date(2026, 5, 9, 9, minute, 0, 0, time.UTC), HeadingDeg: siteHeading,
		LatDeg: lat + n*metre, LonDeg: -19.8 + e*metre/math.Cos(lat*math.Pi/180), Variation: synth.Variation{Distance: 300}, RestMin: 3, RestMax: 9}
	for _, back := range ways {
		sc.Events = append(sc.Events, synth.Event{Kind: synth.Start, Vehicle: synth.Vehicles()[0], Reverse: back})
	}
	s, err := sc.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	rec := s.Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8, Step: 0.001 * unit.Knot}, nil, seed)
	wanders(rec.Tracks[0], wander, rand.New(rand.NewPCG(seed, 3)))
	var b bytes.Buffer
	if err := synth.WriteNMEA(&b, rec, synth.NMEAOptions{}); err != nil {
		t.Fatal(err)
	}
	return Input{Path: fmt.Sprintf("log-%02d.nmea", minute), Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}, s
}

// oneWay are logs of a start each, from one line.
func oneWay(t *testing.T, seed uint64, n int, along, wander float64, minute int) (out []Input) {
	for i := range n {
		in, _ := drivenFrom(t, seed+uint64(i), along, 0, minute+5*i, wander, false)
		out = append(out, in)
	}
	return out
}

// wanders lets the positions of a track wander by a standard deviation of so many m in each axis,
// turning round every two minutes or so.
func wanders(tr *recording.Track, sd float64, rng *rand.Rand) {
	metre := 180 / math.Pi / unit.EarthSemiMajor
	keep := math.Exp(-0.1 / 120)
	n, e := sd*rng.NormFloat64(), sd*rng.NormFloat64()
	lat, lon := tr.Col(recording.LatDeg), tr.Col(recording.LonDeg)
	for i := range lat {
		n, e = keep*n+math.Sqrt(1-keep*keep)*sd*rng.NormFloat64(), keep*e+math.Sqrt(1-keep*keep)*sd*rng.NormFloat64()
		lat[i] += n * metre
		lon[i] += e * metre / math.Cos(lat[i]*math.Pi/180)
	}
}

// A run begun 200 m off and one the other way round are flagged, nothing else is, and a receiver
// that wanders flags nothing.
func TestStartsElsewhere(t *testing.T) {
	const out, back = false, true
	for _, c := range []struct {
		name   string
		logs   func(t *testing.T) []Input
		wants  map[string]string // flag by run
		places int               // stretches
	}{
		{"as it should be", func(t *testing.T) []Input {
			a, _ := drivenFrom(t, 1, 0, 0, 0, 0, out, back, out, back, out, back)
			return []Input{a}
		}, nil, 1},
		{"one begun 200 m off", func(t *testing.T) []Input {
			a, _ := drivenFrom(t, 2, 0, 0, 0, 0, out, back, out, back, out, back)
			b, _ := drivenFrom(t, 3, 200, 0, 30, 0, out)
			return []Input{a, b}
		}, map[string]string{"log-30#1": segment.FlagElsewhere}, 2},
		{"one beside the runway", func(t *testing.T) []Input {
			b, _ := drivenFrom(t, 5, 0, 60, 30, 0, out)
			return append(oneWay(t, 50, 3, 0, 0, 0), b)
		}, map[string]string{"log-30#1": segment.FlagElsewhere}, 2},
		{"one the other way round", func(t *testing.T) []Input {
			b, _ := drivenFrom(t, 7, 500, 0, 30, 0, back)
			return append(oneWay(t, 60, 4, 0, 0, 0), b)
		}, map[string]string{"log-30#1": segment.FlagOtherWay}, 1},
		{"half and half", func(t *testing.T) []Input {
			return append(oneWay(t, 70, 3, 0, 0, 0), oneWay(t, 80, 3, 400, 0, 30)...)
		}, nil, 2},
		{"a receiver that wanders", func(t *testing.T) []Input {
			a, _ := drivenFrom(t, 10, 0, 0, 0, 10, out, back, out, back, out, back)
			return []Input{a}
		}, nil, 1},
		{"one that wanders farther", func(t *testing.T) []Input {
			a, _ := drivenFrom(t, 11, 0, 0, 0, 25, out, back, out, back, out, back)
			return []Input{a}
		}, nil, 1},
		{"one begun 200 m off by a receiver that wanders", func(t *testing.T) []Input {
			b, _ := drivenFrom(t, 13, 200, 0, 30, 3, out)
			return append(oneWay(t, 90, 4, 0, 3, 0), b)
		}, map[string]string{"log-30#1": segment.FlagElsewhere}, 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			res, err := Run(context.Background(), c.logs(t), Options{NoTraces: true})
			if err != nil || len(res.Failed) > 0 {
				t.Fatal(err, res.Failed)
			}
			var met []int
			for _, r := range res.StandingStarts() {
				got := ""
				for _, f := range r.Flags {
					if f.Code == segment.FlagElsewhere || f.Code == segment.FlagOtherWay {
						got = f.Code
						t.Logf("%s: %s", r.ID, f.Text)
					}
				}
				if got != c.wants[r.ID] {
					t.Errorf("%s is flagged %q, want %q", r.ID, got, c.wants[r.ID])
				}
				if !slices.Contains(met, r.Stretch) {
					met = append(met, r.Stretch)
				}
			}
			if len(met) != c.places {
				t.Errorf("%d stretches, want %d", len(met), c.places)
			}
			if s := res.Site(); s == nil || len(s.Runs) != len(res.StandingStarts()) || math.Abs(math.Remainder(s.Axis-siteHeading, 180)) > 3 {
				t.Errorf("site %+v", s)
			}
		})
	}
}

// A stop is as long as the simulation's.
func TestHalt(t *testing.T) {
	for seed := range uint64(3) {
		in, truth := drivenFrom(t, 40+seed, 0, 0, 0, 0, false, true)
		res, err := Run(context.Background(), []Input{in}, Options{})
		if err != nil || len(res.Runs) != 2 {
			t.Fatal(err, len(res.Runs))
		}
		for i, r := range res.Runs {
			tr := truth.Starts()[i]
			b := tr.Braking
			m := &truth.Motion
			at := func(t float64) float64 { i, _ := slices.BinarySearch(m.T, t); return m.S[min(i, len(m.S)-1)] }
			want := at(b.Start+b.Seconds) - at(tr.Launch)
			if h := r.Halt; math.Abs(h.Way-want) > 1+.005*want || math.Abs(h.Speed-b.Speed) > 1.5 || h.After < b.Distance || h.After > b.Distance+2*b.Speed {
				t.Errorf("%s: %+v, want %.1f m in all and %.0f m from %.1f m/s", r.ID, h, want, b.Distance, b.Speed)
			}
		}
	}
}

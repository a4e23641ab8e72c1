package session_test

import (
	"math"
	"sort"
	"testing"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// fourRuns is a session of four standing starts both ways among creeping, starts
// given up, circles and driving about.
func fourRuns(t testing.TB, v synth.Vehicle, seed uint64) *synth.Session {
	t.Helper()
	start, back := synth.Event{Kind: synth.Start, Vehicle: v}, synth.Event{Kind: synth.Start, Vehicle: v, Reverse: true}
	creep, circle := synth.Event{Kind: synth.Creep}, synth.Event{Kind: synth.Circle}
	aborted, abortedBack := synth.Event{Kind: synth.Aborted, Vehicle: v}, synth.Event{Kind: synth.Aborted, Vehicle: v, Reverse: true}
	s, err := synth.Scenario{HeadingDeg: 64, LatDeg: 47.1, LonDeg: -19.8, Variation: synth.Variation{Power: 0.01},
		Events: []synth.Event{{Kind: synth.Drive, Seconds: 60}, creep, start, circle, back, aborted, creep, creep, start,
			{Kind: synth.Idle, Seconds: 20}, abortedBack, back, circle, {Kind: synth.Drive, Seconds: 60}}}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// trueTime is what a time should have been.
func trueTime(r *synth.Run, x timing.Time) (float64, bool) {
	tg, err := timing.ParseTarget(x.Name)
	if err != nil {
		return 0, false
	}
	if tg.IsDistance() {
		return r.TimeToDistance(tg.Distance, x.From == timing.FromRollout)
	}
	return r.TimeToSpeed(tg.To, x.From == timing.FromRollout)
}

// Each of the four is found, nothing else is, and the times are within their
// intervals as often as 95 % intervals should be, allowing for few cases.
func TestFourRunsInASession(t *testing.T) {
	t.Parallel()
	vehicles := synth.Vehicles()
	cases, inside := map[string]int{}, map[string]int{}
	for seed := range uint64(18) {
		s := fourRuns(t, vehicles[seed%uint64(len(vehicles))], seed+100)
		rec := s.Recording(synth.Receiver{Noise: 0.05, PositionNoise: 0.8, Step: 0.001 * unit.Knot}, nil, seed)
		res, truths := fromBytes(t, nmeaOf(t, rec, 0)), s.Starts()
		if len(truths) != 4 {
			t.Fatalf("the simulation drove %d starts", len(truths))
		}
		if len(res.Runs) != 4 || len(startsOf(res)) != 4 {
			for _, r := range res.Runs {
				t.Logf("%s %s %s %.1f m/s %v", r.ID, r.Kind, r.Launch, r.MaxSpeed, r.Flags)
			}
			t.Errorf("seed %d: %d runs, %d standing starts, want 4", seed, len(res.Runs), len(startsOf(res)))
			continue
		}
		for i, r := range res.Runs {
			if d := r.Launch.Sub(s.LaunchTime(truths[i])).Seconds(); math.Abs(d) > 0.5 {
				t.Errorf("seed %d, run %d: launch %.2f s off", seed, i+1, d)
			}
			for _, name := range []string{"0-30 mph", "0-60 mph", "1/4 mile"} {
				for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
					x, got := r.Time(name, from)
					want, ok := trueTime(truths[i], timing.Time{Name: name, From: from})
					if !ok {
						continue
					}
					k := name + " " + string(from)
					cases[k]++
					if got && math.Abs(x.Seconds-want) <= x.U95 {
						inside[k]++
					} else {
						t.Logf("seed %d %s %s: %.3f ± %.3f, truth %.3f", seed, vehicles[seed%uint64(len(vehicles))].Name, k, x.Seconds, x.U95, want)
					}
				}
			}
		}
	}
	var names []string
	for k := range cases {
		names = append(names, k)
	}
	sort.Strings(names)
	for _, k := range names {
		t.Logf("%s: %d of %d within", k, inside[k], cases[k])
		if cases[k] < 40 || 100*inside[k] < 85*cases[k] {
			t.Errorf("%s: %d of %d within their intervals, want 85 %%", k, inside[k], cases[k])
		}
	}
}

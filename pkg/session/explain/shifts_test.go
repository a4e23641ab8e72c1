package explain_test

import (
	"bytes"
	"context"
	"io"
	"math"
	"testing"

	"fromrest/pkg/session"
	"fromrest/pkg/session/explain"
	"fromrest/pkg/synth"
	"fromrest/pkg/unit"
)

// driven simulates standing starts of one vehicle and analyses their log.
func driven(t *testing.T, v synth.Vehicle, rate, noise float64, n int, seed uint64) (*session.Result, *synth.Session) {
	t.Helper()
	var ev []synth.Event
	for k := range n {
		ev = append(ev, synth.Event{Kind: synth.Start, Mode: "m", Vehicle: v, Reverse: k%2 == 1})
	}
	s, err := synth.Scenario{HeadingDeg: 40, LatDeg: 47, LonDeg: -20, Altitude: 60, Events: ev}.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	rec := s.Recording(synth.Receiver{Rate: rate, Noise: noise, Step: 0.001 * unit.Knot, PositionNoise: 0.8, Velocity: true}, nil, seed)
	if err := synth.WriteFIT(&b, rec, synth.FITOptions{}); err != nil {
		t.Fatal(err)
	}
	res, err := session.Run(context.Background(), []session.Input{{Path: "m.fit", Mode: "m",
		Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b.Bytes())), nil }}}, session.Options{})
	if err != nil || len(res.Failed) > 0 {
		t.Fatal(err, res.Failed)
	}
	return res, s
}

// lostBy is how much later a run got from one speed to another than its twin.
func lostBy(with, without *synth.Truth, from, to float64) float64 {
	reach := func(tr *synth.Truth, v float64) float64 {
		for i := 1; i < len(tr.V); i++ {
			if tr.V[i] >= v {
				return tr.T[i-1] + (v-tr.V[i-1])/(tr.V[i]-tr.V[i-1])*(tr.T[i]-tr.T[i-1])
			}
		}
		return math.NaN()
	}
	return reach(with, to) - reach(with, from) - reach(without, to) + reach(without, from)
}

// Shifts of simulated vehicles are found with their time, speed, width and cost;
// vehicles without gears show none, and wheels that spin are not taken for shifts.
func TestShiftsAreFound(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	sessions := uint64(1)
	if *full {
		sessions = 25
	}
	for _, c := range []struct {
		v           synth.Vehicle
		rate, noise float64
		found       float64 // least share of the shifts that are seen
	}{{synth.Manual(), 10, 0.05, 0.9}, {synth.Manual(), 25, 0.02, 0.9}, {synth.Automatic(), 25, 0.02, 0.5},
		{synth.Spinning(), 25, 0.02, 0.8}, {synth.Electric(), 25, 0.02, 0}, {synth.CVT(), 10, 0.05, 0}} {
		even := c.v
		even.Gears = append([]synth.Gear(nil), c.v.Gears...)
		for i := range even.Gears {
			even.Gears[i].Depth = 0
		}
		var all, seen, wrong, inTime, inSpeed, inWidth, inCost float64
		var costErr, costU float64
		for seed := range sessions {
			res, s := driven(t, c.v, c.rate, c.noise, 4, seed)
			_, twin := driven(t, even, c.rate, c.noise, 4, seed)
			for i, r := range res.Runs {
				got := explain.Shifts(r)
				wrong += float64(len(got))
				for _, w := range s.Runs[i].Shifts {
					mid := w.Start + 0.45*w.Duration // half depth from 0.1 to 0.8 of it
					if w.Start+1.5 > s.Runs[i].T[len(s.Runs[i].T)-1] {
						continue
					}
					all++
					for _, g := range got {
						if math.Abs(g.Time.X-mid) > 0.4 {
							continue
						}
						seen++
						wrong--
						cost := lostBy(s.Runs[i].Truth, twin.Runs[i].Truth, w.Speed-0.5, w.Speed+1.5)
						costErr += g.Cost.X - cost
						costU += g.Cost.U
						in := func(n *float64, x, u float64) {
							if math.Abs(x) <= u {
								*n++
							}
						}
						at := math.Abs(g.Time.X - mid)
						in(&inTime, at, g.Time.U95())
						in(&inWidth, g.Duration.X-0.7*w.Duration, g.Duration.U95())
						in(&inCost, g.Cost.X-cost, g.Cost.U95())
						in(&inSpeed, g.Speed.X-w.Speed, g.Speed.U95()+0.3)
					}
				}
			}
		}
		t.Logf("%s at %g Hz: %.0f of %.0f shifts seen, %.0f that were none; in their interval: time %.0f %%, speed %.0f %%, width %.0f %%, cost %.0f %%; cost error %.3f s, u %.3f s",
			c.v.Name, c.rate, seen, all, wrong, 100*inTime/seen, 100*inSpeed/seen, 100*inWidth/seen, 100*inCost/seen, costErr/seen, costU/seen)
		if seen < c.found*all || wrong > 0.05*all || all == 0 && wrong > 0 {
			t.Errorf("%s at %g Hz: %.0f of %.0f shifts seen, %.0f that were none", c.v.Name, c.rate, seen, all, wrong)
		}
		if seen > 0 && (inTime < 0.75*seen || inWidth < 0.75*seen || inCost < 0.75*seen || inSpeed < 0.75*seen) {
			t.Errorf("%s at %g Hz: too few in their interval", c.v.Name, c.rate)
		}
	}
}

// At 1 Hz a shift is between two samples: none is claimed, and why is said.
func TestNoShiftsAtOneHertz(t *testing.T) {
	res, _ := driven(t, synth.Manual(), 1, 0.05, 2, 1)
	for _, r := range res.Runs {
		if explain.NoShifts(r) == "" || len(explain.Shifts(r)) > 0 {
			t.Errorf("%s: %d shifts at 1 Hz, %q", r.ID, len(explain.Shifts(r)), explain.NoShifts(r))
		}
	}
	if len(res.Runs) == 0 {
		t.Error("no runs")
	}
}

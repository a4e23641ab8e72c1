package estimate_test

import (
	"context"
	"fmt"
	"math/rand/v2"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// launched is a log at 10 Hz of a vehicle that stands for 5.03 s, then gains 5 m/s²
// for 8 s, with 0.05 m/s of noise.
func launched() *recording.Track {
	rng := rand.New(rand.NewPCG(1, 2))
	var cols [recording.Columns][]float64
	var nano []int64
	for i := range 150 {
		t := float64(i) / 10
		v := max(5*min(t-5.03, 8), 0)
		north, east := v+0.05*rng.NormFloat64(), 0.05*rng.NormFloat64()
		nano = append(nano, int64(i)*100_000_000)
		cols[recording.VelNorth] = append(cols[recording.VelNorth], north)
		cols[recording.VelEast] = append(cols[recording.VelEast], east)
	}
	return recording.TrackOf(nano, cols)
}

// A log's samples are prepared once; each run in them is then estimated in its
// window.
func Example() {
	s, err := estimate.Prepare(launched())
	if err != nil {
		fmt.Println(err)
		return
	}
	run := segment.Find(s.SegmentInput())[0]
	e, err := s.Run(context.Background(), estimate.Window{From: run.From, Moving: run.Moving, To: run.To, Standing: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s, launch at %.1f s\n", run.Kind, e.Launch.X)
	for _, t := range timing.Measure(e, []timing.Target{{Name: "0-60 mph", To: 60 * unit.MPH}}).Times {
		fmt.Printf("%s from %s: %.1f s\n", t.Name, t.From, t.Seconds)
	}
	// Output:
	// standing-start, launch at 5.0 s
	// 0-60 mph from rest: 5.4 s
	// 0-60 mph from rollout: 5.0 s
}

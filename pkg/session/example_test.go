package session_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"

	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/synth"
)

// A simulated standing start, seen by a 10 Hz receiver and written as NMEA, is
// timed.
func ExampleRun() {
	truth, err := synth.SimulateRun(rand.New(rand.NewPCG(7, 8)), synth.Electric(), synth.Road{}, synth.Variation{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var log bytes.Buffer
	rx := synth.Receiver{Noise: 0.02, PositionNoise: 1}
	if err := synth.WriteNMEA(&log, synth.Single(truth, 40, 8).Recording(rx, nil, 3), synth.NMEAOptions{}); err != nil {
		fmt.Println(err)
		return
	}
	open := func() (io.ReadCloser, error) { return io.NopCloser(&log), nil }
	res, err := session.Run(context.Background(), []session.Input{{Path: "calm-1.nmea", Mode: "calm", Open: open}}, session.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range res.Runs {
		t, _ := r.Time("0-60 mph", timing.FromRollout)
		fmt.Printf("%s (%s): %s with rollout in %.1f s\n", r.ID, r.Mode, t.Name, t.Seconds)
	}
	// Output:
	// calm-1#1 (calm): 0-60 mph with rollout in 4.6 s
}

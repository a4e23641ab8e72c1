package timing_test

import (
	"context"
	"testing"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/synth"
)

// BenchmarkRun is the cost of one run's estimate with all its times.
func BenchmarkRun(b *testing.B) {
	for _, c := range []struct {
		name string
		rate float64
	}{{"10Hz", 10}, {"25Hz", 25}} {
		_, track, _ := simulate(synth.Automatic(), synth.Receiver{Rate: c.rate, Noise: 0.04, NoPosition: true}, 3)
		s, err := estimate.Prepare(track)
		if err != nil {
			b.Fatal(err)
		}
		var sg segment.Segment
		for _, x := range segment.Find(s.SegmentInput()) {
			if x.Kind == segment.StandingStart {
				sg = x
				break
			}
		}
		w := estimate.Window{From: sg.From, To: sg.To, Moving: sg.Moving, Standing: true}
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				e, err := s.Run(context.Background(), w)
				if err != nil {
					b.Fatal(err)
				}
				timing.Measure(e, timing.Standard())
			}
		})
	}
}

package align

import (
	"context"
	"testing"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/synth"
)

// BenchmarkHour aligns an hour of three axes at 100 Hz beside a 10 Hz receiver
// and, to compare, only opens the sensor, which integrates the samples, as every
// way of using them must.
func BenchmarkHour(b *testing.B) {
	rx := synth.Receiver{Rate: 10, Noise: 0.05, NoPosition: true}
	s := morning(b, 3, 60)
	if h := s.Motion.End(); h < 3000 {
		b.Fatalf("the session is %.0f s long", h)
	}
	acc := synth.Accelerometer{Rate: 100, Noise: 0.3, Offset: 1}
	rec := s.Recording(rx, &acc, 1)
	sp := speedOf(rec.Primary(), 0.05)
	own := *rec.Accel
	own.OwnClock = true
	b.Logf("%.0f s, %d samples", s.Motion.End(), rec.Accel.Len())
	b.Run("integral alone", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			accel.Open(rec.Accel)
		}
	})
	b.Run("shared clock", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			if al, err := Align(context.Background(), rec.Accel, sp); err != nil || al.Reason != "" {
				b.Fatal(err, al)
			}
		}
	})
	b.Run("own clock", func(b *testing.B) {
		b.ReportAllocs()
		for range b.N {
			if al, err := Align(context.Background(), &own, sp); err != nil || al.Reason != "" {
				b.Fatal(err, al)
			}
		}
	})
}

package worlds

import (
	"bytes"
	"context"
	"io"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fromrest/pkg/session"
)

// Two receivers on board of one world: by how much one smooths more is found, and the times of
// both agree.
func TestTwoReceivers(t *testing.T) {
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
	begin := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name       string
		slow, fast Receiver
		late, tau  float64
	}{
		{"lag of 0.2 s", with(plain(10, 0.05), func(r *Receiver) { r.Lag = 0.2 }), plain(25, 0.02), 0.2, 0.2},
		{"the same receiver", plain(10, 0.05), plain(10, 0.05), 0, 0},
	} {
		rng := rand.New(rand.NewPCG(11, 3))
		w := World{Vehicle: car, Foot: quickFoot, Stopping: Mixed}
		m := w.Drive(rng)
		input := func(name string, r Receiver) session.Input {
			log := r.Observe(m, begin, rng)
			return session.Input{Path: name, Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(log)), nil }}
		}
		res, b, err := session.RunBeside(context.Background(), input("slow.nmea", c.slow), input("fast.nmea", c.fast), session.Options{NoTraces: true})
		if err != nil || b.Behind == nil {
			t.Fatal(c.name, err, b)
		}
		h := b.Behind
		agree := 0
		for _, x := range b.Common {
			if x.Agree {
				agree++
			}
		}
		t.Logf("%s: late %.3f ± %.3f s, smoothing %.2f ± %.2f s, %d of %d common times agree", c.name, h.Late.X, h.Late.U95(), h.Smoothing.X, h.Smoothing.U95(), agree, len(b.Common))
		if math.Abs(h.Late.X-c.late) > 0.03 || math.Abs(h.Smoothing.X-c.tau) > 0.06 {
			t.Errorf("%s: late %.3f s, smoothing %.2f s", c.name, h.Late.X, h.Smoothing.X)
		}
		if len(b.Common) < 50 || 10*agree < 9*len(b.Common) {
			t.Errorf("%s: %d of %d common times agree", c.name, agree, len(b.Common))
		}
		for _, r := range res.StandingStarts() {
			if (r.WitnessOf != nil) != (r.Log == b.Other) {
				t.Errorf("%s: %s is a witness of %v", c.name, r.ID, r.WitnessOf)
			}
		}
	}
}

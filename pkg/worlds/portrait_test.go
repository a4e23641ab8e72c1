package worlds

import (
	"math"
	"testing"

	"fromrest/pkg/sheet"
)

// What check says of a receiver at close quarters is what the simulated one has: its scatter
// under way, its tails, and the first speed that starts show after a hold.
func TestPortrait(t *testing.T) {
	w := World{Vehicle: car, Foot: quickFoot, Stopping: Firm}
	for _, c := range []struct {
		name     string
		receiver Receiver
		lo, hi   float64 // m/s, of the scatter
		wild     float64 // least share over three deviations
		held     bool
	}{
		{"10 Hz, 0.05 m/s", plain(10, 0.05), 0.038, 0.055, 0, false},
		{"25 Hz, 0.02 m/s", plain(25, 0.02), 0.015, 0.023, 0, false},
		{"heavy tails", with(plain(10, 0.05), func(r *Receiver) { r.Heavy = true }), 0.02, 0.06, 0.008, false},
		{"held below 0.4 m/s", with(plain(10, 0.05), func(r *Receiver) { r.Hold, r.Late = 0.4, 2 }), 0.035, 0.06, 0, true},
	} {
		w.Receiver = c.receiver
		res, _, _ := analysed(t, w, 21, sheet.Receiver{})
		p := res.Logs[0].Portrait
		share := float64(p.Wild) / float64(p.N)
		t.Logf("%s: scatter %.3f m/s of %d speeds of %d starts, %.2f %% wild, first %.2f m/s of %d, %d stops", c.name, p.Scatter, p.N, p.Starts, 100*share, p.First, p.FirstOf, len(p.Stops))
		if !(p.Scatter > c.lo && p.Scatter < c.hi) || p.Starts != 6 || share < c.wild || c.wild == 0 && share > 0.02 {
			t.Errorf("%s: scatter %.3f m/s, %.2f %% wild, %d starts", c.name, p.Scatter, 100*share, p.Starts)
		}
		if len(p.Stops) < 4 {
			t.Errorf("%s: %d stops", c.name, len(p.Stops))
		}
		if c.held != (p.FirstOf == 6) || c.held && math.Abs(p.First-1.2) > 1 {
			t.Errorf("%s: starts show %.2f m/s first, of %d", c.name, p.First, p.FirstOf)
		}
	}
}

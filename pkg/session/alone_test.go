package session

import (
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"fromrest/pkg/format"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
)

// Without a speed the times are found from the accelerometer between standstills
// and hold the truth as often as they say.
func TestAccelerometerAlone(t *testing.T) {
	skipShort(t)
	n := max(5, *fusedSessions)
	all := map[string]*misses{}
	found := 0
	var mu sync.Mutex
	each(n, func(i int) {
		s := driven(t, uint64(i)+301, 3)
		acc := vibrating(rand.New(rand.NewPCG(uint64(i), 31)))
		// A vehicle that shakes no more under way than at rest hides its standstills.
		acc.Noise, acc.Rough = 0.1, 0.012
		rec := s.Recording(synth.Receiver{Rate: 10}, &acc, uint64(i))
		rec.Tracks = nil
		// The sensor's clock is the log's.
		for k := range rec.Accel.NanoUTC {
			rec.Accel.NanoUTC[k] -= int64(acc.Offset * 1e9)
		}
		log, pairs := pair(t, s, rec)
		mu.Lock()
		defer mu.Unlock()
		if log.Quality.Source != recording.Inertial || !log.Quality.InertialOnly {
			t.Errorf("session %d: source %q", i, log.Quality.Source)
		}
		found += len(pairs)
		for r, d := range pairs {
			for _, m := range r.Times {
				if want, ok := truth(d, m); ok {
					key := m.Name + " " + string(m.From)
					if all[key] == nil {
						all[key] = &misses{}
					}
					all[key].add(m.Seconds-want, m.U95)
				}
			}
		}
	})
	if found < 3*n*9/10 {
		t.Errorf("%d of %d starts found", found, 3*n)
	}
	in, total := 0, 0
	for _, name := range []string{"0-10 mph rest", "0-30 mph rest", "0-30 mph rollout", "0-60 mph rest", "0-60 mph rollout", "1/4 mile rest"} {
		t.Logf("%-17s %v", name, all[name])
		in, total = in+all[name].in, total+all[name].n
	}
	if share := float64(in) / float64(total); share < 0.9 {
		t.Errorf("%.1f %% of the intervals hold the truth", 100*share)
	}
	// A gain of a few per cent is all that nothing tells.
	if r := all["0-30 mph rest"].rms(); r > 0.3 || math.IsNaN(r) {
		t.Errorf("0-30 mph from rest: rms %.3f s", r)
	}
}

// An accelerometer that cannot stand in for a speed is refused with its reason.
func TestNoSpeedAndNoUsableAccelerometer(t *testing.T) {
	s := driven(t, 401, 1)
	acc := synth.Accelerometer{Rate: 10}
	rec := s.Recording(synth.Receiver{Rate: 10}, &acc, 1)
	rec.Tracks = nil
	p := &pipeline{}
	out := p.begin(t.Context(), Input{Path: "session"}).finish(&format.Log{Recording: rec})
	if out.err == nil || !strings.Contains(out.err.Error(), "no speed in the log, and its accelerometer cannot stand in for it: ") {
		t.Errorf("error %v", out.err)
	}
}

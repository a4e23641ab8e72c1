package estimate

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/recording"
)

// driven is a session at 10 Hz behind a filter: starts of 3.5 m/s² that are built up over
// 0.15 s, up to 15 m/s, and stops of 4 m/s² that end within 0.1 s. The truth is summed in
// steps of a millisecond, and so is the filter.
func driven(t *testing.T, lag, noise float64, starts int) (s *Samples, launches []float64, speed func(float64) float64) {
	t.Helper()
	const dt = 0.001
	var v []float64
	rest := func(seconds float64) {
		for range int(seconds / dt) {
			v = append(v, 0)
		}
	}
	rest(4)
	for range starts {
		launches = append(launches, float64(len(v))*dt)
		x := 0.0
		for i := 0; x < 15; i++ {
			x += 3.5 * min(float64(i)*dt/0.15, 1) * dt
			v = append(v, x)
		}
		for x > 0 {
			x -= min(4, 0.4+x*18) * dt
			v = append(v, max(x, 0))
		}
		rest(4.03)
	}
	rng := rand.New(rand.NewPCG(7, uint64(starts)))
	nano := []int64{}
	var cols [recording.Columns][]float64
	shown := 0.0
	begin := time.Date(2026, 5, 9, 9, 0, 0, 0, time.UTC)
	for i := range v {
		if shown += (v[i] - shown) * (1 - math.Exp(-dt/lag)); lag == 0 {
			shown = v[i]
		}
		if i%100 == 0 {
			nano = append(nano, recording.Nano(begin)+int64(i)*1e6)
			cols[recording.VelNorth] = append(cols[recording.VelNorth], shown+noise*rng.NormFloat64())
			cols[recording.VelEast] = append(cols[recording.VelEast], noise*rng.NormFloat64())
		}
	}
	tr := recording.TrackOf(nano, cols)
	tr.Source = recording.GNSS
	s, err := Prepare(tr)
	if err != nil {
		t.Fatal(err)
	}
	return s, launches, func(at float64) float64 { return v[min(int(at/dt), len(v)-1)] }
}

// startsOf are the windows of the starts whose launches are given.
func startsOf(s *Samples, launches []float64) (out []Window) {
	at := func(t float64) int {
		i := 0
		for i < len(s.T) && s.T[i] < t {
			i++
		}
		return i
	}
	for _, l := range launches {
		out = append(out, Window{From: at(l - 3), Moving: at(l + 0.25), To: at(l + 4), Standing: true})
	}
	return out
}

// Stops tell a filter from none, and none from a filter.
func TestStopsTellTheFilter(t *testing.T) {
	for _, lag := range []float64{0, 0.2} {
		s, launches, _ := driven(t, lag, 0.03, 6)
		if err := s.LearnSmoothing(context.Background(), startsOf(s, launches), Profile{}); err != nil {
			t.Fatal(err)
		}
		d, sd, without := s.Smoothing.Delay()
		if s.Smoothing.Stops != 6 || math.Abs(d-lag) > max(2*sd, 0.02) {
			t.Errorf("lag of %g s: %.3f ± %.3f s from %d stops", lag, d, sd, s.Smoothing.Stops)
		}
		if (lag > 0) != (without < 0.05) || lag == 0 && without < 0.2 {
			t.Errorf("lag of %g s: none with a probability of %.2f", lag, without)
		}
	}
}

// Without a stop runs are timed behind every filter that starts leave open: slower ones where
// they are behind one.
func TestWithoutStopsWhatIsPossible(t *testing.T) {
	var most [2]float64
	for i, lag := range []float64{0, 0.2} {
		s, launches, _ := driven(t, lag, 0.03, 4)
		ws := startsOf(s, launches)
		cut := *s
		for k := range cut.T { // the stops are not in the log
			for _, w := range ws {
				if k >= w.To && (k-w.To) < 60 {
					cut.Out[k] = true
				}
			}
		}
		if err := cut.LearnSmoothing(context.Background(), ws, Profile{}); err != nil {
			t.Fatal(err)
		}
		kinds := map[ramp.FilterKind]int{}
		sum := 0.0
		for _, f := range cut.filters() {
			kinds[f.Kind]++
			sum += f.P
			if f.Kind == ramp.FirstOrder {
				most[i] = max(most[i], f.Tau)
			}
		}
		if cut.Smoothing.Stops > 0 || len(kinds) != 4 || kinds[ramp.Unfiltered] != 1 || math.Abs(sum-1) > 1e-9 {
			t.Errorf("lag of %g s: %d stops, kinds %v with %.3f in all", lag, cut.Smoothing.Stops, kinds, sum)
		}
	}
	if !(most[0] < 0.13 && most[1] > 0.19 && most[1] < 0.5) {
		t.Errorf("slowest: %.3f s without a filter, %.3f s behind one of 0.2 s", most[0], most[1])
	}
}

// Behind a known filter and without noise, the path is the motion: launch, speed and
// distance are those that were driven, and not those shown.
func TestUnfilteredPathIsTheMotion(t *testing.T) {
	s, launches, truth := driven(t, 0.2, 0.002, 2)
	s.Smoothing.Filters = []LikelyFilter{{Filter: ramp.FirstOrderOf(0.2), P: 1}}
	for _, w := range startsOf(s, launches) {
		e, err := s.Run(context.Background(), w)
		if err != nil {
			t.Fatal(err)
		}
		launch := launches[0]
		if math.Abs(e.Launch.X-launches[1]) < 1 {
			launch = launches[1]
		}
		if math.Abs(e.Launch.X-launch) > max(2*e.Launch.U, 0.02) || e.Launch.U > 0.03 {
			t.Errorf("launch at %.3f ± %.3f s, driven %.3f", e.Launch.X, e.Launch.U, launch)
		}
		done := false
		e.Paths(nil, func(p *Path) {
			if done {
				return
			}
			done = true
			gone := 0.0
			for i := 1; i < 3500; i++ {
				at := launch + float64(i)*0.001
				gone += truth(at) * 0.001
				if i%500 != 0 {
					continue
				}
				d, v, _ := p.At(at)
				if math.Abs(v-truth(at)) > 0.05 || math.Abs(d-gone) > 0.06 {
					t.Errorf("%.1f s after the launch: %.3f m/s and %.3f m, driven %.3f and %.3f", at-launch, v, d, truth(at), gone)
				}
			}
		})
	}
}

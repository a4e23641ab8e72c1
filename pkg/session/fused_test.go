package session

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strings"
	"sync"
	"testing"

	"fromrest/pkg/format"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/synth"
)

var (
	fusedSessions = flag.Int("fused.sessions", 0, "sessions a receiver in the full trial with an accelerometer; 0 for the short one")
	fusedDoc      = flag.String("fused.doc", "", "append the table of the trial to this file")
)

// misses collects a quantity's errors.
type misses struct {
	n, in         int
	sum, sq, wide float64
}

func (m *misses) add(err, u95 float64) {
	m.n++
	m.sum += err
	m.sq += err * err
	m.wide += u95
	if math.Abs(err) <= u95 {
		m.in++
	}
}

func (m *misses) rms() float64 { return math.Sqrt(m.sq / float64(m.n)) }

func (m *misses) String() string {
	n := float64(m.n)
	return fmt.Sprintf("n %4d bias %5.1f rms %5.1f ms cover %5.1f %% mean U95 %5.1f", m.n, 1e3*m.sum/n, 1e3*m.rms(), 100*float64(m.in)/n, 1e3*m.wide/n)
}

// vibrating is an accelerometer mounted anyhow, with the errors that the goals
// are set for: bias, scale, vibration, body pitch, and a clock up to 2 s ahead.
func vibrating(rng *rand.Rand) synth.Accelerometer {
	a := synth.Accelerometer{Rate: 100, Mounting: synth.RandomRotation(rng), Noise: 0.3, Offset: 2 * rng.Float64(), Pitch: 0.004}
	dir := synth.RandomRotation(rng)
	for i := range a.Bias {
		a.Bias[i] = 0.2 * dir[i]
		a.Scale[i] = 0.03 * float64(1-2*rng.IntN(2))
	}
	return a
}

// driven simulates a session of standing starts of one vehicle.
func driven(t testing.TB, seed uint64, starts int) *synth.Session {
	rng := rand.New(rand.NewPCG(seed, 19))
	vs := synth.Vehicles()
	v := vs[seed%uint64(len(vs))]
	v.BuildMin, v.BuildMax = 0.04, 0.25
	sc := synth.Scenario{HeadingDeg: 360 * rng.Float64(), LatDeg: 50, LonDeg: 8, Variation: synth.Variation{Power: 0.02}, RestMin: 3, RestMax: 8}
	for range starts {
		sc.Events = append(sc.Events, synth.Event{Kind: synth.Start, Vehicle: v})
	}
	s, err := sc.Simulate(seed)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// pair analyses a recording of a simulated session and pairs its standing starts
// with what was driven.
func pair(t testing.TB, s *synth.Session, rec *recording.Recording) (*Log, map[*TimedRun]*synth.Run) {
	p := &pipeline{targets: targets(nil)}
	out := p.begin(context.Background(), Input{Path: "session"}).finish(&format.Log{Recording: rec})
	if out.err != nil {
		t.Fatal(out.err)
	}
	pairs := map[*TimedRun]*synth.Run{}
	for _, r := range out.runs {
		if r.Kind != segment.StandingStart {
			continue
		}
		for _, d := range s.Starts() {
			if math.Abs(s.LaunchTime(d).Sub(r.Launch).Seconds()) < 2 {
				pairs[r] = d
			}
		}
	}
	return out.log, pairs
}

// truth is the true value of a time.
func truth(d *synth.Run, m timing.Time) (float64, bool) {
	tg, err := timing.ParseTarget(m.Name)
	if err != nil {
		return 0, false
	}
	if tg.IsDistance() {
		return d.TimeToDistance(tg.Distance, m.From == timing.FromRollout)
	}
	return d.TimeToSpeed(tg.To, m.From == timing.FromRollout)
}

// fusedHead comes before the table of the trial.
const fusedHead = `
## With an accelerometer

%d sessions of 4 standing starts a receiver, the vehicles in turn, receiver noise of 0.05 m/s. The
accelerometer gives 100 samples a second, is mounted at random, has a bias of 0.2 m/s² in a random
direction, 3 %% of scale error of either sign on each axis, 0.3 m/s² of vibration, body pitch of
0.004 rad for 1 m/s², and a clock up to 2 s ahead of the receiver's; none of it is told to the
program. Of the accelerometers %d were set aside, and %d runs were timed without.

| receiver | target | from | runs | bias | RMS | coverage %% | mean half-width |
|---|---|---|---:|---:|---:|---:|---:|
`

// lagged is a recording whose receiver smooths: the speed at 100 Hz behind a filter of the
// first order, of which every tenth is logged with noise.
func lagged(s *synth.Session, acc *synth.Accelerometer, lag, noise float64, seed uint64) *recording.Recording {
	rec := s.Recording(synth.Receiver{Rate: 100, NoPosition: true}, acc, seed)
	rng := rand.New(rand.NewPCG(seed, 31))
	tr := rec.Tracks[0]
	var nano []int64
	var cols [recording.Columns][]float64
	shown := 0.0
	for i := range tr.Len() {
		shown += (tr.Value(recording.Speed, i) - shown) * (1 - math.Exp(-0.01/max(lag, 1e-6)))
		if i%10 == 0 {
			nano = append(nano, tr.NanoAt(i))
			cols[recording.Speed] = append(cols[recording.Speed], math.Hypot(shown+noise*rng.NormFloat64(), noise*rng.NormFloat64()))
		}
	}
	rec.Tracks[0] = recording.TrackOf(nano, cols)
	rec.Tracks[0].Source = recording.GNSS
	return rec
}

// Beside a receiver that smooths, an accelerometer makes the times no worse: the filter is
// told by both together. Without a filter none is found.
func TestAccelerometerBesideAReceiverThatSmooths(t *testing.T) {
	skipShort(t)
	for _, lag := range []float64{0, 0.1, 0.2, 0.5} {
		var rest, rollout misses
		var mu sync.Mutex
		each(6, func(i int) {
			s := driven(t, uint64(i)+1, 4)
			acc := vibrating(rand.New(rand.NewPCG(uint64(i), 23)))
			log, pairs := pair(t, s, lagged(s, &acc, lag, 0.05, uint64(i)))
			mu.Lock()
			defer mu.Unlock()
			sm := log.Quality.Smoothing
			if (lag > 0) != (sm != nil && sm.Beside) && lag != 0 || sm != nil && sm.Beside && math.Abs(sm.Delay-lag) > 0.07 || !log.Quality.Fused() {
				t.Errorf("lag of %g s: %v, %s", lag, sm, log.Quality.Accel)
			}
			for r, d := range pairs {
				for _, m := range r.Times {
					want, ok := truth(d, m)
					switch {
					case !ok || m.Name != "0-60 mph":
					case m.From == timing.FromRest:
						rest.add(m.Seconds-want, m.U95)
					default:
						rollout.add(m.Seconds-want, m.U95)
					}
				}
			}
		})
		t.Logf("lag of %g s: rest %s, rollout %s", lag, rest.String(), rollout.String())
		// 24 intervals of 95 per cent hold fewer than 19 times once in ten thousand.
		if rest.in < 19 || rollout.in < 19 || rest.rms() > 0.02 || rollout.rms() > 0.02 {
			t.Errorf("lag of %g s: rest %s, rollout %s", lag, rest.String(), rollout.String())
		}
	}
}

// skipShort leaves a trial out of the run with the race detector, which would
// multiply its arithmetic and has nothing to look at in it.
func skipShort(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("a trial: left out of the short tests")
	}
}

// TestFusedAccuracy holds both sensors together to sessions of known truth.
func TestFusedAccuracy(t *testing.T) {
	skipShort(t)
	n := *fusedSessions
	if n == 0 {
		n = 7
	}
	var rows strings.Builder
	asideAll, leftAll := 0, 0
	for _, c := range []struct {
		rate  float64
		goals map[string]float64 // ms
	}{
		{10, map[string]float64{"0-30 mph rest": 12, "0-60 mph rest": 12, "0-60 mph rollout": 9}},
		{1, map[string]float64{"0-30 mph rest": 30, "0-60 mph rest": 30}},
	} {
		rx := synth.Receiver{Rate: c.rate, Noise: 0.05}
		all := map[string]*misses{}
		aside, left := 0, 0
		var mu sync.Mutex
		each(n, func(i int) {
			s := driven(t, uint64(i)+1, 4)
			acc := vibrating(rand.New(rand.NewPCG(uint64(i), 23)))
			log, pairs := pair(t, s, s.Recording(rx, &acc, uint64(i)+1))
			mu.Lock()
			defer mu.Unlock()
			if !log.Quality.Fused() {
				aside++
				t.Logf("session %d: %s", i, log.Quality.Accel)
			}
			for r, d := range pairs {
				for _, f := range r.Flags {
					if f.Code == segment.FlagAccel {
						left++
					}
				}
				for _, m := range r.Times {
					key := m.Name + " " + string(m.From)
					if want, ok := truth(d, m); ok {
						if all[key] == nil {
							all[key] = &misses{}
						}
						all[key].add(m.Seconds-want, m.U95)
					}
				}
			}
		})
		t.Logf("%g Hz: %d of %d accelerometers set aside, %d runs without", c.rate, aside, n, left)
		in, total := 0, 0
		for _, name := range []string{"0-10 mph", "0-30 mph", "0-60 mph", "60 ft", "1/4 mile"} {
			for _, from := range []string{" rest", " rollout"} {
				m := all[name+from]
				if m == nil {
					t.Fatalf("%g Hz: no %s%s", c.rate, name, from)
				}
				t.Logf("%2g Hz %-9s%-8s %v", c.rate, name, from, m)
				in, total = in+m.in, total+m.n
				k := float64(m.n)
				fmt.Fprintf(&rows, "| %g Hz and accelerometer | %s | %s | %d | %.1f | %.1f | %.1f | %.1f |\n", c.rate, name, strings.TrimSpace(from), m.n, 1e3*m.sum/k, 1e3*m.rms(), 100*float64(m.in)/k, 1e3*m.wide/k)
				// Chance: three standard errors of a root mean square.
				if g := c.goals[name+from]; g > 0 && 1e3*m.rms() > g*(1+3/math.Sqrt(2*float64(m.n))) {
					t.Errorf("%g Hz %s%s: rms %.1f ms, goal %g ms", c.rate, name, from, 1e3*m.rms(), g)
				}
			}
		}
		if share := float64(in) / float64(total); share < 0.92 || share > 0.985 {
			t.Errorf("%g Hz: %.1f %% of the intervals hold the truth", c.rate, 100*share)
		}
		asideAll, leftAll = asideAll+aside, leftAll+left
	}
	if *fusedDoc != "" {
		f, err := os.OpenFile(*fusedDoc, os.O_APPEND|os.O_WRONLY, 0o644)
		if err == nil {
			_, err = fmt.Fprintf(f, fusedHead+rows.String(), n, asideAll, leftAll)
			err = errors.Join(err, f.Close())
		}
		if err != nil {
			t.Fatal(err)
		}
	}
}

// each calls fn for 0..n-1 on all cores.
func each(n int, fn func(int)) {
	var wg sync.WaitGroup
	slots := make(chan struct{}, runtime.GOMAXPROCS(0))
	for i := range n {
		wg.Add(1)
		slots <- struct{}{}
		go func() {
			defer func() { <-slots; wg.Done() }()
			fn(i)
		}()
	}
	wg.Wait()
}

// TestFaultyAccelerometers mounts sensors anyhow, breaks them, and asks that no
// time becomes worse than with the speed alone by more than its interval.
func TestFaultyAccelerometers(t *testing.T) {
	skipShort(t)
	faults := []struct {
		name  string
		spoil func(*rand.Rand, *synth.Accelerometer)
		after func(*rand.Rand, *recording.Accel)
	}{
		{name: "sound"},
		{name: "reversed", spoil: func(_ *rand.Rand, a *synth.Accelerometer) { a.Reversed = true }},
		{name: "upside down", spoil: func(_ *rand.Rand, a *synth.Accelerometer) {
			a.Mounting = synth.Rotation{1, 0, 0, 0, -1, 0, 0, 0, -1}
		}},
		{name: "clipped near gravity", spoil: func(_ *rand.Rand, a *synth.Accelerometer) { a.Clip = 10 }},
		{name: "clipped low", spoil: func(_ *rand.Rand, a *synth.Accelerometer) { a.Clip = 3; a.Mounting = synth.Level }},
		{name: "gaps", spoil: func(_ *rand.Rand, a *synth.Accelerometer) { a.Gaps = 6 }},
		{name: "own clock", spoil: func(rng *rand.Rand, a *synth.Accelerometer) {
			a.OwnClock, a.Offset, a.Drift = true, -3600*rng.Float64(), 40e-6
		}},
		{name: "slow", spoil: func(_ *rand.Rand, a *synth.Accelerometer) { a.Rate = 10 }},
		{name: "rough", spoil: func(_ *rand.Rand, a *synth.Accelerometer) { a.Noise = 4 }},
		{name: "wrong unit", after: func(_ *rand.Rand, a *recording.Accel) {
			everyAxis(a, func(_ int, x float64) float64 { return x * 9.8 })
		}},
		{name: "turned on its side half-way", after: func(_ *rand.Rand, a *recording.Accel) {
			for i := len(a.X) / 2; i < len(a.X); i++ {
				a.X[i], a.Y[i], a.Z[i] = a.Y[i], a.Z[i], a.X[i]
			}
		}},
		{name: "slips in a run", after: func(rng *rand.Rand, a *recording.Accel) {
			at := rng.IntN(len(a.X))
			for i := at; i < len(a.X); i++ {
				a.X[i] += 1.5
			}
		}},
		{name: "knocked", after: func(rng *rand.Rand, a *recording.Accel) {
			for range 60 {
				at := rng.IntN(len(a.X) - 20)
				for i := at; i < at+15; i++ {
					a.X[i] += 15 * rng.NormFloat64()
				}
			}
		}},
		{name: "one axis stuck", after: func(rng *rand.Rand, a *recording.Accel) {
			everyAxis(a, func(k int, x float64) float64 {
				if k == 1 {
					return 0.1
				}
				return x
			})
		}},
		{name: "nothing but noise", after: func(rng *rand.Rand, a *recording.Accel) {
			everyAxis(a, func(int, float64) float64 { return rng.NormFloat64() })
		}},
		{name: "resampled from another drive", after: func(rng *rand.Rand, a *recording.Accel) {
			n := len(a.X) / 3
			for i := range a.X {
				j := (i + n) % len(a.X)
				a.X[i], a.Y[i], a.Z[i] = a.X[j], a.Y[j], a.Z[j]
			}
		}},
	}
	rounds := uint64(1 + *fusedSessions/7)
	rx := synth.Receiver{Rate: 10, Noise: 0.05}
	var mu sync.Mutex
	each(len(faults)*int(rounds), func(k int) {
		f := faults[k%len(faults)]
		seed := uint64(k)*31 + 5
		rng := rand.New(rand.NewPCG(seed, 29))
		s := driven(t, seed, 3)
		acc := vibrating(rng)
		if f.spoil != nil {
			f.spoil(rng, &acc)
		}
		rec := s.Recording(rx, &acc, seed)
		if f.after != nil {
			f.after(rng, rec.Accel)
		}
		bare := *rec
		bare.Accel = nil
		log, fused := pair(t, s, rec)
		_, alone := pair(t, s, &bare)
		mu.Lock()
		defer mu.Unlock()
		worse, n, worst := 0, 0, 0.0
		byRun := map[*synth.Run]*TimedRun{}
		for r, d := range alone {
			byRun[d] = r
		}
		for r, d := range fused {
			for _, m := range r.Times {
				o, ok := byRun[d].Time(m.Name, m.From)
				want, known := truth(d, m)
				if !ok || !known {
					continue
				}
				n++
				excess := (math.Abs(m.Seconds-want) - math.Abs(o.Seconds-want)) / m.U95
				worst = max(worst, excess)
				if excess > 1 {
					worse++
				}
			}
		}
		t.Logf("%-28s %-60.60s worse %d of %d, at most by %.2f intervals", f.name, log.Quality.Accel, worse, n, worst)
		// An interval of 95 % may miss.
		if worst > 2 || float64(worse) > 0.2*float64(n) {
			t.Errorf("%s (seed %d): %d of %d times worse than with the speed alone by more than their interval, the worst by %.1f", f.name, seed, worse, n, worst)
		}
		if len(fused) != len(alone) {
			t.Errorf("%s: %d runs with the accelerometer, %d without", f.name, len(fused), len(alone))
		}
	})
}

// everyAxis changes every reading of axes 0, 1 and 2.
func everyAxis(a *recording.Accel, fn func(axis int, x float64) float64) {
	for k, axis := range [][]float64{a.X, a.Y, a.Z} {
		for i, x := range axis {
			axis[i] = fn(k, x)
		}
	}
}

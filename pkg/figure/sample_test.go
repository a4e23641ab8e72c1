package figure

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// sampleRun integrates a van whose thrust builds up and is then limited by power
// (m/s², W/kg), with noise of our own on 10 Hz samples.
func sampleRun(id, mode string, grip, power float64, seed uint64) *session.TimedRun {
	rng := rand.New(rand.NewPCG(seed, 1))
	r := &session.TimedRun{ID: id, Mode: mode, Kind: segment.StandingStart, Counted: true, HeadingDeg: 74,
		Launch: time.Date(2026, 6, 14, 9, 58, 43, 0, time.UTC), LaunchSD: 0.02}
	const dt = 0.01
	s, v := 0.0, 0.0
	for i := -100; i < 1800; i++ {
		t := float64(i) * dt
		a := 0.0
		if i >= 0 {
			a = math.Min(grip*(1-math.Exp(-t/0.12)), power/math.Max(v, 1)) - 0.0004*v*v
			for _, shift := range []float64{3.1, 6.4} {
				if math.Abs(t-shift) < 0.15 {
					a *= 0.35
				}
			}
		}
		tr := &r.Trace
		tr.T, tr.S, tr.V, tr.A = append(tr.T, t), append(tr.S, s), append(tr.V, v), append(tr.A, a)
		tr.SS, tr.SV, tr.SA = append(tr.SS, 0.02), append(tr.SV, 0.03), append(tr.SA, 0.12)
		if i%10 == 0 {
			r.RawT, r.RawV, r.RawOut = append(r.RawT, t), append(r.RawV, v+0.05*rng.NormFloat64()), append(r.RawOut, false)
		}
		v += a * dt
		s += v * dt
	}
	r.MaxSpeed = v
	timeSample(r)
	return r
}

// timeSample times a run to the standard targets on its own trace.
func timeSample(r *session.TimedRun) {
	tr := &r.Trace
	cross := func(col []float64, x float64) float64 {
		for i := 1; i < len(col); i++ {
			if col[i] >= x && col[i-1] < x {
				return tr.T[i-1] + (x-col[i-1])/(col[i]-col[i-1])*(tr.T[i]-tr.T[i-1])
			}
		}
		return math.NaN()
	}
	r.Rollout, r.RolloutU95 = cross(tr.S, unit.Rollout), 0.03
	for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
		t0, s0, u := 0.0, 0.0, 0.09
		if from == timing.FromRollout {
			t0, s0, u = r.Rollout, unit.Rollout, 0.03
		}
		for _, tg := range timing.Standard() {
			end := cross(tr.V, tg.To)
			if tg.IsDistance() {
				end = cross(tr.S, s0+tg.Distance)
			}
			if tg.IsPull() || math.IsNaN(end) {
				continue
			}
			r.Times = append(r.Times, timing.Time{Name: tg.Name, From: from, Seconds: end - t0, U95: u, End: end})
		}
	}
}

// sampleRuns are n runs in each of three power maps.
func sampleRuns(n int) []*session.TimedRun {
	var out []*session.TimedRun
	for m, mode := range []string{"eco", "road", "load"} {
		for i := range n {
			out = append(out, sampleRun(fmt.Sprintf("%s#%d", mode, i+1), mode, 3.4+0.7*float64(m), 70+14*float64(m)+float64(i), uint64(10*m+i)))
		}
	}
	return out
}

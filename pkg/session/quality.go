package session

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"time"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/stats"
	"fromrest/pkg/synth"

	"golang.org/x/sync/errgroup"
)

// describe fills in what the samples tell of the log.
func (l *Log) describe(s *estimate.Samples, tr *recording.Track) {
	l.Start, l.End = tr.TimeAt(0), tr.TimeAt(tr.Len()-1)
	rate := 0.0
	if s.Step > 0 {
		rate = 1 / s.Step
		// A cadence printed in milliseconds is 10 Hz, not 9.99.
		if r := math.Round(rate); r > 0 && math.Abs(rate-r) < rateSlack*r {
			rate = r
		}
	}
	l.Quality = Quality{Source: s.Source, Track: s.Name, Fixes: tr.Len(), Rate: rate,
		Gaps: s.Gaps, GapSeconds: s.GapSeconds, LongestGap: s.LongestGap, Jitter: s.Jitter,
		SpeedNoise: s.SD, NoiseFrom: s.From, Correlated: s.Rho, SpeedStep: s.Quantum,
		StaticHold: s.Static, Unseen: s.Hold, HeldFor: s.HeldFor, Course: s.Signed}
	for _, c := range s.Course {
		if !math.IsNaN(c) {
			l.Quality.Courses++
		}
	}
}

// expectedTargets are the times whose half-width a log is judged by.
var expectedTargets = []string{"0-30 mph", "0-60 mph", "1/4 mile"}

// Judge works out what all logs are worth, on every core.
func (r *Result) Judge() {
	var g errgroup.Group
	g.SetLimit(runtime.GOMAXPROCS(0))
	for _, l := range r.Logs {
		if l.Worth != nil {
			g.Go(func() error { _ = l.Worth(); return nil })
		}
	}
	_ = g.Wait() // it has no errors
}

// judge finds the half-widths that times from this log have: those of its own runs
// where it has any, else of a simulated van seen by a receiver like this one. What
// would improve them is found the same way.
func (l *Log) judge(runs []*TimedRun) Judgement {
	now := l.receiver()
	j := Judgement{Expected: observed(runs)}
	if len(j.Expected) < 2*len(expectedTargets) {
		j.Expected = filledUp(j.Expected, simulated(now, false))
	}
	j.Advice = l.advise(now, j.Expected)
	return j
}

// receiver is a simulated receiver with the log's own qualities.
func (l *Log) receiver() synth.Receiver {
	q := &l.Quality
	rho := q.Correlated
	if rho <= 0 {
		rho = -1
	}
	return synth.Receiver{Rate: max(q.Rate, rateLeast), Noise: q.SpeedNoise, Correlation: rho, Hold: q.Unseen, Step: q.SpeedStep, NoPosition: true}
}

// halfWidths sums up the half-widths of each of the times that a log is judged by,
// over runs that have it.
func halfWidths(runs [][]timing.Time, sumUp func([]float64) float64, own bool) []Expected {
	var out []Expected
	for _, name := range expectedTargets {
		for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
			var u []float64
			for _, t := range slices.Concat(runs...) {
				if t.Name == name && t.From == from {
					u = append(u, t.U95)
				}
			}
			if len(u) > 0 {
				e := Expected{Name: name, From: from, U95: sumUp(u)}
				if own {
					e.Runs = len(u)
				}
				out = append(out, e)
			}
		}
	}
	return out
}

// observed takes the median half-widths of the log's own standing starts, as they are timed
// alone: what other logs teach them is not this log's worth.
func observed(runs []*TimedRun) []Expected {
	var times [][]timing.Time
	for _, r := range runs {
		if r.base != nil {
			r = r.base
		}
		if r.Kind == segment.StandingStart {
			times = append(times, slices.DeleteFunc(slices.Clone(r.Times), func(t timing.Time) bool { return t.Reason != "" }))
		}
	}
	return halfWidths(times, stats.Middle, true)
}

// filledUp are half-widths of the log's own runs with those of a simulated van at targets that
// they did not reach.
func filledUp(own, van []Expected) []Expected {
	for i, e := range van {
		if k := slices.IndexFunc(own, func(o Expected) bool { return o.Name == e.Name && o.From == e.From }); k >= 0 {
			van[i] = own[k]
		}
	}
	return van
}

// simulated is the mean half-width over a few starts of a simulated van, seen by
// a receiver and, where fused, by an accelerometer of 100 samples a second.
func simulated(rx synth.Receiver, fused bool) []Expected {
	var times [][]timing.Time
	var tgs []timing.Target
	for _, name := range expectedTargets {
		t, err := timing.ParseTarget(name)
		if err != nil {
			continue
		}
		tgs = append(tgs, t)
	}
	for seed := range uint64(simStarts) {
		tr, err := synth.SimulateRun(rand.New(rand.NewPCG(seed, simStream)), synth.Automatic(), synth.Road{}, synth.Variation{})
		if err != nil {
			continue
		}
		drive := synth.Single(tr, simHeading, simRest+simRestStep*float64(seed))
		s, err := estimate.Prepare(drive.Track(rx, seed))
		if err != nil {
			continue
		}
		if fused {
			attachIdeal(s, drive, seed)
		}
		for _, sg := range segment.Find(s.SegmentInput()) {
			if sg.Kind != segment.StandingStart {
				continue
			}
			e, err := s.Run(context.Background(), window(&sg))
			if err != nil {
				continue
			}
			times = append(times, timing.Measure(e, tgs).Times)
			break
		}
	}
	return halfWidths(times, func(u []float64) float64 {
		sum := 0.0
		for _, x := range u {
			sum += x
		}
		return sum / float64(len(u))
	}, false)
}

// attachIdeal gives simulated samples an accelerometer that is well aligned.
func attachIdeal(s *estimate.Samples, drive *synth.Session, seed uint64) {
	a := drive.Accel(synth.Accelerometer{Noise: idealVibration}, seed)
	f := &estimate.Forward{A: a.X, Rate: idealRate, Rest: idealVibration, Moving: idealVibration, OffsetU: idealOffset}
	for _, n := range a.NanoUTC {
		f.T = append(f.T, float64(n-recording.Nano(s.Start))/float64(time.Second))
	}
	s.Attach(f)
}

// advise says what would narrow the intervals that are expected, and to what: settings first,
// then what is driven and where the antenna is, then what has to be bought.
func (l *Log) advise(now synth.Receiver, expected []Expected) (advice []string) {
	q := &l.Quality
	if q.InertialOnly {
		return append(advice, "Log the speed of a GNSS receiver beside the accelerometer: it tells the gain, which all times share here.")
	}
	asIs := simulated(now, false)
	try := func(rx synth.Receiver, fused bool, origin timing.Origin, text string) {
		if q.Fused() {
			return // what the receiver alone would gain is not what both would
		}
		base, u, told := pick(asIs, origin), pick(simulated(rx, fused), origin), pick(expected, origin)
		if !fused && base > 0 { // what else widens the interval stays
			u *= told / base
		}
		if u > 0 && base > 0 && u < worthwhile*told {
			advice = append(advice, fmt.Sprintf("%s: a 0-60 mph time %s would be good to about ±%.2g s instead of ±%.2g s.", text, from(origin), u, told))
		}
	}
	if q.StaticHold > 0 && q.Source != recording.Wheel {
		advice = append(advice, "Switch static hold off in the receiver: it hides the first motion.")
	}
	if q.SpeedStep > coarse {
		fine := now
		fine.Step, fine.Hold = fineStep, 0
		try(fine, false, timing.FromRollout, "Have speed written with more decimals")
	}
	if sm := q.Smoothing; sm != nil && sm.Most > muchUnseen {
		advice = append(advice, "How the receiver smooths speed is not in this log: an accelerometer or a second logger beside it would settle it, and so would a stop in the log, braked firmly to a standstill, where the course is closed, nobody is behind and the load is secured.")
	}
	if q.Source == recording.GNSS && q.SpeedNoise > noisy {
		calm := now
		calm.Noise /= 2
		try(calm, false, timing.FromRollout, "An open sky and an antenna on the roof often halve the noise of speed")
	}
	if q.Rate < fastRate {
		faster := now
		faster.Rate = twentyFive
		if q.Rate < middlingRate {
			faster.Rate = tenHertz
		}
		try(faster, false, timing.FromRollout, fmt.Sprintf("Log at %.0f samples a second if the receiver can", faster.Rate))
	}
	if q.HeldFor > 0 {
		advice = append(advice, fmt.Sprintf("Values are refreshed only about every %.2g s: ask the vehicle bus for speed alone, or use a GNSS receiver.", q.HeldFor))
	}
	try(now, true, timing.FromRest, "Log an accelerometer of 100 samples a second beside it")
	return advice
}

// pick finds the half-width of the time to 60 mph in a list, 0 if absent.
func pick(list []Expected, from timing.Origin) float64 {
	for _, e := range list {
		if e.Name == "0-60 mph" && e.From == from {
			return e.U95
		}
	}
	return 0
}

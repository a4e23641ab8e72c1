package report

import (
	"math"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/motion"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/session"
	"fromrest/pkg/unit"
)

// sample is a made-up result: two modes of a van that accelerates evenly, four
// runs, one of them excluded, one log damaged. Constant acceleration gives times
// that can be checked in the head: v/a and √(2s/a).
func sample() *session.Result {
	day := time.Date(2026, 6, 14, 9, 58, 43, 123456000, time.UTC)
	logs := []*session.Log{
		{Path: "logs/calm.nmea", Name: "calm", Mode: "calm", Format: "nmea", SHA256: "00ff", Bytes: 1000,
			Start: day.Add(-time.Minute), End: day.Add(10 * time.Minute), Clock: "utc",
			Quality: session.Quality{Source: recording.GNSS, Track: "RMC", Fixes: 6600, Rate: 10, SpeedNoise: 0.05,
				NoiseFrom: "standstill", Correlated: 0.35, SpeedStep: 0.001 * unit.Knot, Course: true},
			Worth: func() session.Judgement {
				return session.Judgement{Expected: []session.Expected{{Name: "0-60 mph", From: timing.FromRest, U95: 0.11}, {Name: "0-60 mph", From: timing.FromRollout, U95: 0.04}},
					Advice: []string{"Log at 25 samples a second if the receiver can."}}
			}, Problems: &diag.List{}},
		{Path: "logs/full.nmea", Name: "full", Mode: "full", Format: "nmea", SHA256: "ff00", Bytes: 2000,
			Start: day, End: day.Add(20 * time.Minute), Clock: "utc",
			Quality:  session.Quality{Source: recording.GNSS, Fixes: 100, Rate: 5, Gaps: 2, GapSeconds: 3.5, LongestGap: 2.5, StaticHold: 0.5},
			Problems: &diag.List{}},
	}
	for i := range 3 {
		logs[1].Problems.Addf("checksum", diag.Dropped, 12+i, "checksum mismatch")
	}
	res := &session.Result{Logs: logs, Warnings: []string{"full was driven one way only."},
		Settings: session.Settings{Version: "test", Model: session.ModelRevision, Units: "mph", Rollout: unit.Rollout}}
	for _, t := range timing.Standard() {
		res.Settings.Targets = append(res.Settings.Targets, t.Name)
	}
	res.Runs = []*session.TimedRun{
		sampleRun("calm#1", logs[0], day, 3, 64), sampleRun("calm#2", logs[0], day.Add(time.Minute), 3.2, 244),
		sampleRun("full#1", logs[1], day.Add(5*time.Minute), 4, 64), sampleRun("full#2", logs[1], day.Add(6*time.Minute), 4.5, math.NaN()),
	}
	bad := res.Runs[3]
	bad.Counted, bad.Excluded = false, "tyres | cold"
	bad.Flags = []segment.Flag{{Code: segment.FlagLift, Text: "no tractive force for 1.3 s at 30 mph"}}
	for i := range bad.Times {
		if bad.Times[i].Name == "0-60 mph" {
			bad.Times[i].Doubt = segment.FlagLift
		}
	}
	return res
}

// sampleRun covers ground at a constant acceleration of a m/s² for 16 s.
func sampleRun(id string, log *session.Log, launch time.Time, a, deg float64) *session.TimedRun {
	r := &session.TimedRun{ID: id, Log: log, Mode: log.Mode, Kind: segment.StandingStart, Launch: launch, LaunchSD: 0.02,
		LogSeconds: launch.Sub(log.Start).Seconds(), HeadingDeg: deg, MaxSpeed: 16 * a, PeakAccel: a, PeakAccelU95: 0.4,
		Rollout: math.Sqrt(2 * unit.Rollout / a), RolloutU95: 0.06, Counted: true}
	for _, from := range []timing.Origin{timing.FromRest, timing.FromRollout} {
		for _, t := range timing.Standard() {
			s0, t0, u := 0.0, 0.0, 0.0951
			if from == timing.FromRollout {
				s0, t0, u = unit.Rollout, r.Rollout, 0.0312
			}
			end := t.To / a
			tm := timing.Time{Name: t.Name, From: from, U95: u, TrapSpeed: math.NaN(), TrapU95: math.NaN(), EndSpeed: math.NaN(), EndU95: math.NaN()}
			if t.IsDistance() {
				end = math.Sqrt(2 * (t.Distance + s0) / a)
				tm.EndSpeed, tm.EndU95 = a*end, 0.05
				if t.Distance > 30 {
					tm.TrapSpeed, tm.TrapU95 = a*end-1, 0.04
				}
			}
			if t.IsPull() || end > 16 {
				continue
			}
			tm.Seconds, tm.End, tm.Distance = end-t0, end, a*end*end/2-s0
			r.Times = append(r.Times, tm)
		}
	}
	r.Pulls = []timing.Time{{Name: "30-50 mph", From: timing.FromSpeed, Seconds: 20 * unit.MPH / a, U95: 0.05, TrapSpeed: math.NaN(), EndSpeed: math.NaN()}}
	tr := motion.Trace{}
	for t := -0.5; t <= 16; t += 0.05 {
		v := a * math.Max(t, 0)
		tr.T, tr.S, tr.V, tr.A = append(tr.T, t), append(tr.S, v*v/2/a), append(tr.V, v), append(tr.A, a)
		tr.SS, tr.SV, tr.SA = append(tr.SS, 0.02), append(tr.SV, 0.03), append(tr.SA, 0.2)
	}
	r.Trace = tr
	return r
}

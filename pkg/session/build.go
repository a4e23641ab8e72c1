package session

import (
	"context"
	"errors"
	"fmt"
	"math"
	"sort"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// window is the part of the log that a segment is estimated in.
func window(sg *segment.Segment) estimate.Window {
	return estimate.Window{From: sg.From, To: sg.To, Moving: sg.Moving,
		Standing: sg.Kind != segment.Rolling, Reversed: sg.Kind == segment.Braking}
}

// listed reports whether a segment is shown without being asked for.
func listed(sg *segment.Segment) bool {
	switch sg.Kind {
	case segment.StandingStart:
		return !has(sg, segment.FlagShort)
	case segment.Rolling:
		return sg.Max >= segment.ListedSpeed && (has(sg, segment.FlagRollingStart) || has(sg, segment.FlagLogStart))
	}
	return false
}

func has(sg *segment.Segment, code string) bool {
	for _, f := range sg.Flags {
		if f.Code == code {
			return true
		}
	}
	return false
}

// runs finds and times the runs of one log. Ids are numbers here; the log's name
// comes in front once all logs are known.
func (p *pipeline) runs(ctx context.Context, log *Log, rec *recording.Recording, s *estimate.Samples, tr *recording.Track) ([]*TimedRun, error) {
	var out []*TimedRun
	number := map[string]int{}
	others := othersOf(rec, tr)
	for _, sg := range segment.Find(s.SegmentInput()) {
		prefix := extraName(&sg)
		if prefix == "" {
			number[""]++
		}
		if prefix != "" {
			if !p.opts.All {
				continue
			}
			number[prefix]++
		}
		e, err := s.Run(ctx, window(&sg))
		if errors.Is(err, estimate.ErrNoLaunch) {
			if prefix == "" {
				at := s.Start.Add(time.Duration(s.T[sg.Moving] * 1e9)).Format("15:04:05")
				log.Problems.Add(diag.Problem{Kind: "no-launch", Effect: diag.Dropped, Text: "the start at " + at + " could not be timed: no launch fits its samples"})
			}
			continue
		}
		if err != nil {
			return nil, err
		}
		r := p.build(log, s, &sg, e)
		if e.Misfit {
			if o, err := p.alone(ctx, log, s, &sg); err == nil {
				r = o
			}
		}
		r.ID = fmt.Sprintf("%s%d", prefix, number[prefix])
		crossCheck(r, &sg, s, tr, others)
		r.count()
		out = append(out, r)
	}
	return out, nil
}

// extraName is the prefix of the number of a run that is listed only on demand,
// so that the numbers of the others never change; "" for the others.
func extraName(sg *segment.Segment) string {
	switch {
	case listed(sg):
		return ""
	case sg.Kind == segment.Braking:
		return "stop"
	case sg.Kind == segment.Rolling:
		return "pull"
	}
	return "short"
}

// build measures one segment.
func (p *pipeline) build(log *Log, s *estimate.Samples, sg *segment.Segment, e *estimate.Estimate) *TimedRun {
	r := &TimedRun{Log: log, Mode: log.Mode, Kind: sg.Kind, HeadingDeg: e.Heading, LaunchSD: e.Launch.U}
	at := e.Launch.X
	t, v, out := e.Raw()
	if sg.Kind == segment.Braking {
		st, m := timing.MeasureStop(e, p.settings().Units)
		r.Stop = &st
		r.Trace, r.MaxSpeed = forward(m.Trace), m.MaxSpeed
		at = -e.End()
		reverse(t, v, out)
		for i := range r.Trace.T { // count from where braking begins
			r.Trace.T[i] += -e.Launch.X - at
		}
	} else {
		m := timing.Measure(e, p.targets)
		r.Times, r.Pulls, r.Trace, r.MaxSpeed = m.Times, m.Pulls, m.Trace, m.MaxSpeed
		r.PeakAccel, r.PeakAccelU95 = m.Peak.X, m.Peak.U95()
		r.MeanAccel, r.MeanAccelU95 = m.Mean.X, m.Mean.U95()
		r.Rollout, r.RolloutU95 = m.Rollout.X, m.Rollout.U95()
	}
	r.LogSeconds = at
	r.Launch = s.Start.Add(time.Duration(math.Round(at * 1e9)))
	r.RawT, r.RawV, r.RawOut = t, v, out
	for i := range r.RawT {
		r.RawT[i] -= at
	}
	r.rawAccel(s.Accel)
	for _, list := range [][]timing.Time{r.Times, r.Pulls} {
		for i := range list {
			list[i].Seconds, list[i].U95 = micro(list[i].Seconds), micro(list[i].U95)
		}
	}
	r.flags(sg, s, e, at)
	return r
}

// micro rounds to a millionth: every output starts from the same digits.
func micro(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// reverse turns the samples of a braking back into the order of the clock.
func reverse(t, v []float64, out []bool) {
	for i, j := 0, len(t)-1; i < j; i, j = i+1, j-1 {
		t[i], t[j] = t[j], t[i]
		v[i], v[j] = v[j], v[i]
		out[i], out[j] = out[j], out[i]
	}
	for i := range t {
		t[i] = -t[i]
	}
}

// flags takes over the segment's flags, adds those that the estimate shows, and
// marks the times they touch.
func (r *TimedRun) flags(sg *segment.Segment, s *estimate.Samples, e *estimate.Estimate, at float64) {
	fl := append([]segment.TimedFlag(nil), sg.Flags...)
	if sg.Kind == segment.StandingStart {
		fl = append(fl, lifts(r, at, fl)...)
	}
	if e.SetAside > 0 {
		fl = append(fl, segment.TimedFlag{Flag: segment.Flag{Code: segment.FlagOutlier,
			Text: plural(e.SetAside, "sample") + " far off the others set aside"}, Begin: math.Inf(1)})
	}
	if s.HeldFor > 0 {
		fl = append(fl, segment.TimedFlag{Flag: segment.Flag{Code: segment.FlagHeld,
			Text: fmt.Sprintf("speed values are refreshed only about every %.2g s", s.HeldFor)}, Begin: math.Inf(1)})
	}
	sort.SliceStable(fl, func(i, j int) bool { return fl[i].Begin < fl[j].Begin })
	seen := map[string]bool{}
	for _, f := range fl {
		if !seen[f.Code] {
			r.Flags = append(r.Flags, f.Flag)
		}
		seen[f.Code] = true
		if f.Code != segment.FlagLift && f.Code != segment.FlagGap {
			continue
		}
		for i := range r.Times {
			if t := &r.Times[i]; t.Doubt == "" && t.End > f.Begin-at {
				t.Doubt = f.Code
			}
		}
		for i := range r.Pulls {
			if t := &r.Pulls[i]; t.Doubt == "" && t.End > f.Begin-at && t.End-t.Seconds < f.End-at {
				t.Doubt = f.Code
			}
		}
	}
}

func plural(n int, word string) string {
	if n == 1 {
		return "1 " + word
	}
	return fmt.Sprintf("%d %ss", n, word)
}

// Limits that tell a lift from a gear shift, which takes up to about 0.8 s and
// costs hardly any speed (common practice).
const (
	liftSeconds = 1.0 // s without thrust
	liftLoss    = 0.6 // m/s lost
	idleSeconds = 2.0 // s held at a speed
	goesOn      = 1.5 // m/s gained afterwards, so that it was not the end
)

// lifts looks for thrust taken away and given again: loss of speed longer or
// deeper than a shift, or a speed held, with more speed after it.
func lifts(r *TimedRun, at float64, known []segment.TimedFlag) []segment.TimedFlag {
	for _, f := range known {
		if f.Code == segment.FlagLift {
			return nil
		}
	}
	tr := &r.Trace
	for i := 0; i < tr.Len(); i++ {
		if tr.T[i] < 0.6 || tr.V[i] < 1 || tr.A[i] > 0.25 {
			continue
		}
		j := i
		for j+1 < tr.Len() && tr.A[j+1] <= 0.25 {
			j++
		}
		later := 0.0
		for _, v := range tr.V[j:] {
			later = max(later, v)
		}
		loss, span := tr.V[i]-tr.V[j], tr.T[j]-tr.T[i]
		sure := loss > 2.5*(tr.SV[i]+tr.SV[j])
		if later > tr.V[j]+goesOn && (span > liftSeconds && loss > 0.1 && sure || loss > liftLoss && sure || span > idleSeconds) {
			return []segment.TimedFlag{{Flag: segment.Flag{Code: segment.FlagLift,
				Text: fmt.Sprintf("no thrust for %.1f s at %.0f mph", span, tr.V[i]/unit.MPH)}, Begin: at + tr.T[i], End: at + tr.T[j]}}
		}
		i = j
	}
	return nil
}

// count decides whether a run takes part in means: a standing start with nothing
// that spoils it.
func (r *TimedRun) count() {
	r.Counted = r.Kind == segment.StandingStart
	if !r.Counted {
		r.Excluded = "not a standing start"
	}
	for _, f := range r.Flags {
		switch f.Code {
		case segment.FlagLift, segment.FlagTurn, segment.FlagRollingStart, segment.FlagLogStart, segment.FlagShort, segment.FlagCreep:
			r.Counted, r.Excluded = false, f.Text
			return
		}
	}
}

// crossCheck compares the run with the log's other sources of speed and with its
// positions. Two that differ by more than both allow are flagged.
func crossCheck(r *TimedRun, sg *segment.Segment, s *estimate.Samples, tr *recording.Track, others func() []other) {
	if sg.Kind != segment.StandingStart || s.Source == recording.Position {
		return
	}
	if text := positionsDiffer(r, s, tr); text != "" {
		r.Flags = append(r.Flags, segment.Flag{Code: segment.FlagDisagrees, Text: text})
		return
	}
	for _, o := range others() {
		if text := sourceDiffers(r, s, o); text != "" {
			r.Flags = append(r.Flags, segment.Flag{Code: segment.FlagDisagrees, Text: text})
			return
		}
	}
}

package session

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"fromrest/pkg/diag"
	"fromrest/pkg/motion"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"

	"golang.org/x/sync/errgroup"
)

// window is the part of the log that a segment is estimated in.
func window(sg *segment.Segment) estimate.Window {
	return estimate.Window{From: sg.From, To: sg.To, Moving: sg.Moving,
		Standing: sg.Kind != segment.Rolling, Reversed: sg.Kind == segment.Braking}
}

func has(sg *segment.Segment, code string) bool {
	return slices.ContainsFunc(sg.Flags, func(f segment.TimedFlag) bool { return f.Code == code })
}

// runs finds and times the runs of one log, on the cores that the call has for it. Ids are
// numbers here, which go on from those given; the log's name comes in front once all logs are known.
func (p *pipeline) runs(ctx context.Context, log *Log, rec *recording.Recording, s *estimate.Samples, tr *recording.Track, number map[string]int) ([]*TimedRun, error) {
	others := othersOf(rec, tr)
	all := segment.Find(s.SegmentInput())
	if err := s.LearnSmoothing(ctx, listed(all), profileOf(&p.opts.Receiver)); err != nil {
		return nil, err
	}
	if s.Accel == nil {
		log.Quality.Smoothing = smoothing(&s.Smoothing, s.Static > 0, &p.opts.Receiver)
	}
	var found []segment.Segment
	var ids []string
	for _, sg := range all {
		prefix := extraName(&sg)
		if prefix != "" && !p.opts.All {
			continue
		}
		number[prefix]++
		found, ids = append(found, sg), append(ids, fmt.Sprintf("%s%d", prefix, number[prefix]))
	}
	done := make([]*TimedRun, len(found))
	log.lean = p.lean(log, len(found))
	var g errgroup.Group
	g.SetLimit(max(p.readers, 1))
	for i := range found {
		g.Go(func() (err error) {
			defer recovered(&err)
			r, err := p.run(ctx, log, &found[i], s, tr, others)
			if r != nil {
				r.climb(rec, s.Start)
				r.halt(s)
				r.ground(rec, s)
				r.close = r.closer(log.Quality.late())
				if log.lean {
					r.cutLong()
				}
				if log.long && (log.lean || p.opts.Shelve) {
					p.shelve(r)
				}
			}
			done[i] = r
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	var out []*TimedRun
	for i, r := range done {
		sg := &found[i]
		if r != nil {
			r.ID = ids[i]
			out = append(out, r)
		} else if extraName(sg) == "" {
			at := s.Start.Add(time.Duration(s.T[sg.Moving] * float64(time.Second))).Format("15:04:05")
			log.Problems.Add(diag.Problem{Kind: "no-launch", Effect: diag.Dropped, Text: "the start at " + at + " could not be timed: no launch fits its samples"})
		}
	}
	return out, nil
}

// listed are the windows of the standing starts that are listed.
func listed(all []segment.Segment) (out []estimate.Window) {
	for i := range all {
		if sg := &all[i]; sg.Kind == segment.StandingStart && extraName(sg) == "" {
			out = append(out, window(sg))
		}
	}
	return out
}

// recovered makes an error of a panic on hostile data.
func recovered(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("the log could not be analysed: %v", r)
	}
}

// run times one run, nil where no launch fits its samples.
func (p *pipeline) run(ctx context.Context, log *Log, sg *segment.Segment, s *estimate.Samples, tr *recording.Track, others func() []other) (*TimedRun, error) {
	e, err := s.Run(ctx, window(sg))
	if errors.Is(err, estimate.ErrNoLaunch) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	r := p.build(log, s, sg, e)
	if e.Misfit {
		if o, err := p.alone(ctx, log, s, sg); err == nil {
			r = o
		}
	}
	crossCheck(r, sg, s, tr, others)
	r.count()
	return r, nil
}

// extraName is the prefix of the number of a run that is listed only on demand,
// so that the numbers of the others never change; "" for the others.
func extraName(sg *segment.Segment) string {
	switch {
	case sg.Kind == segment.Braking:
		return "stop"
	case sg.Kind == segment.StandingStart && has(sg, segment.FlagShort):
		return "short"
	case sg.Kind == segment.Rolling && !(sg.Max >= segment.ListedSpeed && (has(sg, segment.FlagRollingStart) || has(sg, segment.FlagLogStart))):
		return "pull"
	}
	return ""
}

// build measures one segment.
func (p *pipeline) build(log *Log, s *estimate.Samples, sg *segment.Segment, e *estimate.Estimate) *TimedRun {
	r := &TimedRun{Log: log, Mode: log.Mode, Kind: sg.Kind, HeadingDeg: e.Heading, LaunchSD: e.Launch.U}
	at := e.Launch.X
	t, v, out := e.Raw()
	if sg.Kind == segment.Braking {
		st, m := timing.MeasureStop(e, p.settings().Units)
		r.Stop = &st
		r.Trace, r.MaxSpeed = m.Trace, m.MaxSpeed
		at = -e.End()
		forward(&r.Trace)
		for i := range r.Trace.T { // count from where braking begins
			r.Trace.T[i] += -e.Launch.X - at
		}
		turn(t, v)
		slices.Reverse(out)
	} else {
		m := timing.Measure(e, p.targets)
		r.Times, r.Pulls, r.Trace, r.MaxSpeed = m.Times, m.Pulls, m.Trace, m.MaxSpeed
		r.Launches = m.Launches
		r.PeakAccel, r.PeakAccelU95 = m.Peak.X, m.Peak.U95()
		r.MeanAccel = m.Mean.X
		r.Rollout, r.RolloutU95 = m.Rollout.X, m.Rollout.U95()
	}
	r.LogSeconds = at
	r.Launch = s.Start.Add(time.Duration(math.Round(at * float64(time.Second))))
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
	r.known()
	return r
}

// micro rounds to a millionth: every output starts from the same digits.
func micro(x float64) float64 { return math.Round(x*1e6) / 1e6 }

// forward turns the trace of a reversed window back: time and distance count from
// its begin, acceleration keeps its sign in the direction of travel.
func forward(tr *motion.Trace) {
	if tr.Len() == 0 {
		return
	}
	turn(tr.T, tr.S, tr.V, tr.A, tr.SS, tr.SV, tr.SA)
	end := tr.S[0]
	for i := range tr.T {
		tr.S[i], tr.A[i] = end-tr.S[i], -tr.A[i]
	}
}

// turn puts columns back into the order of the clock, the first of which is time.
func turn(t []float64, others ...[]float64) {
	for i := range t {
		t[i] = -t[i]
	}
	for _, col := range append(others, t) {
		slices.Reverse(col)
	}
}

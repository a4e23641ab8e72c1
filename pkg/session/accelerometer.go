package session

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"fromrest/pkg/motion/accel"
	"fromrest/pkg/motion/align"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/inertial"
	"fromrest/pkg/motion/ramp"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/recording"
)

// sensors prepares what the runs are timed from: the best speed of the log with
// its accelerometer, or the accelerometer alone.
func (l *Log) sensors(ctx context.Context, rec *recording.Recording) (*estimate.Samples, *recording.Track, error) {
	s, track, err := best(rec)
	if errors.Is(err, estimate.ErrNoSpeed) && rec.Accel.Len() > 0 {
		return l.integrate(ctx, rec.Accel)
	}
	if err != nil {
		return nil, nil, err
	}
	l.describe(s, track)
	return s, track, l.fuse(ctx, rec.Accel, s)
}

// integrate makes samples of an accelerometer that has no speed beside it.
func (l *Log) integrate(ctx context.Context, a *recording.Accel) (*estimate.Samples, *recording.Track, error) {
	alone, err := inertial.Reckon(ctx, a)
	if err != nil {
		return nil, nil, err
	}
	al := alone.Align
	if al.Reason != "" {
		return nil, nil, fmt.Errorf("%w, and its accelerometer cannot stand in for it: %s", estimate.ErrNoSpeed, al.Reason)
	}
	var cols [recording.Columns][]float64
	cols[recording.Speed] = make([]float64, len(alone.T))
	nano := make([]int64, len(alone.T))
	for i, t := range alone.T {
		nano[i] = a.NanoUTC[0] + int64(math.Round(t*float64(time.Second)))
		cols[recording.Speed][i] = math.Abs(alone.V[i])
	}
	track := recording.TrackOf(nano, cols)
	track.Source, track.Name = recording.Inertial, "accelerometer"
	start := recording.Instant(a.NanoUTC[0])
	f := forwardOf(al, a, start)
	s := estimate.Integrated(start, alone.T, alone.V, alone.Rest, f, al.Gain.U/al.Gain.X)
	s.Attach(f)
	l.describe(s, track)
	q := &l.Quality
	q.InertialOnly = true
	q.Alignment, q.Rate, q.Fixes, q.SpeedNoise, q.NoiseFrom = al, al.Rate, a.Len(), 0, ""
	q.Accel = fmt.Sprintf("%.0f Hz, the only sensor: its speed is integrated between standstills, and all times share the uncertainty of its gain", al.Rate)
	return s, track, nil
}

// forwardOf is the forward axis of an aligned accelerometer on a clock that
// begins at start.
func forwardOf(al *accel.Alignment, a *recording.Accel, start time.Time) *estimate.Forward {
	f := &estimate.Forward{Rate: al.Rate, Rest: al.Rest, Moving: al.Moving, Rho: al.Rho, OffsetU: al.Offset.U, DriftU: al.Drift.U,
		Middle: al.Middle.Sub(start).Seconds(), BiasU: al.Bias.U * al.Gain.X}
	f.T, f.A, f.Bad = al.ForwardSamples(a, start)
	return f
}

// speedOf are the samples as an accelerometer is held against them.
func speedOf(s *estimate.Samples) align.Speed {
	u := make([]float64, len(s.T))
	v := slices.Clone(s.Speed)
	step := s.Quantum / math.Sqrt(12)
	for i := range v {
		if u[i] = math.Hypot(s.SD, step); s.Out[i] {
			v[i] = math.NaN()
		}
	}
	return align.Speed{Start: s.Start, T: s.T, V: v, U: u}
}

// fuse aligns the log's accelerometer with its speed and hands its forward axis
// to the samples. Where both tell that the receiver smooths speed, that is taken
// out first. A sensor that is not fit for use is left out with the reason
// in Quality.Accel, and the times are those of the speed alone.
func (l *Log) fuse(ctx context.Context, a *recording.Accel, s *estimate.Samples) error {
	if a.Len() == 0 {
		return nil
	}
	al, err := align.Align(ctx, a, speedOf(s))
	if err != nil {
		return err
	}
	if s.Source == recording.GNSS && s.Step <= slowestSmoothed {
		tau, err := align.ReceiverLag(ctx, a, speedOf(s), al)
		if err != nil {
			return err
		}
		if tau > 0 {
			s.Undo(tau)
			l.Quality.Smoothing = &Smoothing{Delay: tau, Likely: 1, Filter: "first order", Kind: kinds[ramp.FirstOrder], Beside: true, Logs: 1}
			if al, err = align.Align(ctx, a, speedOf(s)); err != nil {
				return err
			}
		}
	}
	l.Quality.Alignment = al
	if al.Reason != "" {
		l.Quality.Accel = "set aside: " + al.Reason
		return nil
	}
	s.Attach(forwardOf(al, a, s.Start))
	l.Quality.Accel = fmt.Sprintf("%.0f Hz, used together with the speed", al.Rate)
	if al.Note != "" {
		l.Quality.Accel += "; " + al.Note
	}
	return nil
}

// rawAccel returns the forward samples of the accelerometer over the run's trace:
// s since the launch and m/s².
func (r *TimedRun) rawAccel(f *estimate.Forward) {
	n := r.Trace.Len()
	if f == nil || n == 0 {
		return
	}
	from, to := r.Trace.T[0]+r.LogSeconds, r.Trace.T[n-1]+r.LogSeconds
	for i := f.First(from); i < len(f.T) && f.T[i] <= to; i++ {
		if f.Bad == nil || !f.Bad[i] {
			r.RawAccelT = append(r.RawAccelT, f.T[i]-r.LogSeconds)
			r.RawAccel = append(r.RawAccel, f.A[i])
		}
	}
}

// alone times a run by the speed alone, where both sensors together lie farther
// from the speed than its noise explains: an accelerometer that moved, slipped or
// was disturbed must not spoil a time.
func (p *pipeline) alone(ctx context.Context, log *Log, s *estimate.Samples, sg *segment.Segment) (*TimedRun, error) {
	only := *s
	only.Accel = nil
	e, err := only.Run(ctx, window(sg))
	if err != nil {
		return nil, err
	}
	r := p.build(log, &only, sg, e)
	r.Flags = append(r.Flags, segment.Flag{Code: segment.FlagAccel, Text: "the accelerometer does not agree with the speed and was left out of this run"})
	return r, nil
}

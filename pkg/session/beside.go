package session

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/motion/align"
	"fromrest/pkg/motion/beside"
	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// Beside is two recordings of one drive held against each other.
type Beside struct {
	Log, Other *Log
	// Behind says how the first log's speed follows the other's; nil where Reason says why
	// that is not known.
	Behind *beside.Behind
	Reason string
	// Clocks is set where the clocks have no zero in common: what they are apart by and what
	// one shows later is one number then, and Behind.Late is both.
	Clocks  bool
	Sensors []BesideSensor
	// Common are the times of the drives that both saw, as witnesses tell them.
	Common []BesideTime
}

// BesideSensor is how late a log's speed is behind the accelerometer of either log.
type BesideSensor struct {
	Speed, Accel *Log
	Late         uncert.Value // s, with what smoothing adds
	Reason       string       // why it is not known, "" where it is
}

// BesideTime is a time that both logs have.
type BesideTime struct {
	Run   *TimedRun // of the other log
	Less  Parting   // its time less that of the first log
	Agree bool      // within both intervals
}

// RunBeside analyses a log and another one of the same drive, and holds them against each other. The
// result has both logs, the runs of the second as witnesses. The error is that of Run, or
// says that one of them gave nothing.
func RunBeside(ctx context.Context, in, other Input, opts Options) (*Result, *Beside, error) {
	other.witness = true
	res, err := Run(ctx, []Input{in, other}, opts)
	if err != nil {
		return nil, nil, err
	}
	if len(res.Failed) > 0 {
		return res, nil, res.Failed[0]
	}
	if len(res.Copies) > 0 {
		return res, nil, errors.New(res.Copies[0].Log.Path + " " + res.Copies[0].String())
	}
	if opts, err = opts.Reading(); err != nil {
		return nil, nil, err
	}
	b := &Beside{}
	for _, l := range res.Logs {
		if l.witness {
			b.Other = l
		} else {
			b.Log = l
		}
	}
	p := &pipeline{opts: opts, readers: 1}
	p.opts.Progress = nil
	if err := b.hold(ctx, p, in, other); err != nil {
		return nil, nil, err
	}
	for _, r := range res.Runs {
		for _, d := range r.Partings() {
			b.Common = append(b.Common, BesideTime{r, d, math.Abs(d.Seconds) <= d.U95})
		}
	}
	return res, b, nil
}

// speedBeside is the best speed of a log with its accelerometer, if any.
type speedBeside struct {
	log   *Log
	s     *estimate.Samples // nil without a speed
	accel *recording.Accel
}

// hold reads both logs again, for their samples, and compares them.
func (b *Beside) hold(ctx context.Context, p *pipeline, in, other Input) error {
	var both [2]speedBeside
	for i, at := range []Input{in, other} {
		lf, err := p.open(ctx, at, nil)
		if err != nil {
			return err
		}
		s, _, err := best(lf.Recording)
		if err != nil && !errors.Is(err, estimate.ErrNoSpeed) {
			return err
		}
		both[i] = speedBeside{[2]*Log{b.Log, b.Other}[i], s, lf.Recording.Accel}
	}
	if err := b.speeds(ctx, both[0].s, both[1].s); err != nil {
		return err
	}
	for _, pair := range [][2]int{{0, 1}, {1, 0}} {
		speed, accel := both[pair[0]], both[pair[1]]
		if speed.s == nil || accel.accel.Len() == 0 {
			continue
		}
		if err := b.sensor(ctx, speed, accel); err != nil {
			return err
		}
	}
	return nil
}

// speeds holds the speed of the log against that of the other.
func (b *Beside) speeds(ctx context.Context, s, o *estimate.Samples) error {
	if s == nil || o == nil {
		b.Reason = "one of them has no speed"
		return nil
	}
	shift := s.Start.Sub(o.Start).Seconds()
	mine, theirs := seriesOf(s, shift), seriesOf(o, 0)
	b.Clocks = (b.Log.Clock == "elapsed") != (b.Other.Clock == "elapsed") || b.Log.Undated != b.Other.Undated
	got, err := beside.Behind{}, beside.ErrUnlike
	if !b.Clocks {
		got, err = beside.Hold(ctx, theirs, mine, false)
	}
	if errors.Is(err, beside.ErrUnlike) && (!b.Log.dated() || !b.Other.dated()) {
		got, err = beside.Hold(ctx, theirs, mine, true)
		b.Clocks = err == nil
	}
	switch {
	case errors.Is(err, beside.ErrUnlike):
		b.Reason = err.Error()
	case err != nil:
		return err
	default:
		b.Behind = &got
	}
	return nil
}

// dated reports whether a log's instants are UTC.
func (l *Log) dated() bool { return !l.Undated && l.Clock != "elapsed" }

// seriesOf are samples as they are held against others, on a clock that is later by shift s.
func seriesOf(s *estimate.Samples, shift float64) beside.Series {
	out := beside.Series{T: make([]float64, len(s.T)), V: slices.Clone(s.Speed)}
	for i, t := range s.T {
		out.T[i] = t + shift
		if s.Out[i] {
			out.V[i] = math.NaN()
		}
	}
	return out
}

// sensor aligns the accelerometer of one log with the speed of the other.
func (b *Beside) sensor(ctx context.Context, speed, accel speedBeside) error {
	a := *accel.accel
	a.OwnClock = a.OwnClock || b.Clocks
	al, err := align.Align(ctx, &a, speedOf(speed.s))
	if err != nil {
		return err
	}
	out := BesideSensor{Speed: speed.log, Accel: accel.log, Late: al.Offset, Reason: al.Reason}
	if a.OwnClock && out.Reason == "" {
		out.Reason = "its clock has no zero in common with the speed's"
	}
	b.Sensors = append(b.Sensors, out)
	return nil
}

// disagree flags the drives that two logs saw otherwise than both intervals together allow.
func (r *Result) disagree() {
	for _, w := range r.Runs {
		first := w.WitnessOf
		if first == nil || slices.ContainsFunc(first.Flags, func(f segment.Flag) bool { return f.Code == segment.FlagDisagrees }) {
			continue
		}
		for _, p := range w.Partings() {
			a, okA := first.Time(p.Name, p.From)
			b, okB := w.Time(p.Name, p.From)
			if okA && okB && math.Abs(p.Seconds) > a.U95+b.U95 {
				first.Flags = append(slices.Clone(first.Flags), segment.Flag{Code: segment.FlagDisagrees,
					Text: fmt.Sprintf("%s %s is %.2f s by this log and %.2f s by %s, more than both intervals allow", p.Name, from(p.From), a.Seconds, b.Seconds, w.Log.Name)})
				break
			}
		}
	}
}

package session

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"sort"
	"sync"

	"github.com/tidwall/geodesic"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/motion/timing"
	"fromrest/pkg/recording"
	"fromrest/pkg/uncert"
)

// crossCheck compares the run with the log's other sources of speed and with its
// positions. Two that differ by more than both allow are flagged.
func crossCheck(r *TimedRun, sg *segment.Segment, s *estimate.Samples, tr *recording.Track, others func() []other) {
	if sg.Kind != segment.StandingStart || s.Source == recording.Position {
		return
	}
	text := positionsDiffer(r, s, tr)
	if text == "" {
		for _, o := range others() {
			if text = sourceDiffers(r, s, o); text != "" {
				break
			}
		}
	}
	if text != "" {
		r.Flags = append(r.Flags, segment.Flag{Code: segment.FlagDisagrees, Text: text})
	}
}

// positionsDiffer compares the distance that speed gives with the way along the
// positions, from a walking pace to the highest speed.
func positionsDiffer(r *TimedRun, s *estimate.Samples, tr *recording.Track) string {
	n := r.Trace.Len()
	if !tr.Has(recording.LatDeg) || n < wayLeast {
		return ""
	}
	way, last := 0.0, -1
	var t0, t1 float64
	first := sort.Search(tr.Len(), func(i int) bool { return tr.TimeAt(i).After(r.Launch) })
	for i := first; i < tr.Len(); i++ {
		t := tr.TimeAt(i).Sub(s.Start).Seconds() - r.LogSeconds
		if t > r.Trace.T[n-1] {
			break
		}
		if t <= 0 || math.IsNaN(tr.Value(recording.LatDeg, i)) || math.IsNaN(tr.Value(recording.LonDeg, i)) {
			continue
		}
		if v, _ := r.Trace.SpeedAt(t); last < 0 {
			if v > wayFrom {
				last, t0 = i, t
			}
			continue
		}
		var step float64
		geodesic.WGS84.Inverse(tr.Value(recording.LatDeg, last), tr.Value(recording.LonDeg, last),
			tr.Value(recording.LatDeg, i), tr.Value(recording.LonDeg, i), &step, nil, nil)
		if step >= wayStep {
			way += step
			last, t1 = i, t
		}
	}
	if t1 <= t0 {
		return ""
	}
	d1, sd := r.Trace.DistanceAt(t1)
	d0, _ := r.Trace.DistanceAt(t0)
	d := d1 - d0
	// A receiver's position lags its speed or leads it by up to some tenths of a
	// second.
	v0, _ := r.Trace.SpeedAt(t0)
	v1, _ := r.Trace.SpeedAt(t1)
	scale := speedScale * d
	if s.Source == recording.Wheel {
		scale = wheelScale * d
	}
	lag := positionLag * (v1 - v0)
	if half := uncert.Z95 * uncert.Combine(positionDoubt, positionDoubt, sd, scale, lag); math.Abs(d-way) > half {
		return fmt.Sprintf("speed gives %.0f m where positions give %.0f m", d, way)
	}
	return ""
}

// other is a further source of speed in a log, with its runs.
type other struct {
	*estimate.Samples
	runs []segment.Segment
}

// othersOf prepares the tracks of a log beside tr, once and when first asked for.
func othersOf(rec *recording.Recording, tr *recording.Track) func() []other {
	return sync.OnceValue(func() (out []other) {
		for _, t := range rec.Tracks {
			if t == tr || t.Len() < leastFixes {
				continue
			}
			if s, err := estimate.Prepare(t); err == nil && s.Source != recording.Position {
				out = append(out, other{s, segment.Find(s.SegmentInput())})
			}
		}
		return out
	})
}

// sourceDiffers times the same start by another track of the log.
func sourceDiffers(r *TimedRun, s *estimate.Samples, o other) string {
	shift := o.Start.Sub(s.Start).Seconds()
	var names []timing.Target
	for _, t := range r.Times {
		if tg, err := timing.ParseTarget(t.Name); err == nil && t.From == timing.FromRollout {
			names = append(names, tg)
		}
	}
	for _, sg := range o.runs {
		if sg.Kind != segment.StandingStart || math.Abs(o.T[sg.Moving]+shift-r.LogSeconds) > sameStart {
			continue
		}
		e, err := o.Run(context.Background(), window(&sg))
		if err != nil {
			return ""
		}
		for _, t := range timing.Measure(e, names).Times {
			mine, ok := r.Time(t.Name, t.From)
			if ok && math.Abs(mine.Seconds-t.Seconds) > math.Hypot(mine.U95, t.U95) {
				return fmt.Sprintf("%s %s is %.2f s by %s and %.2f s by %s", t.Name, from(t.From), mine.Seconds, cmp.Or(s.Name, string(s.Source)), t.Seconds, cmp.Or(o.Name, string(o.Source)))
			}
		}
		return ""
	}
	return ""
}

func from(o timing.Origin) string {
	if o == timing.FromRollout {
		return "with rollout"
	}
	return "from rest"
}

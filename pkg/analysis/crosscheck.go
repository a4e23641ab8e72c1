package analysis

import (
	"context"
	"fmt"
	"math"

	"github.com/tidwall/geodesic"

	"fromrest/pkg/fusion"
	"fromrest/pkg/recording"
	"fromrest/pkg/segment"
	"fromrest/pkg/series"
	"fromrest/pkg/timing"
)

// positionDoubt is the standard uncertainty of the distance between two
// positions of one log half a minute apart, in metres (common practice for
// consumer and automotive receivers under an open sky).
const positionDoubt = 2.5 // m

// positionsDiffer compares the distance that speed gives with the way between
// the positions at rest and at the highest speed. The way is a straight line, so
// only a run without a turn is compared.
func positionsDiffer(r *TimedRun, sg *segment.Segment, s *fusion.Samples, tr *recording.Track) string {
	if has(sg, segment.FlagTurn) || !tr.Has(recording.LatDeg) || r.Trace.Len() < 10 {
		return ""
	}
	from, to := -1, -1
	for i := range tr.Len() {
		if math.IsNaN(tr.Value(recording.LatDeg, i)) || math.IsNaN(tr.Value(recording.LonDeg, i)) {
			continue
		}
		t := tr.TimeAt(i).Sub(s.Start).Seconds() - r.LogSeconds
		if t <= 0 {
			from = i
		} else if t <= r.Trace.T[r.Trace.Len()-1] {
			to = i
		}
	}
	if from < 0 || to < 0 {
		return ""
	}
	var way float64
	geodesic.WGS84.Inverse(tr.Value(recording.LatDeg, from), tr.Value(recording.LonDeg, from),
		tr.Value(recording.LatDeg, to), tr.Value(recording.LonDeg, to), &way, nil, nil)
	t := tr.TimeAt(to).Sub(s.Start).Seconds() - r.LogSeconds
	d, sd := r.Trace.DistanceAt(t)
	scale := 0.0
	if s.Source == recording.Wheel {
		scale = 0.01 * d
	}
	if half := 1.96 * math.Sqrt(2*positionDoubt*positionDoubt+sd*sd+scale*scale+1e-6*d*d); math.Abs(d-way) > half {
		return fmt.Sprintf("speed gives %.0f m where positions give %.0f m", d, way)
	}
	return ""
}

// sourceDiffers times the same start by another track of the log.
func sourceDiffers(r *TimedRun, s *fusion.Samples, other *recording.Track) string {
	o, err := fusion.Prepare(other)
	if err != nil || o.Source == recording.Position {
		return ""
	}
	shift := o.Start.Sub(s.Start).Seconds()
	var names []timing.Target
	for _, t := range r.Times {
		if tg, err := timing.ParseTarget(t.Name); err == nil && t.From == timing.FromRollout {
			names = append(names, tg)
		}
	}
	for _, sg := range segment.Find(o.SegmentInput()) {
		if sg.Kind != segment.StandingStart || math.Abs(o.T[sg.Moving]+shift-r.LogSeconds) > 3 {
			continue
		}
		e, err := o.Run(context.Background(), window(&sg))
		if err != nil {
			return ""
		}
		for _, t := range timing.Measure(e, names).Times {
			mine, ok := r.Time(t.Name, t.From)
			if ok && math.Abs(mine.Seconds-t.Seconds) > math.Hypot(mine.U95, t.U95) {
				return fmt.Sprintf("%s %s is %.2f s by %s and %.2f s by %s", t.Name, from(t.From), mine.Seconds, label(s), t.Seconds, label(o))
			}
		}
		return ""
	}
	return ""
}

func label(s *fusion.Samples) string {
	if s.Name != "" {
		return s.Name
	}
	return string(s.Source)
}

func from(o timing.Origin) string {
	if o == timing.FromRollout {
		return "with rollout"
	}
	return "from rest"
}

// forward turns the trace of a reversed window back: time and distance count
// from its begin, acceleration keeps its sign in the direction of travel.
func forward(tr series.Trace) series.Trace {
	n := tr.Len()
	if n == 0 {
		return tr
	}
	end := tr.S[n-1]
	out := series.Trace{}
	for i := n - 1; i >= 0; i-- {
		out.T = append(out.T, -tr.T[i])
		out.S = append(out.S, end-tr.S[i])
		out.V = append(out.V, tr.V[i])
		out.A = append(out.A, -tr.A[i])
		out.SS = append(out.SS, tr.SS[i])
		out.SV = append(out.SV, tr.SV[i])
		out.SA = append(out.SA, tr.SA[i])
	}
	return out
}

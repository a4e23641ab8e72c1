package session

import (
	"math"
	"sort"
	"time"

	"github.com/tidwall/geodesic"

	"fromrest/pkg/motion/estimate"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/recording"
	"fromrest/pkg/stats"
)

// Ground is where a run went by the positions of its log. It stays with the result: no output
// has degrees unless it was asked for them.
type Ground struct {
	LatDeg, LonDeg float64 // degrees of the standstill before the launch, WGS 84
	U              float64 // m, standard uncertainty of each of its axes, as far as the receiver tells; 0 for a run without positions
	Wander         float64 // m²/s, by which the position wandered at rest, in each axis
	// The way from the launch to the standstill after the run, or to the end of its trace.
	T, North, East    []float64 // s since the launch, m from the start
	EndNorth, EndEast float64   // m from the start, of its end
}

// Known reports whether the log has positions of the run.
func (g *Ground) Known() bool { return g.U > 0 }

// Halt is how a run came to rest: by the log's speed, integrated. The zero value is a stop that
// the log does not show.
type Halt struct {
	Speed float64 // m/s, the highest of the run, from which it came to rest
	Way   float64 // m from the launch to the standstill
	After float64 // m from the highest speed to the standstill
	End   float64 // s since the launch, at the standstill
}

// halt looks for the standstill that ends a run.
func (r *TimedRun) halt(s *estimate.Samples) {
	n := r.Trace.Len()
	if r.Kind != segment.StandingStart || n < 2 || s.Source == recording.Position {
		return
	}
	peak, end := r.PeakTime(), r.Trace.T[n-1]
	at, _ := r.Trace.DistanceAt(peak)
	way, _ := r.Trace.DistanceAt(end)
	t0 := end
	v0, _ := r.Trace.SpeedAt(end)
	top := v0
	for i := sort.SearchFloat64s(s.T, r.LogSeconds+end); i < len(s.T); i++ {
		t, v := s.T[i]-r.LogSeconds, s.Speed[i]
		if t <= t0 {
			continue
		}
		if t-t0 > haltGap || t-end > haltWait || v > top+haltGain {
			return
		}
		way += (v0 + v) / 2 * (t - t0)
		t0, v0, top = t, v, min(top, max(v, haltSlack))
		if v <= haltStill {
			r.Halt = Halt{Speed: r.MaxSpeed, Way: way, After: way - at, End: t}
			return
		}
	}
}

// ground takes the positions of a run from the first track that has them.
func (r *TimedRun) ground(rec *recording.Recording, s *estimate.Samples) {
	if r.Kind != segment.StandingStart || r.Trace.Len() < 2 {
		return
	}
	for _, tr := range rec.Tracks {
		if tr.Has(recording.LatDeg) && tr.Has(recording.LonDeg) {
			r.groundOf(tr, s)
			return
		}
	}
}

func (r *TimedRun) groundOf(tr *recording.Track, s *estimate.Samples) {
	launch := recording.Nano(s.Start.Add(time.Duration(r.LogSeconds * float64(time.Second))))
	since := func(i int) float64 { return float64(tr.NanoAt(i)-launch) / float64(time.Second) }
	gone := sort.Search(tr.Len(), func(i int) bool { return since(i) > 0 })
	from := gone
	longest := restLongest
	if !tr.Has(recording.Speed) { // nothing says how long it stood
		longest = restLeast
	}
	for from > 0 && since(from-1) > -longest && !(tr.Value(recording.Speed, from-1) > haltStill) {
		from--
	}
	rest := fixesOf(tr, max(0, min(from, gone-1)), gone)
	if len(rest) == 0 {
		return
	}
	g := &r.Ground
	lately := rest[max(0, len(rest)-restFixes):]
	g.LatDeg, g.LonDeg = centre(tr, recording.LatDeg, lately), centre(tr, recording.LonDeg, lately)
	g.U = positionU(tr, lately)
	g.Wander = wander(tr, rest, since)
	end := r.Trace.T[r.Trace.Len()-1]
	if r.Halt.End > 0 {
		end = r.Halt.End
	}
	last := math.Inf(-1)
	for _, i := range fixesOf(tr, gone, tr.Len()) {
		t := since(i)
		if t > end {
			break
		}
		if t-last < wayEvery {
			continue
		}
		n, e := away(g.LatDeg, g.LonDeg, tr.Value(recording.LatDeg, i), tr.Value(recording.LonDeg, i))
		g.T, g.North, g.East, last = append(g.T, t), append(g.North, n), append(g.East, e), t
		g.EndNorth, g.EndEast = n, e
	}
}

// fixesOf are the fixes of a part of a track that have positions. It is looked
// through no further than longestWay goes.
func fixesOf(tr *recording.Track, from, to int) (out []int) {
	for i := from; i < to; i++ {
		if float64(tr.NanoAt(i)-tr.NanoAt(from))/float64(time.Second) > longestWay {
			break
		}
		if !math.IsNaN(tr.Value(recording.LatDeg, i)) && !math.IsNaN(tr.Value(recording.LonDeg, i)) {
			out = append(out, i)
		}
	}
	return out
}

// centre is the mean of a column over some fixes. Angles are near each other there; those beside
// the 180th meridian count from the first.
func centre(tr *recording.Track, c recording.Column, fixes []int) float64 {
	first, sum := tr.Value(c, fixes[0]), 0.0
	for _, i := range fixes {
		sum += math.Remainder(tr.Value(c, i)-first, 360)
	}
	return math.Remainder(first+sum/float64(len(fixes)), 360)
}

// positionU is the standard uncertainty of a position in each axis: what the receiver says of it,
// else what its geometry makes of a usual error.
func positionU(tr *recording.Track, fixes []int) float64 {
	var said, dop []float64
	for _, i := range fixes {
		if x := tr.Value(recording.PosSD, i); x > 0 {
			said = append(said, x)
		}
		if x := tr.Value(recording.HDOP, i); x > 0 && x < worstHDOP {
			dop = append(dop, x)
		}
	}
	switch {
	case len(said) > 0:
		return max(leastU, stats.Describe(said).Mean)
	case len(dop) > 0:
		return max(leastU, rangeError*stats.Describe(dop).Mean)
	}
	return rangeError * usualHDOP
}

// wander is how fast the position wandered at rest, as the steps of a random walk would: two
// means over the halves of a standstill of 2τ are then √(2/3·wander·τ) apart in each axis.
func wander(tr *recording.Track, rest []int, since func(int) float64) float64 {
	if len(rest) < leastRest {
		return 0
	}
	span := since(rest[len(rest)-1]) - since(rest[0])
	if span <= 0 {
		return 0
	}
	a, b := rest[:len(rest)/2], rest[len(rest)/2:]
	n, e := away(centre(tr, recording.LatDeg, a), centre(tr, recording.LonDeg, a), centre(tr, recording.LatDeg, b), centre(tr, recording.LonDeg, b))
	return (n*n + e*e) / 2 / (halvesApart * span / 2)
}

// away is how far north and east of one place another lies, in m.
func away(lat0, lon0, lat, lon float64) (north, east float64) {
	var s, azimuth float64
	geodesic.WGS84.Inverse(lat0, lon0, lat, lon, &s, &azimuth, nil)
	sin, cos := math.Sincos(azimuth * math.Pi / 180)
	return s * cos, s * sin
}

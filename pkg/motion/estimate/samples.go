package estimate

import (
	"errors"
	"math"
	"time"

	"fromrest/pkg/motion"
	"fromrest/pkg/motion/segment"
	"fromrest/pkg/recording"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
)

// Samples is one source's speed on a clock that starts at the log's first fix,
// with what was learned of the receiver. Columns have equal length.
type Samples struct {
	Start  time.Time // UTC instant of T = 0
	T      []float64 // s
	Speed  []float64 // m/s as reported, never negative
	Course []float64 // degrees from true north, NaN where absent
	Held   []bool    // the receiver showed 0 though it may have moved
	Out    []bool    // set aside as an outlier
	TimeU  []float64 // s, standard uncertainty of the instant, beyond what all share

	// Accel is the aligned accelerometer, nil without one.
	Accel *Forward

	holes []float64 // s, longest interval of the log's rows before each sample, where rows were left out; nil where none was
	blank []bool    // integrated, no reading of speed; nil where all are
	scale float64   // relative, of an integrated speed; 0 for the source's own

	Source recording.Source
	Name   string
	Cadence
	Noise
	Resolution
	Smoothing Smoothing // as LearnSmoothing found it; none before
}

// Cadence is how regularly samples come.
type Cadence struct {
	Step       float64 // s, median interval
	Jitter     float64 // s, robust standard deviation of intervals about the median
	Gaps       int     // intervals over 2.5 medians
	GapSeconds float64 // s, all gaps together
	LongestGap float64 // s
	HeldFor    float64 // s, how long a value is held before it is refreshed; 0 if it is not
	clockU     float64 // s, standard uncertainty of every instant
}

// Resolution is how finely speed is given.
type Resolution struct {
	Quantum float64 // m/s, step between the values shown
	Hold    float64 // m/s, below it a 0 says no more than that; 0 where there is no such speed
	// Static is the threshold of static hold in m/s, at which values begin above 0 and which
	// is more than rounding; 0 where there is none.
	Static float64
	growth growth // of the noise under way
	Coarse bool   // the step, not the noise, limits what a sample tells
}

// ErrNoSpeed is returned by Prepare for a recording without usable speed.
var ErrNoSpeed = errors.New("no speed in the log")

// Prepare turns a track into samples: speed from the receiver, or from velocity
// components, or from positions, in that order.
func Prepare(tr *recording.Track) (*Samples, error) {
	if tr == nil || tr.Len() < 2 {
		return nil, ErrNoSpeed
	}
	s := &Samples{Start: tr.TimeAt(0), Source: tr.Source, Name: tr.Name}
	switch {
	case tr.Has(recording.Speed) || tr.Has(recording.VelNorth) && tr.Has(recording.VelEast):
		s.fromVelocity(tr)
	case tr.Has(recording.LatDeg) && tr.Has(recording.LonDeg):
		s.Source = recording.Position
		s.fromPositions(tr)
	}
	if len(s.T) < 2 {
		return nil, ErrNoSpeed
	}
	s.Held = make([]bool, len(s.T))
	s.Out = make([]bool, len(s.T))
	s.TimeU = make([]float64, len(s.T))
	s.cadence()
	s.resolve(tr)
	if s.HeldFor > 0 || s.Coarse {
		s.keepChanges()
	}
	s.findOutliers()
	s.settleClock()
	s.learnNoise(tr)
	s.learnGrowth()
	return s, nil
}

// seconds is the time of a packed instant after the first fix.
func seconds(tr *recording.Track, i int) float64 {
	return float64(tr.NanoAt(i)-tr.NanoAt(0)) / 1e9
}

// add appends a sample: s, m/s and degrees.
func (s *Samples) add(t, v, course float64) {
	s.T, s.Speed, s.Course = append(s.T, t), append(s.Speed, v), append(s.Course, course)
}

// bearing is the direction of a vector in degrees from north.
func bearing(north, east float64) float64 {
	return math.Mod(math.Atan2(east, north)*180/math.Pi+360, 360)
}

// fromVelocity takes the reported speed and course, or makes them from north and
// east components.
func (s *Samples) fromVelocity(tr *recording.Track) {
	for i := range tr.Len() {
		v, c := tr.Value(recording.Speed, i), tr.Value(recording.Course, i)
		n, e := tr.Value(recording.VelNorth, i), tr.Value(recording.VelEast, i)
		if !math.IsNaN(n) && !math.IsNaN(e) {
			// Components know the direction at rest where course does not.
			v, c = math.Hypot(n, e), bearing(n, e)
		}
		if math.IsNaN(v) || v > mostSpeed || v < -mostSpeed {
			continue
		}
		if v < 0 { // reversing, as wheel sensors report it
			v, c = -v, math.NaN()
		}
		s.add(seconds(tr, i), v, c)
	}
}

// fromPositions takes the mean speed between neighbouring positions, at the
// middle of the interval.
func (s *Samples) fromPositions(tr *recording.Track) {
	prev := -1
	for i := range tr.Len() {
		lat, lon := tr.Value(recording.LatDeg, i), tr.Value(recording.LonDeg, i)
		if math.IsNaN(lat) || math.IsNaN(lon) {
			continue
		}
		if prev >= 0 {
			t0, t1 := seconds(tr, prev), seconds(tr, i)
			n, e := offset(tr.Value(recording.LatDeg, prev), tr.Value(recording.LonDeg, prev), lat, lon)
			if dt := t1 - t0; dt > 0 && dt < longestHop && math.Hypot(n, e)/dt < mostSpeed {
				s.add((t0+t1)/2, math.Hypot(n, e)/dt, bearing(n, e))
			}
		}
		prev = i
	}
}

// offset is the way from one position to another near it, in metres north and
// east, by the local radii of curvature of the WGS 84 ellipsoid.
func offset(lat0, lon0, lat1, lon1 float64) (north, east float64) {
	const a, e2 = unit.EarthSemiMajor, unit.EarthEccentricity2
	mid := (lat0 + lat1) / 2 * math.Pi / 180
	w := 1 - e2*math.Sin(mid)*math.Sin(mid)
	dlon := lon1 - lon0
	if dlon > 180 {
		dlon -= 360
	} else if dlon < -180 {
		dlon += 360
	}
	north = (lat1 - lat0) * math.Pi / 180 * a * (1 - e2) / (w * math.Sqrt(w))
	east = dlon * math.Pi / 180 * a / math.Sqrt(w) * math.Cos(mid)
	return north, east
}

// cadence measures intervals and gaps.
func (s *Samples) cadence() {
	d := make([]float64, len(s.T)-1)
	for i := range d {
		d[i] = s.T[i+1] - s.T[i]
	}
	s.Step = median(d)
	dev := make([]float64, 0, len(d))
	s.Gaps, s.GapSeconds, s.LongestGap = 0, 0, 0
	for _, x := range d {
		if x > motion.GapIntervals*s.Step {
			s.Gaps++
			s.GapSeconds += x - s.Step
			s.LongestGap = max(s.LongestGap, x)
			continue
		}
		dev = append(dev, math.Abs(x-s.Step))
	}
	// An interval's error is the difference of two instants' errors.
	s.Jitter = motion.SDOfMedian * median(dev) / math.Sqrt2
}

// resolve finds the step of the values, static hold, and values held over
// several rows.
func (s *Samples) resolve(tr *recording.Track) {
	s.Quantum = s.findQuantum(tr.SpeedStep)
	s.HeldFor = s.findHeld()
	s.findHold()
	if s.Quantum > 0 {
		move := make([]float64, 0, len(s.T))
		for i := 1; i < len(s.T); i++ {
			if s.Speed[i] > underWay && s.Speed[i] != s.Speed[i-1] {
				move = append(move, math.Abs(s.Speed[i]-s.Speed[i-1]))
			}
		}
		// Most changes are a single step: the step is what is seen, not noise.
		s.Coarse = len(move) > leastMoves && median(move) < singleStep*s.Quantum && s.Quantum > coarseQuantum && s.repeats() > coarseRepeats
	}
}

// repeats is the share of moving samples that repeat the value before.
func (s *Samples) repeats() float64 {
	same, all := 0, 0
	for i := 1; i < len(s.T); i++ {
		if s.Speed[i] > underWay {
			all++
			if s.Speed[i] == s.Speed[i-1] {
				same++
			}
		}
	}
	if all == 0 {
		return 0
	}
	return float64(same) / float64(all)
}

// findQuantum is the coarsest known step, or the log's own, that every value is
// a multiple of, to the rounding of the printed digits.
func (s *Samples) findQuantum(printed float64) float64 {
	best := 0.0
	cand := quanta
	if printed > 0 {
		cand = append(append([]float64(nil), quanta...), printed)
	}
	for _, q := range cand {
		if q <= best {
			continue
		}
		tol := max(quantumTol*q, min(printed*printedHalf, printedTol*q), motion.Slack)
		fits, nonzero := 0, 0
		for i, v := range s.Speed {
			if v == 0 {
				continue
			}
			if nonzero-fits > missesAtLeast+len(s.Speed)/missesShare && i%missesEvery == 0 {
				break // too many misses already
			}
			nonzero++
			if r := v / q; math.Abs(r-math.Round(r))*q <= tol+motion.Slack*v {
				fits++
			}
		}
		if nonzero > leastFits && float64(fits) > fitShare*float64(nonzero) {
			best = q
		}
	}
	return best
}

// findHeld looks for values refreshed more slowly than rows come: while the
// vehicle gathers or loses speed, the usual time between changes.
func (s *Samples) findHeld() float64 {
	var lasts []float64
	from := 0
	for i := 1; i < len(s.T); i++ {
		if s.Speed[i] == s.Speed[from] {
			continue
		}
		step := math.Abs(s.Speed[i] - s.Speed[from])
		last := s.T[i] - s.T[from]
		// Only changes of several steps tell: a slow change repeats by itself.
		if s.Speed[from] > underWay && s.Speed[i] > underWay && step > heldSteps*s.Quantum && step > heldChange && last < longestHeld {
			lasts = append(lasts, last)
		}
		from = i
	}
	if len(lasts) < leastHelds {
		return 0
	}
	if m := median(lasts); m > heldIntervals*s.Step {
		return m
	}
	return 0
}

// keepChanges keeps, of held or coarsely stepped values, the rows where the
// value changes: a repeated row carries no new reading. Rows at rest stay. How long the
// log was without a row before each is noted: a value that is repeated is no gap.
func (s *Samples) keepChanges() {
	last, was := 0.0, 0.0 // the row before as logged, and the value kept last
	keep, hole := 0, 0.0
	for i := range s.T {
		since := s.T[i] - last // of the row before, whose own place may be another's by now
		last = s.T[i]
		if i > 0 {
			hole = max(hole, since)
		}
		if i > 0 && s.Speed[i] == was && s.Speed[i] != 0 && s.T[i]-s.T[keep-1] < max(keepHelds*s.HeldFor, keepFor) {
			continue
		}
		t, v, u := s.T[i], s.Speed[i], 0.0
		if step := s.Speed[i] - was; i > 0 && s.Coarse && was > 0 && v > 0 && math.Abs(step) < oneStep*s.Quantum {
			// Between two rows the speed passed what separates their values.
			t, v, u = s.T[i]-since/2, v-step/2, uncert.Step(since)
		}
		if s.HeldFor > 0 && i > 0 {
			u = uncert.Step(since)
		}
		s.holes, hole = append(s.holes, hole), 0
		was = s.Speed[i]
		s.T[keep], s.Speed[keep], s.Course[keep], s.Held[keep], s.TimeU[keep] = t, v, s.Course[i], s.Held[i], u
		keep++
	}
	s.T, s.Speed, s.Course, s.Held, s.TimeU, s.Out = s.T[:keep], s.Speed[:keep], s.Course[:keep], s.Held[:keep], s.TimeU[:keep], s.Out[:keep]
}

// median returns the middle value of x, which it reorders; 0 if x is empty. Of
// very many values it takes evenly spaced ones.
func median(x []float64) float64 {
	if n := len(x); n > enough {
		stride := (n + enough - 1) / enough
		k := 0
		for i := 0; i < n; i += stride {
			x[k] = x[i]
			k++
		}
		x = x[:k]
	}
	return stats.Middle(x)
}

// SegmentInput hands the samples to the search for runs.
func (s *Samples) SegmentInput() segment.Input {
	low := s.Hold
	if low == 0 && s.Coarse {
		low = s.Quantum
	}
	noise := s.SD
	if s.Coarse {
		noise = max(noise, coarseNoise*s.Quantum)
	}
	scale := 0.0
	if s.Source == recording.Wheel {
		scale = scaleWheel
	}
	return segment.Input{Scale: scale, T: s.T, Speed: s.Speed, Course: s.Course, Out: s.Out, Step: s.Step, Noise: noise, Lowest: low, Holes: s.holes}
}

package estimate

import (
	"math"

	"fromrest/pkg/motion"
	"fromrest/pkg/recording"
)

// Noise is what was learned of the error of one sample along the track.
type Noise struct {
	SD   float64 // m/s, one velocity component
	Rho  float64 // correlation between neighbouring samples
	DF   float64 // degrees of freedom of SD
	From string  // "standstill", "receiver", "runs" or "assumed"
	// Signed is set when course is fresh at rest, so that the velocity vector
	// can be projected; otherwise speed near rest is a length, biased upward.
	Signed bool
}

// stretch is a half-open range of samples.
type stretch struct{ from, to int }

// standstills are the stretches of at least the given seconds in which the
// vehicle looks at rest, shortened at both ends where it may have begun to roll.
func (s *Samples) standstills(least float64) []stretch {
	var out []stretch
	for i := 0; i < len(s.T); {
		if s.Speed[i] >= stillSpeed || s.Out[i] {
			i++
			continue
		}
		j := i
		for j < len(s.T) && (s.Speed[j] < stillSpeed || s.Out[j]) && (j == i || s.T[j]-s.T[j-1] < max(motion.GapIntervals*s.Step, restHole)) {
			j++
		}
		a, b := i, j
		for a < b && i > 0 && s.T[a] < s.T[i]+motion.RestEdge {
			a++
		}
		for b > a && j < len(s.T) && s.T[b-1] > s.T[j-1]-motion.RestEdge {
			b--
		}
		if b-a >= leastRestSamples && s.T[b-1]-s.T[a] >= least && !s.rolls(a, b) {
			out = append(out, stretch{a, b})
		}
		i = max(j, i+1)
	}
	return out
}

// rolls tells creeping from noise: a mean speed far above the length that noise
// alone would have shows in the spread about the mean being small beside it.
func (s *Samples) rolls(a, b int) bool {
	sum, sq, zero := 0.0, 0.0, 0
	for i := a; i < b; i++ {
		sum += s.Speed[i]
		sq += s.Speed[i] * s.Speed[i]
		if s.Speed[i] == 0 {
			zero++
		}
	}
	n := float64(b - a)
	mean := sum / n
	sd := math.Sqrt(max(sq/n-mean*mean, 0))
	// The length of two normal components has mean 1.25 and spread 0.66 sd.
	return zero == 0 && mean > rollsAt && mean > rollsSD*sd
}

// learnNoise estimates the noise from the standstills of the log, else from the
// receiver's own figure, else from the roughness of the moving samples.
func (s *Samples) learnNoise(tr *recording.Track) {
	s.Noise = Noise{Rho: assumedRho}
	still := s.standstills(leastRest)
	s.Signed = s.courseFresh(still)
	rough, nrough := s.roughness()
	sumSq, n, lag, nlag := 0.0, 0.0, 0.0, 0.0
	for _, st := range still {
		a, b, c, d := s.stillMoments(st)
		sumSq, n, lag, nlag = sumSq+a, n+b, lag+c, nlag+d
	}
	recv := s.receiverSD(tr)
	switch {
	case n >= leastMoments && s.Hold == 0 && sumSq > 0:
		s.SD, s.From, s.DF = math.Sqrt(sumSq/n), "standstill", n
		if nlag > leastLags {
			// Shrink towards the usual value by the weight of the evidence.
			r := lag / nlag / (s.SD * s.SD)
			if !s.Signed {
				r = math.Copysign(math.Sqrt(math.Abs(r)), r)
			}
			w := nlag / (nlag + usualLags)
			s.Rho = min(max(w*r+(1-w)*assumedRho, 0), mostAutocorrelation)
		}
		s.DF *= (1 - s.Rho*s.Rho) / (1 + s.Rho*s.Rho)
		// Motion can be noisier than rest: tyres, vibration, dynamics.
		if s.Source != recording.GNSS && rough > rougher*s.SD && nrough > manyRough {
			s.SD, s.From, s.DF = rough, "runs", nrough/2
		}
	case recv > 0:
		s.SD, s.From, s.DF = recv, "receiver", receiverDF
	case nrough > leastRough && rough > 0:
		floor := floorGNSS
		if s.Source != recording.GNSS && s.Source != recording.Position {
			floor = floorOther
		}
		s.SD, s.From, s.DF = max(rough, floor), "runs", min(nrough/2, roughDF)
	default:
		s.SD, s.From, s.DF = assumedSD, "assumed", assumedDF
	}
	s.SD = max(s.SD, minSD)
}

// at is the samples with the noise of one run: that of its own standstill, to which the
// log's is a prior of ownPrior degrees of freedom. Receivers see the sky change from stop
// to stop, and noise that is pooled over a log is too little for the noisy stops and too
// much for the quiet ones.
func (s *Samples) at(w Window) *Samples {
	if s.From != "standstill" || s.Hold > 0 || w.Reversed || !w.Standing {
		return s
	}
	st := stretch{w.From, w.From}
	for i := w.From; i < w.Moving && s.T[i] < s.T[w.Moving]-motion.RestEdge; i++ {
		if s.T[i] < s.T[w.From]+motion.RestEdge || s.T[i] < s.T[w.Moving]-ownSpan {
			st.from = i + 1
		}
		st.to = i + 1
	}
	if st.to-st.from < leastOwn || s.rolls(st.from, st.to) {
		return s
	}
	sumSq, c, _, _ := s.stillMoments(st)
	if !(c > 0) || math.IsNaN(sumSq) {
		return s
	}
	n := c * (1 - s.Rho*s.Rho) / (1 + s.Rho*s.Rho)
	k := *s
	k.SD = max(math.Sqrt((ownPrior*s.SD*s.SD+n*sumSq/c)/(ownPrior+n)), minSD)
	k.DF = min(s.DF, ownPrior+n)
	return &k
}

// stillMoments returns, for a standstill, the sum of squares of the velocity
// components with their number, and the sum of lagged products with theirs.
// Without course the length stands in: its square is the sum of two squares,
// and the covariance of neighbouring squares is twice the squared covariance of
// a component, over two components.
func (s *Samples) stillMoments(st stretch) (sumSq, n, lag, nlag float64) {
	if s.Signed {
		var pn, pe float64
		for i := st.from; i < st.to; i++ {
			c := s.Course[i] * math.Pi / 180
			vn, ve := s.Speed[i]*math.Cos(c), s.Speed[i]*math.Sin(c)
			if math.IsNaN(c) || s.Out[i] {
				vn, ve = math.NaN(), math.NaN()
			} else {
				sumSq += vn*vn + ve*ve
				n += 2
			}
			if x := pn*vn + pe*ve; i > st.from && !math.IsNaN(x) {
				lag += x
				nlag += 2
			}
			pn, pe = vn, ve
		}
		return sumSq, n, lag, nlag
	}
	mean, m := 0.0, 0.0
	for i := st.from; i < st.to; i++ {
		if !s.Out[i] {
			mean += s.Speed[i] * s.Speed[i]
			m++
		}
	}
	if m == 0 {
		return 0, 0, 0, 0
	}
	sumSq, n = mean, 2*m
	mean /= m
	for i := st.from + 1; i < st.to; i++ {
		if !s.Out[i] && !s.Out[i-1] {
			lag += (s.Speed[i]*s.Speed[i] - mean) * (s.Speed[i-1]*s.Speed[i-1] - mean) / max(mean, tiny) / 2
			nlag++
		}
	}
	return sumSq, n, lag, nlag
}

// courseFresh reports whether the course at rest wanders as noise does. A
// receiver that freezes or blanks it there leaves only a length.
func (s *Samples) courseFresh(still []stretch) bool {
	fresh, all := 0, 0
	for _, st := range still {
		for i := st.from + 1; i < st.to; i++ {
			if s.Speed[i] == 0 {
				continue
			}
			all++
			if d := s.Course[i] - s.Course[i-1]; !math.IsNaN(d) && d != 0 {
				fresh++
			}
		}
	}
	if all < leastCourses {
		return false
	}
	return float64(fresh) > freshShare*float64(all)
}

// roughness is the noise seen in the third differences of moving samples, which
// steady and steadily changing acceleration leave untouched. Above about 4 Hz
// the vehicle itself is smooth at that scale.
func (s *Samples) roughness() (sd, n float64) {
	if s.Step > smoothStep {
		return 0, 0
	}
	var d []float64
	for i := range s.T {
		if x, ok := s.third(i); ok {
			d = append(d, x)
		}
	}
	if len(d) < leastThirds {
		return 0, 0
	}
	return ofThirds(d), float64(len(d))
}

// third is the length in m/s of the third difference that ends in a sample, and whether the
// vehicle moves there and no sample is missing.
func (s *Samples) third(i int) (d float64, ok bool) {
	if i < 3 || s.Speed[i] < roughAbove || s.Speed[i-3] < roughAbove || s.T[i]-s.T[i-3] > thirdSpan*s.Step {
		return 0, false
	}
	return math.Abs(s.Speed[i] - 3*s.Speed[i-1] + 3*s.Speed[i-2] - s.Speed[i-3]), true
}

// ofThirds is the standard deviation in m/s of one sample, by third differences.
func ofThirds(d []float64) float64 {
	return motion.SDOfMedian * median(d) / math.Sqrt(thirdVariance)
}

// receiverSD is the receiver's own standard deviation of speed, 0 if it gives none.
func (s *Samples) receiverSD(tr *recording.Track) float64 {
	col := tr.Col(recording.SpeedSD)
	var x []float64
	for _, v := range col {
		if v > 0 {
			x = append(x, v)
		}
	}
	// A reported figure is for the horizontal speed of the whole solution.
	return median(x)
}

// findOutliers sets aside jumps of up to three samples that no vehicle makes:
// away from the line through the samples around them, and back.
func (s *Samples) findOutliers() {
	for i := 0; i < len(s.T); i++ {
		for m := longestJump; m >= 1; m-- {
			if s.jumps(i, m) {
				for k := i; k < i+m; k++ {
					s.Out[k] = true
				}
				i += m - 1
				break
			}
		}
	}
}

// jumps reports whether the m samples from i leave the line through their
// neighbours in one step and come back in another.
func (s *Samples) jumps(i, m int) bool {
	a, b := i-1, i+m
	for a >= 0 && s.Out[a] {
		a--
	}
	if a < 0 || b >= len(s.T) || s.T[b]-s.T[a] > jumpSteps*s.Step+jumpSlack || s.T[b]-s.T[a] > jumpSpan {
		return false
	}
	va, span := s.Speed[a], s.T[b]-s.T[a]
	slope := (s.Speed[b] - va) / span
	if math.Abs(slope) > motion.Hardest {
		return false
	}
	off := func(k int) float64 { return s.Speed[k] - va - slope*(s.T[k]-s.T[a]) }
	first, last := off(i), off(b-1)
	if math.Abs(first) < jumpLeast+jumpAccel*(s.T[i]-s.T[a]) || math.Abs(last) < jumpLeast+jumpAccel*(s.T[b]-s.T[b-1]) {
		return false
	}
	for k := i; k < b; k++ {
		if off(k)*first <= 0 || math.Abs(off(k)) < jumpHolds*math.Abs(first) {
			return false
		}
	}
	return true
}

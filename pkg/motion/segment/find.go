package segment

import (
	"cmp"
	"math"
	"slices"

	"fromrest/pkg/motion"
)

// Input is a log's samples in columns of equal length.
type Input struct {
	T      []float64 // s, increasing
	Speed  []float64 // m/s, not negative
	Course []float64 // degrees from true north, NaN where absent; may be nil
	Out    []bool    // samples to pass over; may be nil
	Holes  []float64 // s, before each sample without one in the log; nil where that is the time since the one before
	Step   float64   // s, usual interval
	Noise  float64   // m/s, standard deviation of one sample
	Lowest float64   // m/s, smallest speed shown above 0 (hold threshold or step); 0 if none
	Scale  float64   // relative uncertainty of speed: a start within twice this of 30 mph is listed
}

// Segment is one stretch, as half-open indices into the input.
type Segment struct {
	Kind   Kind
	From   int // in the standstill before the launch, or the first sample
	Moving int // first sample clearly under way
	To     int
	Max    float64 // m/s, highest sample not set aside
	Flags  []TimedFlag
}

// TimedFlag is a flag with the span of the input's time it concerns.
type TimedFlag struct {
	Flag
	Begin, End float64 // s
}

// finder holds the input and what is derived from it.
type finder struct {
	Input
	still float64 // m/s, at or below which a sample looks at rest
}

// Find returns the segments in order of time. Short starts, pulls and brakings
// are included; the caller chooses what to list.
func Find(in Input) []Segment {
	f := newFinder(in)
	var out []Segment
	rests := f.rests()
	for i := range len(rests) + 1 { // what lies before each standstill, and after the last
		from, end := 0, len(f.T)
		if i < len(rests) {
			end = rests[i].from
		}
		if i > 0 {
			from = rests[i-1].to
			if sg, ok := f.start(rests[i-1], end); ok {
				out = append(out, sg)
			}
		}
		out = append(out, f.rollingIn(from, end)...)
		if i < len(rests) && (i > 0 || end >= leastSamples) {
			if sg, ok := f.braking(from, rests[i]); ok {
				out = append(out, sg)
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Segment) int { return cmp.Compare(a.Moving, b.Moving) })
	return out
}

// LastRest is the last standstill, as half-open indices, and false where there is none.
func LastRest(in Input) (from, to int, ok bool) {
	rests := newFinder(in).rests()
	if len(rests) == 0 {
		return 0, 0, false
	}
	last := rests[len(rests)-1]
	return last.from, last.to, true
}

func newFinder(in Input) *finder {
	f := &finder{Input: in}
	f.still = max(leastStill, stillSDs*in.Noise)
	if in.Lowest > 0 && in.Lowest < mostLowest {
		f.still = max(f.still, min(overLowest*in.Lowest, mostStill))
	}
	return f
}

type span struct{ from, to int }

func (f *finder) out(i int) bool { return f.Out != nil && f.Out[i] }

// rests lists the standstills of at least standstill seconds. One still sample
// is enough where samples come so far apart that it stands for as long.
func (f *finder) rests() []span {
	var out []span
	for i := 0; i < len(f.T); {
		if f.Speed[i] > f.still || f.out(i) {
			i++
			continue
		}
		j, last := i+1, i
		for j < len(f.T) && (f.Speed[j] <= f.still || f.out(j)) {
			if !f.out(j) {
				last = j
			}
			j++
		}
		if f.T[last]-f.T[i] >= standstill-motion.Slack {
			out = append(out, span{i, last + 1})
		}
		i = last + 1
	}
	return out
}

// start examines what follows a standstill, up to the next one.
func (f *finder) start(r span, end int) (Segment, bool) {
	b := r.to
	for b < end && f.out(b) {
		b++
	}
	if b >= end {
		return Segment{}, false
	}
	if dt := f.T[b] - f.T[r.to-1]; f.Speed[b] > jumpStart*dt+jumpSlack {
		return Segment{}, false // no vehicle does this: the rest was not one
	}
	to, vmax, flags := f.follow(b, end)
	if vmax < leastTop || to-b < leastSamples {
		return Segment{}, false
	}
	from := r.to - 1
	for from > r.from && f.T[r.to-1]-f.T[from-1] <= restBefore {
		from--
	}
	sg := Segment{Kind: StandingStart, From: from, Moving: b, To: to, Max: vmax, Flags: flags}
	f.creep(&sg)
	f.describe(&sg)
	if vmax < ListedSpeed*(1-2*f.Scale) {
		sg.flag(FlagShort, f.T[b], f.T[to-1], "never reached 30 mph")
	}
	return sg, true
}

// follow runs from sample b until speed has fallen away from its highest for
// good, and returns the end of the run and the highest speed.
func (f *finder) follow(b, end int) (to int, vmax float64, flags []TimedFlag) {
	top := b
	for i := b; i < end; i++ {
		if f.out(i) {
			continue
		}
		if i > b && f.T[i]-f.T[i-1] > longGap {
			end = i
			break
		}
		if f.Speed[i] >= vmax {
			vmax, top = f.Speed[i], i
			continue
		}
		if f.Speed[i] < vmax-f.drop(vmax) {
			k, ok := f.resumes(top, i, end, vmax)
			if !ok {
				break
			}
			flags = append(flags, TimedFlag{Flag{FlagLift, "speed was lost and gained again"}, f.T[top], f.T[k]})
			vmax, top = f.Speed[k], k
			i = k
		}
	}
	// A little of what follows the highest speed steadies the estimate there.
	to = top + 1
	for to < end && f.T[to]-f.T[top] < max(afterTop, afterSteps*f.Step) {
		to++
	}
	return to, vmax, flags
}

// drop is the loss of speed that is more than noise and a gear shift.
func (f *finder) drop(v float64) float64 { return max(leastDrop, dropShare*v, dropSDs*f.Noise) }

// resumes looks whether a run that lost speed after sample top goes on to more
// than it had, soon and without coming near to rest.
func (f *finder) resumes(top, i, end int, vmax float64) (int, bool) {
	for k := i; k < end && f.T[k]-f.T[top] < resumeIn; k++ {
		if f.out(k) {
			continue
		}
		if f.Speed[k] < max(walking, resumeAbove*vmax) {
			return 0, false
		}
		if f.Speed[k] > vmax+resumeGain {
			return k, true
		}
	}
	return 0, false
}

// flag adds a flag that concerns a span of time.
func (s *Segment) flag(code string, begin, end float64, text string) {
	s.Flags = append(s.Flags, TimedFlag{Flag{code, text}, begin, end})
}

// creep finds a start that crawled before it went: the launch that matters is
// then not the one from rest.
func (f *finder) creep(s *Segment) {
	crawlFrom := -1
	for i := s.Moving; i < s.To && f.Speed[i] < creepEnds; i++ {
		if f.out(i) {
			continue
		}
		if f.Speed[i] < creepSpeed {
			if crawlFrom < 0 {
				crawlFrom = i
			}
			if gain := f.Speed[i] - f.Speed[crawlFrom]; f.T[i]-f.T[crawlFrom] > creepTime && gain < creepGain {
				s.flag(FlagCreep, f.T[s.Moving], f.T[i], "the vehicle crept before it went")
				return
			}
			for crawlFrom < i && f.T[i]-f.T[crawlFrom] > creepSpan {
				crawlFrom++
			}
		}
	}
}

// describe adds the flags that any run can have.
func (f *finder) describe(s *Segment) {
	limit := max(motion.GapIntervals*f.Step, f.Step+gapSlack)
	for i := max(s.Moving, 1); i < s.To; i++ {
		dt := f.T[i] - f.T[i-1]
		if f.Holes != nil {
			dt = f.Holes[i]
		}
		if dt > limit {
			s.flag(FlagGap, f.T[i-1], f.T[i], seconds(dt)+" without samples")
		}
	}
	f.turn(s)
}

// turn compares course along the run with its course at the start.
func (f *finder) turn(s *Segment) {
	if f.Course == nil {
		return
	}
	ref, n := 0.0, 0
	worst, at := 0.0, 0
	for i := s.Moving; i < s.To; i++ {
		if f.out(i) || f.Speed[i] < max(turnSpeed, turnSDs*f.Noise) || math.IsNaN(f.Course[i]) {
			continue
		}
		if n < turnStart {
			ref = f.Course[i]
			n++
			continue
		}
		if d := math.Abs(math.Mod(f.Course[i]-ref+540, 360) - 180); d > worst {
			worst, at = d, i
		}
	}
	if worst > turnDegrees {
		s.flag(FlagTurn, f.T[s.Moving], f.T[at], "the heading changed by "+degrees(worst))
	}
}

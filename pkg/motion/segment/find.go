// Package segment finds the runs in a series of speed samples: standing starts,
// rolling pulls and brakings, among creeping, waiting and turning round.
//
// A standing start is a stretch that leaves a standstill of 0.3 s or more and
// lasts until speed falls away from its highest value. It is a run in its own
// right whatever happens in it; what a reader must know is a flag. Thresholds
// grow with the noise of the samples and with their step.
//
// Limits: only speed, course and time are looked at; two launches without a
// standstill between them are one run with a lift.
package segment

import (
	"math"
	"sort"

	"fromrest/pkg/unit"
)

// Input is a log's samples in columns of equal length.
type Input struct {
	T      []float64 // s, increasing
	Speed  []float64 // m/s, not negative
	Course []float64 // degrees from true north, NaN where absent; may be nil
	Out    []bool    // samples to pass over; may be nil
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

// Limits of the search.
const (
	Standstill  = 0.3           // s, least standstill before a launch
	ListedSpeed = 30 * unit.MPH // m/s, a run that never gets there is short
	restBefore  = 4.0           // s of standstill taken into a run's window
	walking     = 2.5           // m/s, a start below this without a standstill is a rolling start
	longGap     = 10.0          // s, a hole this long ends a run
	resumeIn    = 10.0          // s within which a run that lost speed may go on
	jumpStart   = 80.0          // m/s², mean over the first interval that no start has: thrust without limit included
	hardest     = 15.0          // m/s², more than a road vehicle gains
	gentleMean  = 0.5           // m/s², least mean acceleration of a rolling pull
	brakingMean = 3.0           // m/s², least mean deceleration of a braking
	pullGain    = 20 * unit.MPH // m/s, least gain of a rolling pull
	turnDegrees = 25.0          // heading change that flags a run
	turnSpeed   = 3.0           // m/s above which course means something
)

// finder holds the input and what is derived from it.
type finder struct {
	Input
	still float64 // m/s, at or below which a sample looks at rest
}

// Find returns the segments in order of time. Short starts, pulls and brakings
// are included; the caller chooses what to list.
func Find(in Input) []Segment {
	f := finder{Input: in}
	f.still = max(0.3, 4.5*in.Noise)
	if in.Lowest > 0 && in.Lowest < 1.5 {
		f.still = max(f.still, min(1.05*in.Lowest, 0.9))
	}
	var out []Segment
	rests := f.rests()
	for i, r := range rests {
		end := len(f.T)
		if i+1 < len(rests) {
			end = rests[i+1].from
		}
		if sg, ok := f.start(r, end); ok {
			out = append(out, sg)
		}
		next := end
		out = append(out, f.rollingIn(r.to, next)...)
		if i+1 < len(rests) {
			if sg, ok := f.braking(r.to, rests[i+1]); ok {
				out = append(out, sg)
			}
		}
	}
	if first := len(f.T); len(rests) > 0 || first > 0 {
		if len(rests) > 0 {
			first = rests[0].from
		}
		out = append(f.before(first, rests), out...)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Moving < out[j].Moving })
	return out
}

// before looks at the samples ahead of the first standstill.
func (f *finder) before(first int, rests []span) []Segment {
	out := f.rollingIn(0, first)
	if len(rests) > 0 && first > 2 {
		if sg, ok := f.braking(0, rests[0]); ok {
			out = append(out, sg)
		}
	}
	return out
}

type span struct{ from, to int }

func (f *finder) out(i int) bool { return f.Out != nil && f.Out[i] }

// rests lists the standstills of at least Standstill seconds. One still sample
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
		if f.T[last]-f.T[i] >= Standstill-1e-9 {
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
	if dt := f.T[b] - f.T[r.to-1]; f.Speed[b] > jumpStart*dt+1 {
		return Segment{}, false // no vehicle does this: the rest was not one
	}
	to, vmax, flags := f.follow(b, end)
	if vmax < 2 || to-b < 3 {
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
	for to < end && f.T[to]-f.T[top] < max(0.6, 1.1*f.Step) {
		to++
	}
	return to, vmax, flags
}

// drop is the loss of speed that is more than noise and a gear shift.
func (f *finder) drop(v float64) float64 { return max(1.5, 0.06*v, 8*f.Noise) }

// resumes looks whether a run that lost speed after sample top goes on to more
// than it had, soon and without coming near to rest.
func (f *finder) resumes(top, i, end int, vmax float64) (int, bool) {
	for k := i; k < end && f.T[k]-f.T[top] < resumeIn; k++ {
		if f.out(k) {
			continue
		}
		if f.Speed[k] < max(walking, 0.3*vmax) {
			return 0, false
		}
		if f.Speed[k] > vmax+1 {
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
	for i := s.Moving; i < s.To && f.Speed[i] < 4; i++ {
		if f.out(i) {
			continue
		}
		if f.Speed[i] < 2.2 && f.T[i]-f.T[s.Moving] >= 0 {
			if crawlFrom < 0 {
				crawlFrom = i
			}
			if gain := f.Speed[i] - f.Speed[crawlFrom]; f.T[i]-f.T[crawlFrom] > 3 && gain < 1.2 {
				s.flag(FlagCreep, f.T[s.Moving], f.T[i], "the vehicle crept before it went")
				return
			}
			for crawlFrom < i && f.T[i]-f.T[crawlFrom] > 3.5 {
				crawlFrom++
			}
		}
	}
}

// describe adds the flags that any run can have.
func (f *finder) describe(s *Segment) {
	limit := max(2.5*f.Step, f.Step+0.15)
	for i := max(s.Moving, 1); i < s.To; i++ {
		if dt := f.T[i] - f.T[i-1]; dt > limit {
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
		if f.out(i) || f.Speed[i] < max(turnSpeed, 20*f.Noise) || math.IsNaN(f.Course[i]) {
			continue
		}
		if n < 3 {
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

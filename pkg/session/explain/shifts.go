package explain

import (
	"fmt"
	"math"
	"sort"

	"fromrest/pkg/motion"
	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

// Shift is an interruption of thrust after which the run went on: an upshift, by
// all that a trace shows. Times are of the trace.
type Shift struct {
	Time  uncert.Value // s since the launch, the middle of the interruption; measured
	Speed uncert.Value // m/s there; measured
	// Duration is the width of the interruption at half its depth in s; measured.
	Duration uncert.Value
	// Cost is how much later every higher speed came than if thrust had passed in
	// the same time from its value before to its value after, without a gap, in s;
	// modelled.
	Cost uncert.Value
	// Step is wheel force after over wheel force before, road load included;
	// modelled. A step down by the ratio of two gears tells which they are.
	Step uncert.Value
	// From and To are gears from 1, 0 where not known. GearBasis says how they are
	// known: modelled from Step and the sheet's ratios, or assumed by counting from the
	// start gear.
	From, To  int
	GearBasis Basis

	begin, end float64 // s since the launch, all of it
}

// Bases of the fields of a shift.
const (
	ShiftBasis = Measured // of Time, Speed and Duration
	CostBasis  = Modelled // of Cost and Step
)

// NoShifts says in a whole sentence why no shift can be told from a log like the
// run's, "" where one can.
func NoShifts(r *session.TimedRun) string {
	q := &r.Log.Quality
	switch {
	case r.Trace.Len() < traceLeast:
		return "There is no trace to find shifts in."
	case q.Fused() || q.InertialOnly:
		return ""
	case q.Rate < shiftRate:
		return fmt.Sprintf("Shifts cannot be told at %.2g Hz: they take less than two samples.", q.Rate)
	case q.HeldFor > shiftHeld:
		return fmt.Sprintf("Shifts cannot be told: the logger shows a new speed only every %.2g s.", q.HeldFor)
	case q.SpeedStep > shiftStep:
		return fmt.Sprintf("Shifts cannot be told: speeds come in steps of %.2g m/s, as much as one loses.", q.SpeedStep)
	case plateaus(r) > plateauMost:
		return "Shifts cannot be told: the logged speed stands still and steps on, which looks the same."
	}
	return ""
}

// plateaus counts the stretches in which exactly one speed is logged for longer
// than plateauHeld, in which the speed around it would have gained more than
// plateauGain: coarse steps that a logger has smoothed.
func plateaus(r *session.TimedRun) int {
	n, end := 0, r.PeakTime()
	for i := 0; i < len(r.RawV); {
		j := i
		for j+1 < len(r.RawV) && r.RawV[j+1] == r.RawV[i] {
			j++
		}
		if t0, t1 := r.RawT[i], r.RawT[j]; r.RawV[i] > shiftSlowest && t1-t0 > plateauHeld && t0 > 0 && t1 < end {
			a, _ := r.Trace.SpeedAt(t0 - shiftNear)
			b, _ := r.Trace.SpeedAt(t1 + shiftNear)
			if (b-a)*(t1-t0) > plateauGain*(t1-t0+2*shiftNear) {
				n++
			}
		}
		i = j + 1
	}
	return n
}

// mean is the mean acceleration over t from..to, NaN where there is none of it.
func mean(tr *motion.Trace, from, to float64) float64 {
	i, j := sort.SearchFloat64s(tr.T, from), sort.SearchFloat64s(tr.T, to)
	if j <= i {
		return math.NaN()
	}
	sum := 0.0
	for _, a := range tr.A[i:j] {
		sum += a
	}
	return sum / float64(j-i)
}

// around is the mean acceleration before and after an interruption.
func around(tr *motion.Trace, begin, end float64) (before, after float64) {
	return mean(tr, begin-levelLong, begin+levelInside), mean(tr, end-levelInside, end+levelLong)
}

// dip is a stretch in which acceleration is less than around it.
type dip struct {
	bottom         int     // index of its least acceleration
	begin, end     float64 // s
	halfIn, halfUp float64 // s, where it crosses half its depth
	before, after  float64 // m/s², the acceleration around it
	lost, u        float64 // m/s
}

// Shifts finds the interruptions of thrust in a run's trace after which it went on
// pulling. Gears are not known to it.
func Shifts(r *session.TimedRun) []Shift {
	if NoShifts(r) != "" {
		return nil
	}
	dips := dips(r)
	var out []Shift
	for i, d := range dips {
		alone := true
		for j, o := range dips {
			if j != i && math.Abs(r.Trace.T[o.bottom]-r.Trace.T[d.bottom]) < shiftLonely && o.lost > shiftRival*d.lost {
				alone = false
			}
		}
		if alone && d.lost > shiftSure*d.u && d.end-d.begin < shiftLongest && d.after < shiftHarder*d.before {
			out = append(out, shiftOf(r, d))
		}
	}
	return out
}

// dips lists every dip of a trace, large and small.
func dips(r *session.TimedRun) []dip {
	tr := &r.Trace
	top := r.PeakTime()
	var out []dip
	for i := 1; i+1 < tr.Len(); i++ {
		t := tr.T[i]
		if t < shiftEarliest || tr.V[i] < shiftSlowest || t > top-shiftEdge || tr.A[i] > tr.A[i-1] || tr.A[i] >= tr.A[i+1] {
			continue
		}
		before, after := mean(tr, t-shiftNear, t-shiftEdge), mean(tr, t+shiftEdge, t+shiftNear)
		if !(math.Min(before, after)-tr.A[i] > shiftDepth/2*math.Min(before, after)) || before <= 0 || after <= 0 {
			continue
		}
		if d, ok := dipAt(r, i); ok && d.lost > 0 {
			if n := len(out); n > 0 && out[n-1].end > d.begin { // one dip with two bottoms
				if tr.A[out[n-1].bottom] > tr.A[i] {
					out[n-1] = d
				}
				continue
			}
			out = append(out, d)
		}
	}
	return out
}

// dipAt measures the dip whose bottom is at index i.
func dipAt(r *session.TimedRun, i int) (dip, bool) {
	tr := &r.Trace
	// Its shoulders are where acceleration is nearly that around it again.
	t := tr.T[i]
	shoulder := func(level float64, step int) int {
		k, best := i, i
		for ; k > 0 && k < tr.Len()-1 && math.Abs(tr.T[k]-t) < shiftNear; k += step {
			if tr.A[k] > tr.A[best] {
				best = k
			}
			if tr.A[k] > tr.A[i]+shoulderLevel*(level-tr.A[i]) {
				return k
			}
			// Where thrust itself falls with speed, it is where the flank ends.
			ahead := tr.T[k] + float64(step)*flankAhead
			if tr.A[k] > tr.A[i]+flankLevel*(level-tr.A[i]) && mean(tr, ahead-flankHalf, ahead+flankHalf)-tr.A[k] < flankRise*(level-tr.A[i]) {
				return k
			}
		}
		return best
	}
	l := shoulder(mean(tr, t-shiftNear, t-shiftEdge), -1)
	h := shoulder(mean(tr, t+shiftEdge, t+shiftNear), 1)
	d := dip{bottom: i, begin: tr.T[l], end: tr.T[h]}
	d.before, d.after = around(tr, d.begin, d.end)
	if !(d.before > 0 && d.after > 0) || math.Min(d.before, d.after)-tr.A[i] < shiftDepth*math.Min(d.before, d.after) {
		return d, false
	}
	half := func(level float64, step int) float64 {
		for k := i; k > 0 && k < tr.Len()-1; k += step {
			if tr.A[k] >= level {
				a, b := tr.A[k-step], tr.A[k]
				return tr.T[k-step] + (level-a)/(b-a)*(tr.T[k]-tr.T[k-step])
			}
		}
		return tr.T[i]
	}
	d.halfIn = half((d.before+tr.A[i])/2, -1)
	d.halfUp = half((d.after+tr.A[i])/2, 1)
	d.lost = (d.before+d.after)/2*(d.end-d.begin) - (tr.V[h] - tr.V[l])
	// The levels around the dip are means over about two independent stretches.
	d.u = uncert.Combine(tr.SV[l], tr.SV[h], (d.end-d.begin)*uncert.Combine(tr.SA[l], tr.SA[h])/2/math.Sqrt2)
	return d, true
}

// shiftOf makes a shift of a dip.
func shiftOf(r *session.TimedRun, d dip) Shift {
	tr := &r.Trace
	mean := (d.before + d.after) / 2
	x := d.lost / d.after
	// Where the thrust would step from one level to the other is not seen.
	model := (d.before - d.after) * (d.halfUp - d.halfIn) / math.Sqrt(12)
	u := uncert.Combine(d.u, x*tr.SA[d.bottom]/2, model) / d.after
	mid := (d.halfIn + d.halfUp) / 2
	// A trace is smoother than the motion; a sample interval either way.
	blur := sampleInterval(r)
	depth := mean - tr.A[d.bottom]
	v, sv := tr.SpeedAt(mid)
	out := Shift{Time: uncert.Value{X: mid, U: uncert.Combine(r.LaunchSD, blur/2, 0.5*d.u/depth)},
		Duration: uncert.Value{X: d.halfUp - d.halfIn, U: uncert.Combine(blur, edgeU, d.u/depth)},
		Cost:     uncert.Value{X: x, U: u}, Step: nothing, begin: d.begin, end: d.end}
	out.Speed = uncert.Value{X: v, U: uncert.Combine(sv, mean*blur/4)}
	return out
}

// sampleInterval is the time between the samples that a trace was made from, in s.
func sampleInterval(r *session.TimedRun) float64 {
	if n := len(r.RawAccelT); n > 2 {
		return (r.RawAccelT[n-1] - r.RawAccelT[0]) / float64(n-1)
	}
	if f := r.Log.Quality.Rate; f > 0 {
		return 1 / f
	}
	return slowInterval
}

// step is wheel force after a shift over wheel force before it, with the
// effective mass over mass on either side.
func (c *RunConditions) step(s *Shift, l *RoadLoad, f1, f2 uncert.Value) uncert.Value {
	tr := &c.Run.Trace
	b, a := around(tr, s.begin, s.end)
	load := c.load(l, s.Speed.X)
	before, after := f1.X*b+load.X, f2.X*a+load.X
	_, sd := tr.SpeedAt(s.begin)
	x := after / before
	noise := sd / levelLong // of a mean acceleration over that long
	return uncert.Value{X: x, U: uncert.Combine(f1.X*noise*x, f2.X*noise, load.U*(1-x), f1.U*math.Abs(a-x*b)) / before}
}

// gears says which gears shifts are between: from the step in force where the
// sheet's torque curve and ratios allow only one, else by counting from the start
// gear, else not.
func (c *RunConditions) gears(shifts []Shift, l *RoadLoad, sh *sheet.Sheet, m *modeData) {
	n := len(sh.Vehicle.Gears)
	if n == 0 || m.start+len(shifts) > n {
		return
	}
	for i := range shifts {
		s := &shifts[i]
		s.From, s.To, s.GearBasis = m.start+i, m.start+i+1, Assumed
		if m.train == nil {
			continue
		}
		v1, _ := c.Run.Trace.SpeedAt(s.begin)
		v2, _ := c.Run.Trace.SpeedAt(s.end)
		var fit []int
		for g := 0; g+1 < n; g++ {
			limit := m.train.RoadSpeed(g, m.train.Engine.Limit)
			if limit < nearTop*v1 {
				continue // the engine would turn faster than it can
			}
			want := m.train.Force(g+1, v2) / m.train.Force(g, math.Min(v1, limit))
			if got := c.step(s, l, l.geared(c.Run.Mode, g+1), l.geared(c.Run.Mode, g+2)); math.Abs(want-got.X) <= got.U95()+curveU*want {
				fit = append(fit, g+1)
			}
		}
		if len(fit) == 1 && fit[0] == s.From {
			s.GearBasis = Modelled
		}
	}
}

// ShiftCost sums up a mode's shifts, over the runs that show any.
type ShiftCost struct {
	Runs, Seen int          // runs of the mode, and those of them that show a shift
	Each       float64      // shifts in one of those, on average
	Cost       uncert.Value // s a run that shows any; modelled
}

// ShiftCost is what the shifts of a mode cost.
func (t *Traced) ShiftCost(mode string) ShiftCost {
	runs := byMode(t.Runs)[mode]
	s := ShiftCost{Runs: len(runs)}
	n := 0
	for _, r := range runs {
		if len(r.Shifts) == 0 {
			continue
		}
		s.Seen++
		n += len(r.Shifts)
		for _, c := range r.Shifts {
			if !math.IsNaN(c.Cost.X) {
				s.Cost.X, s.Cost.U = s.Cost.X+c.Cost.X, math.Hypot(s.Cost.U, c.Cost.U)
			}
		}
	}
	if s.Seen > 0 {
		k := float64(s.Seen)
		s.Each, s.Cost = float64(n)/k, uncert.Value{X: s.Cost.X / k, U: s.Cost.U / k}
	}
	return s
}

// ShiftSpeeds are the mean speeds in m/s of the shifts that a mode's traces show,
// the first shift of every run first. It is nil without traces.
func (e *Explanation) ShiftSpeeds(mode string) []float64 {
	if e.Traced == nil {
		return nil
	}
	var sum, n []float64
	for _, r := range byMode(e.Traced.Runs)[mode] {
		for k, s := range r.Shifts {
			if s.From > 0 { // by the gear, where one may be missed
				k = s.From - 1
			}
			for len(sum) <= k {
				sum, n = append(sum, 0), append(n, 0)
			}
			sum[k], n[k] = sum[k]+s.Speed.X, n[k]+1
		}
	}
	out := sum[:0]
	for k := range sum {
		if n[k] > 0 {
			out = append(out, sum[k]/n[k])
		}
	}
	return out
}

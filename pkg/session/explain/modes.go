package explain

import (
	"math"

	"fromrest/pkg/session"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/driveline"
)

// LimitTime is for how long one thing limits a predicted run.
type LimitTime struct {
	By      driveline.Limit
	Seconds float64 // together
	Until   float64 // m/s at which it last ends
	N       int     // stretches of the run
}

// Limits are what limits a predicted run up to an instant in s, in the order met,
// shifts last.
func (p *Prediction) Limits(end float64) []LimitTime {
	var out []LimitTime
	shifts := LimitTime{By: driveline.ByShift}
	for _, q := range p.Run.Parts(end) {
		to := &shifts
		if q.By != driveline.ByShift {
			to = limitOf(&out, q.By)
		}
		to.Seconds += q.End - q.Begin
		to.Until = q.ToSpeed
		to.N++
	}
	if shifts.N > 0 {
		out = append(out, shifts)
	}
	return out
}

// limitOf finds a limit among those met, adding it if it is new.
func limitOf(all *[]LimitTime, by driveline.Limit) *LimitTime {
	for i := range *all {
		if (*all)[i].By == by {
			return &(*all)[i]
		}
	}
	*all = append(*all, LimitTime{By: by})
	return &(*all)[len(*all)-1]
}

// ShiftCost sums up a mode's shifts, over the runs that show any.
type ShiftCost struct {
	Runs, Seen int          // runs of the mode, and those of them that show a shift
	Each       float64      // shifts in one of those, on average
	Cost       uncert.Value // s a run that shows any; modelled
}

// ShiftCost is what the shifts of a mode cost.
func (t *Traced) ShiftCost(mode string) ShiftCost {
	var s ShiftCost
	n := 0
	for i := range t.Runs {
		r := &t.Runs[i]
		if r.Run.Mode != mode {
			continue
		}
		s.Runs++
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
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		if r.Run.Mode != mode {
			continue
		}
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

// Measured is the force of a mode that the traces give, nil without any.
func (e *Explanation) Measured(mode string) *ModeForce {
	if e.Traced == nil {
		return nil
	}
	for i := range e.Traced.Modes {
		if m := &e.Traced.Modes[i]; m.Mode == mode {
			return m
		}
	}
	return nil
}

// At is the point of a mode's curve nearest to a speed in m/s, outside shifts.
func (m *ModeForce) At(v float64) (ForcePoint, bool) {
	best, far := -1, nearSpeed
	for i := range m.Points {
		if d := math.Abs(m.Points[i].Speed - v); d < far && !m.Points[i].InShift {
			best, far = i, d
		}
	}
	if best < 0 {
		return ForcePoint{}, false
	}
	return m.Points[best], true
}

// BothGrip is the speed in m/s up to which both modes use most of the grip, false
// where they do not.
func (b *ForceBand) BothGrip() (until float64, ok bool) {
	for _, p := range b.Parts {
		if p.Limit == BandGrip && math.Abs(p.Percent.X) < bothGrip {
			until, ok = p.To, true
		}
	}
	return until, ok
}

// Gap is the difference of modes a and b in the time from one speed in m/s to
// another, 0 being rest, over their runs' traces, in s. Where both were driven
// both ways the direction is taken out; U95 is Student's. It is false where the
// runs are too few.
func (t *Traced) Gap(a, b string, from, to float64) (uncert.Value, bool) {
	took := t.took(a, b, from, to)
	d, v, rss, n := 0.0, 0.0, 0.0, 0
	for _, w := range took {
		if len(w[0]) == 0 || len(w[1]) == 0 { // driven one way only
			t, err := stats.Welch(stats.Describe(append(took[0][0], took[1][0]...)), stats.Describe(append(took[0][1], took[1][1]...)))
			if err != nil {
				return uncert.Value{}, false
			}
			return uncert.Value{X: t.Difference, U: t.SE * stats.TQuantile(uncert.Level, t.DF) / uncert.Z95}, true
		}
		x, y := stats.Describe(w[0]), stats.Describe(w[1])
		d += (x.Mean - y.Mean) / 2
		v += (1/float64(x.N) + 1/float64(y.N)) / 4
		for _, s := range []stats.Summary{x, y} {
			if s.N > 1 {
				rss += s.Var() * float64(s.N-1)
			}
			n += s.N - 1
		}
	}
	if n < 1 {
		return uncert.Value{}, false
	}
	return uncert.Value{X: d, U: math.Sqrt(rss/float64(n)*v) * stats.TQuantile(uncert.Level, float64(n)) / uncert.Z95}, true
}

// took are the times in s that the runs of modes a and b take from one speed to
// another, by direction and then by mode.
func (t *Traced) took(a, b string, from, to float64) (took [2][2][]float64) {
	head, first := 0.0, true
	for i := range t.Runs {
		r := t.Runs[i].Run
		s := reachTime(r, to) - reachTime(r, from)
		if r.Mode != a && r.Mode != b || math.IsNaN(s) {
			continue
		}
		if first {
			head, first = r.HeadingDeg, false
		}
		way, mode := 0, 0
		if session.OtherWay(r.HeadingDeg, head) {
			way = 1
		}
		if r.Mode == b {
			mode = 1
		}
		took[way][mode] = append(took[way][mode], s)
	}
	return took
}

// reachTime is when a run's trace first reaches a speed, in s since the launch.
func reachTime(r *session.TimedRun, v float64) float64 {
	tr := &r.Trace
	if v <= 0 {
		return 0
	}
	for i := 1; i < tr.Len(); i++ {
		if tr.V[i] >= v && tr.V[i-1] < v {
			return tr.T[i-1] + (v-tr.V[i-1])/(tr.V[i]-tr.V[i-1])*(tr.T[i]-tr.T[i-1])
		}
	}
	return math.NaN()
}

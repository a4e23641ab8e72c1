package explain

import (
	"math"

	"fromrest/pkg/session"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// The parts of a difference in time.
const (
	SpentLaunch     = "launch"         // below the speed at which a limit can be told
	SpentGrip       = "grip"           // up to the speed to which grip limits one mode or both
	SpentEngine     = "engine"         // from there on
	SpentSpeeds     = "speeds"         // a stretch of speed of which nothing tells whether grip or the engine limits
	SpentShifts     = "shifts"         // taken out of the stretches where every run shows its own
	SpentConditions = "grade and wind" // taken out of the stretches where known
	SpentLeft       = "left over"      // between the comparison's difference and that of the traces
)

// Spent is where the time went in which two modes differ, on the way from rest to a
// speed. The parts add up to Measured.
type Spent struct {
	A, B      string
	Target    Target
	Parts     []SpentPart
	Measured  uncert.Value // s, A less B, as the comparison has it
	Predicted uncert.Value // s, the same by the sheet; NaN where not known
}

// SpentPart is one part of a difference in time.
type SpentPart struct {
	What      string       // one of the Spent constants
	From, To  float64      // m/s, of a stretch of speed; both 0 for the others
	Seconds   uncert.Value // s, A less B; measured, and modelled where conditions are taken out
	Predicted uncert.Value // s, the same by the sheet; NaN where not known
}

// decisive are the places in Targets of the speeds that a difference is taken apart at:
// the first that every run reaches.
var decisive = []int{1, 0}

// Where takes the difference of two modes apart, false where the comparison has none or
// their runs do not reach a speed that it is told at.
func (e *Explanation) Where(b *ForceBand) (Spent, bool) {
	of := byMode(e.Traced.Runs)
	for _, k := range decisive {
		t := Targets[k]
		d, ok := e.Difference(b.A, b.B, t)
		if !ok || !reached(of[b.A], t.Speed) || !reached(of[b.B], t.Speed) {
			continue
		}
		s := Spent{A: b.A, B: b.B, Target: t, Measured: d.Seconds, Predicted: nothing}
		e.take(&s, &pairing{a: of[b.A], b: of[b.B]}, b)
		return s, true
	}
	return Spent{}, false
}

// reached reports whether all runs pass a speed in m/s.
func reached(runs []*TracedRun, v float64) bool {
	for _, r := range runs {
		if math.IsNaN(reachTime(r.Run, v)) {
			return false
		}
	}
	return len(runs) > 0
}

// partSpeed is where a run is told apart, in m/s, if nothing tells what limits. Form.
const partSpeed = 30 * unit.MPH

// gripTold reports whether the sheet and the traces tell where grip limits some runs.
func gripTold(runs []*TracedRun) bool {
	for _, r := range runs {
		if r.Grip.Basis != Modelled || r.Grip.contradicted() {
			return false
		}
	}
	return true
}

// stretches are the bounds in m/s of launch, grip and engine up to a speed; where told is
// not set, of launch and the speeds below and above partSpeed.
func (b *ForceBand) stretches(end float64, told bool) (what []string, bounds []float64) {
	if !told {
		what, bounds = []string{SpentLaunch, SpentSpeeds}, []float64{0, bandLeast}
		if end > partSpeed {
			what, bounds = append(what, SpentSpeeds), append(bounds, partSpeed)
		}
		return what, append(bounds, end)
	}
	grip := 0.0
	for _, p := range b.Parts {
		if p.Limit == BandGrip {
			grip = max(grip, min(end, p.To))
		}
	}
	what, bounds = []string{SpentLaunch}, []float64{0, bandLeast}
	if grip > bandLeast {
		what, bounds = append(what, SpentGrip), append(bounds, grip)
	}
	if grip < end {
		what, bounds = append(what, SpentEngine), append(bounds, end)
	}
	return what, bounds
}

// spent is what one run spends in each stretch, in its shifts, and by grade and wind, in s.
type spent struct {
	in                 []float64
	shifts, conditions float64
}

// spend splits a run's time to the last bound.
func (e *Explanation) spend(r *TracedRun, bounds []float64, shifts bool) spent {
	out := spent{conditions: math.NaN()}
	at := make([]float64, len(bounds)) // s since the launch
	for i, v := range bounds {
		at[i] = reachTime(r.Run, v)
	}
	left := func(t float64) float64 { return t }
	if take := e.road(r); take != nil {
		w := relieve(r.Run, take)
		left = func(t float64) float64 { return interpolate(w.real, w.t, t) }
		out.conditions = at[len(at)-1] - at[0] - (left(at[len(at)-1]) - left(at[0]))
	}
	for i := 1; i < len(at); i++ {
		s := left(at[i]) - left(at[i-1])
		for _, c := range r.Shifts {
			if shifts && c.Time.X >= at[i-1] && c.Time.X < at[i] {
				s, out.shifts = s-c.Cost.X, out.shifts+c.Cost.X
			}
		}
		out.in = append(out.in, s)
	}
	return out
}

// road is what grade and wind cost a run, nil where neither is known.
func (e *Explanation) road(r *TracedRun) cost {
	rs := e.resists
	rs.mode = r.Run.Mode
	for i := range e.Conditions {
		c := &e.Conditions[i]
		if c.Run != r.Run {
			continue
		}
		in := c.influences(&rs)
		grade, wind := in[0].base, in[1].base
		switch {
		case grade == nil:
			return wind
		case wind == nil:
			return grade
		}
		return func(v, a float64) float64 { return grade(v, a) + wind(v, a) }
	}
	return nil
}

// take fills in the parts of a difference.
func (e *Explanation) take(s *Spent, p *pairing, b *ForceBand) {
	what, bounds := b.stretches(s.Target.Speed, gripTold(p.a) && gripTold(p.b))
	shifts := allShift(p.a) && allShift(p.b) // then they are a part of their own
	var in [2][][]float64                    // mode, part, run
	for k, runs := range [][]*TracedRun{p.a, p.b} {
		in[k] = make([][]float64, len(what)+2)
		for _, r := range runs {
			x := e.spend(r, bounds, shifts)
			for i, v := range append(x.in, x.shifts, x.conditions) {
				in[k][i] = append(in[k][i], v)
			}
		}
	}
	pa, pb := e.prediction(s.A), e.prediction(s.B)
	by := func(f func(*driveline.Run) float64) uncert.Value {
		if pa == nil || pb == nil || e.contradicted(s.A, s.Target) || e.contradicted(s.B, s.Target) {
			return nothing
		}
		return pa.of(f).less(pb.of(f)).value()
	}
	sum := 0.0
	add := func(q SpentPart) {
		if !math.IsNaN(q.Seconds.X) {
			sum += q.Seconds.X
			s.Parts = append(s.Parts, q)
		}
	}
	for i, w := range what {
		from, to := bounds[i], bounds[i+1]
		add(SpentPart{What: w, From: from, To: to, Seconds: p.differ(in[0][i], in[1][i]), Predicted: by(func(r *driveline.Run) float64 {
			return Target{Speed: to}.reach(r) - start(r, from)
		})})
	}
	if shifts {
		add(SpentPart{What: SpentShifts, Seconds: p.differ(in[0][len(what)], in[1][len(what)]), Predicted: nothing})
	}
	add(SpentPart{What: SpentConditions, Seconds: p.differ(in[0][len(what)+1], in[1][len(what)+1]), Predicted: nothing})
	s.Parts = append(s.Parts, SpentPart{What: SpentLeft, Seconds: uncert.Value{X: s.Measured.X - sum}, Predicted: nothing})
	s.Predicted = by(s.Target.reach)
}

// start is when a run has a speed in m/s, 0 at rest.
func start(r *driveline.Run, v float64) float64 {
	if v <= 0 {
		return 0
	}
	return Target{Speed: v}.reach(r)
}

// allShift reports whether each of some runs shows shifts, and what they cost.
func allShift(runs []*TracedRun) bool {
	for _, r := range runs {
		if len(r.Shifts) == 0 || len(r.Shifts) != len(runs[0].Shifts) {
			return false
		}
		for _, s := range r.Shifts {
			if math.IsNaN(s.Cost.X) {
				return false
			}
		}
	}
	return true
}

// reachTime is when a run's trace first reaches a speed, in s since the launch.
func reachTime(r *session.TimedRun, v float64) float64 {
	if v <= 0 {
		return 0
	}
	t, _ := passes(&r.Trace, v, math.Inf(1))
	return t
}

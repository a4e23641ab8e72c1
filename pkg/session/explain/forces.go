package explain

import (
	"math"
	"slices"

	"fromrest/pkg/motion"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
)

// ForcePoint is force at the wheels at one speed.
type ForcePoint struct {
	Speed float64 // m/s
	// Specific is force at the wheels over mass in m/s², rotating parts, drag,
	// rolling resistance and grade included.
	Specific uncert.Value
	Force    uncert.Value // N at the wheels; NaN without the mass
	Power    uncert.Value // W at the wheels; NaN without the mass
	Gear     int          // from 1, 0 where not known
	InShift  bool         // thrust was interrupted here
	factor   float64      // effective mass over mass that it is reckoned with
}

// ModeForce is the mean of a mode's runs at the same speeds.
type ModeForce struct {
	Mode   string
	Runs   int
	Basis  Basis
	Points []ForcePoint // Force.U95() is the band: Student's where there are two runs or more
}

// weigh fills in what needs the mass in kg.
func (p *ForcePoint) weigh(mass float64) {
	p.Force = uncert.Value{X: mass * p.Specific.X, U: mass * uncert.Combine(p.Specific.U, massU*p.Specific.X)}
	p.Power = uncert.Value{X: p.Force.X * p.Speed, U: p.Force.U * p.Speed}
}

// byMode sorts runs by their modes.
func byMode(runs []TracedRun) map[string][]*TracedRun {
	of := map[string][]*TracedRun{}
	for i := range runs {
		of[runs[i].Run.Mode] = append(of[runs[i].Run.Mode], &runs[i])
	}
	return of
}

// passes is when a trace first passes a speed v on its way up, until a time in s
// since the launch, and the index of the point that follows; NaN where it does not.
func passes(tr *motion.Trace, v, until float64) (t float64, next int) {
	for i := 1; i < tr.Len() && tr.T[i] <= until; i++ {
		if tr.V[i] >= v && tr.V[i-1] < v {
			f := (v - tr.V[i-1]) / (tr.V[i] - tr.V[i-1])
			return tr.T[i-1] + f*(tr.T[i]-tr.T[i-1]), i
		}
	}
	return math.NaN(), 0
}

// forces are the forces at the wheels, a step of speed apart.
func (c *RunConditions) forces(shifts []Shift, l *RoadLoad, gear int, mass float64) []ForcePoint {
	r := c.Run
	tr := &r.Trace
	blur := sampleInterval(r)
	end := r.PeakTime()
	sure := slices.ContainsFunc(shifts, func(s Shift) bool { return s.GearBasis == Modelled })
	var out []ForcePoint
	t0, i0 := passes(tr, forceFrom, end)
	for v := forceFrom; ; v += forceStep {
		t1, i1 := passes(tr, v+forceStep, end)
		if math.IsNaN(t1) || math.IsNaN(t0) {
			return out
		}
		p := ForcePoint{Speed: v + forceStep/2, Gear: gear, Force: nothing, Power: nothing}
		for _, s := range shifts {
			if t1 > s.begin-blur && t0 < s.end+blur {
				p.InShift = true
			}
			if gear > 0 && t0 > s.Time.X {
				p.Gear = s.To
			}
		}
		a := forceStep / (t1 - t0)
		f, load := l.factor(r.Mode, p.Gear, sure, p.Speed), c.load(l, p.Speed)
		p.factor = f.X
		p.Specific = uncert.Value{X: f.X*a + load.X, U: uncert.Combine(f.U*a, f.X*a*uncert.Combine(tr.SV[i0], tr.SV[i1])/forceStep, load.U)}
		if mass > 0 {
			p.weigh(mass)
		}
		out = append(out, p)
		t0, i0 = t1, i1
	}
}

// modeForces are the means of each mode's runs, in the order of the modes given; the
// others follow as they are met.
func modeForces(runs []TracedRun, l *RoadLoad, order []string) []ModeForce {
	var out []ModeForce
	of := byMode(runs)
	for i := range runs {
		mode := of[runs[i].Run.Mode]
		if mode[0] != &runs[i] {
			continue
		}
		m := ModeForce{Mode: runs[i].Run.Mode, Runs: len(mode), Basis: l.basis()}
		for p, ok := meanPoint(mode, 0); ok; p, ok = meanPoint(mode, len(m.Points)) {
			m.Points = append(m.Points, p)
		}
		out = append(out, m)
	}
	place := func(m ModeForce) int {
		if i := slices.Index(order, m.Mode); i >= 0 {
			return i
		}
		return len(order)
	}
	slices.SortStableFunc(out, func(a, b ModeForce) int { return place(a) - place(b) })
	return out
}

// meanPoint is the mean of the k-th points of those runs that got there, of those
// not in a shift where there are any. Its band holds the scatter of the runs and
// what all of them share.
func meanPoint(runs []*TracedRun, k int) (ForcePoint, bool) {
	var all, shifting []ForcePoint
	for _, r := range runs {
		switch {
		case k >= len(r.Force):
		case r.Force[k].InShift:
			shifting = append(shifting, r.Force[k])
		default:
			all = append(all, r.Force[k])
		}
	}
	p := ForcePoint{InShift: len(shifting) > 0, Force: nothing, Power: nothing}
	if len(all) == 0 {
		all = shifting
	}
	if len(all) == 0 {
		return p, false
	}
	var x []float64
	shared := 0.0
	p.Gear, p.Speed = all[0].Gear, all[0].Speed
	for _, q := range all {
		x, shared = append(x, q.Specific.X), shared+q.Specific.U/float64(len(all))
		if q.Gear != p.Gear {
			p.Gear = 0
		}
	}
	s := stats.Describe(x)
	p.Specific = uncert.Value{X: s.Mean, U: shared}
	if s.N > 1 {
		p.Specific.U = uncert.Combine(shared, s.SE()*stats.StudentOver(float64(s.N-1)))
	}
	if mass := all[0].Force.X / all[0].Specific.X; !math.IsNaN(mass) {
		p.weigh(mass)
	}
	return p, true
}

// Measured is the force of a mode that the traces give, nil without any.
func (e *Explanation) Measured(mode string) *ModeForce {
	if e.Traced == nil {
		return nil
	}
	if i := slices.IndexFunc(e.Traced.Modes, func(m ModeForce) bool { return m.Mode == mode }); i >= 0 {
		return &e.Traced.Modes[i]
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

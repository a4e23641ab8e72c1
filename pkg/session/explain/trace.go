package explain

import (
	"context"
	"math"

	"fromrest/pkg/session"

	"fromrest/pkg/sheet"
	"fromrest/pkg/stats"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// TraceOf reads shifts, forces, use of grip and differences between modes from the
// traces of the runs whose conditions are given. What the sheet lacks is listed
// with what it would unlock. res may be nil; then there are no coast-downs.
func TraceOf(ctx context.Context, res *session.Result, cs []RunConditions, sh *sheet.Sheet) *Traced {
	out := &Traced{Load: RoadLoadOf(res, sh)}
	modes := map[string]*modeData{}
	for i := range cs {
		if ctx.Err() != nil {
			return out
		}
		mode := cs[i].Run.Mode
		if modes[mode] == nil {
			modes[mode] = newModeData(ctx, sh, mode)
		}
		out.Runs = append(out.Runs, tracedRun(&cs[i], &out.Load, sh, modes[mode]))
	}
	out.Modes = modeForces(out.Runs, &out.Load)
	out.Bands = forceBands(out.Runs, out.Modes, cs, sh)
	out.missing(sh)
	return out
}

// missing lists what the sheet lacks for what the traces could tell.
func (t *Traced) missing(sh *sheet.Sheet) {
	v := &sh.Vehicle
	need := func(ok bool, key, unlocks string) {
		if !ok {
			t.Missing = append(t.Missing, Missing{key, unlocks})
		}
	}
	need(vehicleMass(v) > 0, "mass_kg", "force in N and power at the wheels")
	need(v.MassFactor > 0 || len(v.Gears) > 0 && v.FinalDrive > 0, "mass_factor, or gears and final_drive", "what speeding up rotating parts takes")
	need(t.Load.RollingBasis != Assumed, "rolling_resistance, or a coast-down in neutral of 12 s or more", "the part of the force that rolling takes")
	need(t.Load.DragBasis != Assumed, "drag_area_m2, or a coast-down in neutral of 12 s or more", "the part of the force that the air takes")
	need(len(v.Gears) > 0, "gears", "which gear each shift is into")
	need(v.Friction > 0, "friction", "the share of grip used, with the surface as it is")
	need(v.FrontMass > 0 && v.RearMass > 0, "front_axle_kg and rear_axle_kg", "the grip of the driven axle")
}

// modeData is what the sheet says of one mode.
type modeData struct {
	train *driveline.Powertrain
	start int // gear it starts in
	share float64
	grip  gripLimit
}

func newModeData(ctx context.Context, sh *sheet.Sheet, mode string) *modeData {
	m := &modeData{start: max(1, sh.ModeDriveline(mode).StartGear), grip: gripLimitOf(sh, mode)}
	for _, x := range sh.Modes {
		if x.Name == mode {
			m.share = x.PowerShare
		}
	}
	if p, err := Predict(ctx, sh, mode); err == nil {
		m.train = p.Train
	}
	return m
}

func tracedRun(c *RunConditions, l *RoadLoad, sh *sheet.Sheet, m *modeData) TracedRun {
	r := c.Run
	out := TracedRun{Run: r, NoShifts: NoShifts(r), Shifts: Shifts(r)}
	c.steps(out.Shifts, l)
	c.gears(out.Shifts, l, sh, m)
	out.Force = c.forces(out.Shifts, l, firstGear(out.Shifts, sh, m), vehicleMass(&sh.Vehicle))
	out.Grip = m.grip.use(out.Force, l, c)
	return out
}

// load is the road load over mass in m/s² at speed v with its standard
// uncertainty.
func (c *RunConditions) load(l *RoadLoad, v float64) uncert.Value {
	grade, wind := c.Grade, c.HeadWind
	if math.IsNaN(grade.X) {
		grade = uncert.Value{U: coastGradeU} // a level road, by all that is known
	}
	if math.IsNaN(wind.X) {
		wind = uncert.Value{U: windLeast}
	}
	air := v + wind.X
	slope := math.Atan(grade.X)
	return uncert.Value{X: unit.GravityStandard*(l.Rolling.X*math.Cos(slope)+math.Sin(slope)) + l.Drag.X*air*math.Abs(air),
		U: uncert.Combine(unit.GravityStandard*l.Rolling.U, unit.GravityStandard*grade.U, l.Drag.U*air*air, 2*l.Drag.X*air*wind.U)}
}

// steps fills in wheel force after each shift over wheel force before it. The
// same rotating mass is taken on both sides: gears are not known yet.
func (c *RunConditions) steps(shifts []Shift, l *RoadLoad) {
	for i := range shifts {
		shifts[i].Step = c.step(&shifts[i], l, l.Factor, l.Factor)
	}
}

// step is wheel force after a shift over wheel force before it, with the
// effective mass over mass on either side.
func (c *RunConditions) step(s *Shift, l *RoadLoad, f1, f2 uncert.Value) uncert.Value {
	tr := &c.Run.Trace
	b, a := mean(c.Run, tr.A, s.begin-0.3, s.begin+0.05), mean(c.Run, tr.A, s.end-0.05, s.end+0.3)
	load := c.load(l, s.Speed.X)
	before, after := f1.X*b+load.X, f2.X*a+load.X
	_, sd := tr.SpeedAt(s.begin)
	x := after / before
	noise := sd / 0.3 // of a mean acceleration over 0.3 s
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
			if limit < 0.97*v1 {
				continue // the engine would turn faster than it can
			}
			want := m.train.Force(g+1, v2) / m.train.Force(g, math.Min(v1, limit))
			if got := c.step(s, l, l.factor(g+1), l.factor(g+2)); math.Abs(want-got.X) <= got.U95()+curveU*want {
				fit = append(fit, g+1)
			}
		}
		if len(fit) == 1 && fit[0] == s.From {
			s.GearBasis = Modelled
		}
	}
}

// curveU is what a torque curve may be off by between two of its points, relative.
const curveU = 0.03

// firstGear is the gear a run starts in, 0 where not known: a run in which no
// shift was seen may have had some.
func firstGear(shifts []Shift, sh *sheet.Sheet, m *modeData) int {
	switch {
	case len(sh.Vehicle.Gears) == 1:
		return 1
	case len(shifts) > 0 && shifts[0].From > 0:
		return shifts[0].From
	}
	return 0
}

// forces are the forces at the wheels, a step of speed apart.
func (c *RunConditions) forces(shifts []Shift, l *RoadLoad, gear int, mass float64) []ForcePoint {
	r := c.Run
	tr := &r.Trace
	blur := sampleInterval(r)
	end := r.PeakTime()
	reach := func(v float64) (t, sd float64) {
		for i := 1; i < tr.Len() && tr.T[i] <= end; i++ {
			if tr.V[i] >= v && tr.V[i-1] < v {
				f := (v - tr.V[i-1]) / (tr.V[i] - tr.V[i-1])
				return tr.T[i-1] + f*(tr.T[i]-tr.T[i-1]), tr.SV[i]
			}
		}
		return math.NaN(), math.NaN()
	}
	var out []ForcePoint
	t0, s0 := reach(1)
	for v := 1.0; ; v += forceStep {
		t1, s1 := reach(v + forceStep)
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
		f, load := l.factor(p.Gear), c.load(l, p.Speed)
		p.Specific = uncert.Value{X: f.X*a + load.X, U: uncert.Combine(f.U*a, f.X*a*uncert.Combine(s0, s1)/forceStep, load.U)}
		if mass > 0 {
			p.Force = uncert.Value{X: mass * p.Specific.X, U: mass * p.Specific.U}
			p.Power = uncert.Value{X: p.Force.X * p.Speed, U: p.Force.U * p.Speed}
		}
		out = append(out, p)
		t0, s0 = t1, s1
	}
}

// modeForces are the means of each mode's runs.
func modeForces(runs []TracedRun, l *RoadLoad) []ModeForce {
	var out []ModeForce
	at := map[string]int{}
	of := map[string][]*TracedRun{}
	for i := range runs {
		m := runs[i].Run.Mode
		if _, ok := at[m]; !ok {
			at[m] = len(out)
			out = append(out, ModeForce{Mode: m, Basis: weakest(Modelled, l.RollingBasis, l.DragBasis, l.FactorBasis)})
		}
		of[m] = append(of[m], &runs[i])
	}
	for i := range out {
		m := &out[i]
		m.Runs = len(of[m.Mode])
		for k := 0; ; k++ {
			p, ok := meanPoint(of[m.Mode], k)
			if !ok {
				break
			}
			m.Points = append(m.Points, p)
		}
	}
	return out
}

// meanPoint is the mean of the k-th points of those runs that got there, of those
// not in a shift where there are any. Its band holds the scatter of the runs and
// what all of them share.
func meanPoint(runs []*TracedRun, k int) (ForcePoint, bool) {
	pick := func(shifting bool) (out []ForcePoint) {
		for _, r := range runs {
			if k < len(r.Force) && r.Force[k].InShift == shifting {
				out = append(out, r.Force[k])
			}
		}
		return out
	}
	all := pick(false)
	shifting := pick(true)
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
		p.Specific.U = uncert.Combine(shared, s.SE()*session.StudentOver(float64(s.N-1)))
	}
	if f := all[0].Force.X / all[0].Specific.X; !math.IsNaN(f) {
		p.Force = uncert.Value{X: f * p.Specific.X, U: f * p.Specific.U}
		p.Power = uncert.Value{X: p.Force.X * p.Speed, U: p.Force.U * p.Speed}
	}
	return p, true
}

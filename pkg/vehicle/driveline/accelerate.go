package driveline

import (
	"context"
	"math"
)

// Limit is what keeps a run from being quicker at some instant.
type Limit string

// The limits.
const (
	ByGrip   Limit = "grip"         // the tyres pass no more
	ByTorque Limit = "torque"       // the engine is below 90 % of its greatest power: a shorter gear would push harder
	ByPower  Limit = "power"        // the engine gives 90 % of its greatest power or more: no gear helps
	ByShift  Limit = "shift"        // no thrust while a gear is changed
	ByEngine Limit = "engine speed" // the last gear is used up
	ByStart  Limit = "launch"       // thrust is building up
)

// Run is a predicted run from rest, in columns of equal length.
type Run struct {
	T     []float64 // s since thrust begins
	S     []float64 // m
	V     []float64 // m/s
	A     []float64 // m/s²
	Drive []float64 // N at the wheels before rotating parts take their share
	Tyre  []float64 // N between tyres and road
	Gear  []int     // from 0
	By    []Limit

	Shifts []Upshift
	// Stuck says why the run ended before it was long enough, "" if it was not.
	Stuck string

	// The ledger in J: Work = Kinetic + Rotating + DragLoss + RollLoss + Climb +
	// ShiftLoss.
	Work, Kinetic, Rotating, DragLoss, RollLoss, Climb, ShiftLoss float64
}

// Upshift is one change of gear in a predicted run.
type Upshift struct {
	From, To int     // gears from 1
	Time     float64 // s
	Speed    float64 // m/s
}

const (
	simStep    = 0.002 // s
	simLongest = 120.0 // s
	neutral    = 1.04  // effective mass over mass with the engine out
)

// Accelerate predicts a full-throttle run from rest until it has covered
// distance (m) and reached speed (m/s), by a fourth-order Runge-Kutta method in
// steps of 2 ms with the shifts as events. It ends early where the vehicle gains
// no more speed.
func (p *Powertrain) Accelerate(ctx context.Context, distance, speed float64) (*Run, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	r := &Run{}
	gear := max(0, p.StartGear-1)
	peak, _ := p.Engine.PeakPower()
	var t, s, v float64
	shiftEnd := -1.0
	ups := make([]float64, len(p.Gears))
	for g := range ups {
		ups[g] = p.UpshiftSpeed(g)
	}
	r.add(p, peak, t, s, v, gear, shiftEnd)
	for t < simLongest && (s < distance || v < speed) {
		if len(r.T)%1024 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		h := simStep
		if shiftEnd > t {
			h = math.Min(h, shiftEnd-t)
		}
		dv, ds := p.rk4(t, v, gear, shiftEnd > t, h)
		up := ups[gear]
		if shiftEnd <= t && gear+1 < len(p.Gears) && v+dv >= up && dv > 0 {
			// Go to the shift exactly.
			for range 4 {
				h *= math.Min(1, (up-v)/dv)
				dv, ds = p.rk4(t, v, gear, false, h)
			}
			t, s, v = t+h, s+ds, v+dv
			r.add(p, peak, t, s, v, gear, -1)
			r.Shifts = append(r.Shifts, Upshift{gear + 1, gear + 2, t, v})
			gear++
			shiftEnd = t + p.ShiftTime
			r.add(p, peak, t, s, v, gear, shiftEnd)
			continue
		}
		if v+dv < 0 {
			dv = -v
		}
		shifting := shiftEnd > t
		t, s, v = t+h, s+ds, v+dv
		if shifting && shiftEnd-t < 1e-9 { // both sides of the step in thrust
			t = shiftEnd
			r.add(p, peak, t, s, v, gear, t+1)
		}
		r.add(p, peak, t, s, v, gear, shiftEnd)
		if t > p.BuildUp+0.5 && shiftEnd < t && dv < 1e-6*h {
			r.Stuck = p.why(gear, v)
			break
		}
	}
	if r.Stuck == "" && (s < distance || v < speed) {
		r.Stuck = "it takes longer than 120 s"
	}
	r.settle(p)
	return r, nil
}

func (p *Powertrain) why(gear int, v float64) string {
	switch {
	case v < 0.1 && p.Grip > 0 && p.Grip <= p.RoadLoad(0):
		return "the tyres pass less thrust than the grade and the rolling resistance take"
	case v < 0.1:
		return "thrust does not exceed the road load"
	case gear == len(p.Gears)-1 && v >= 0.995*p.TopSpeed():
		return "the engine's limit ends the last gear"
	}
	return "thrust and road load are equal"
}

// state is the forces at an instant, and what limits.
func (p *Powertrain) state(t, v float64, gear int, shifting bool) (a, drive, tyre float64, by Limit) {
	load := p.RoadLoad(v)
	factor := p.Factor(gear)
	switch {
	case shifting && p.ShiftThrust > 0: // the engine stays connected
		drive, by = p.ShiftThrust*p.Force(gear, v), ByShift
	case shifting:
		factor, by = neutral, ByShift
		if p.Inertia > 0 {
			factor = p.Inertia
		}
	default:
		drive, by = p.Force(gear, v), ByTorque
	}
	if p.BuildUp > 0 && t < p.BuildUp {
		drive *= 0.5 - 0.5*math.Cos(math.Pi*t/p.BuildUp)
		by = ByStart
	}
	a = (drive - load) / (p.Mass * factor)
	if v <= 0 && a < 0 {
		return 0, drive, math.Min(drive, load), by
	}
	tyre = p.Mass*a + load
	if tyre > p.grip() {
		tyre = p.grip()
		a = (tyre - load) / p.Mass
		if v <= 0 && a < 0 {
			a = 0
		}
		drive = tyre + p.Mass*(factor-1)*math.Max(a, 0)
		by = ByGrip
	}
	return a, drive, tyre, by
}

// rk4 is one step of speed and distance.
func (p *Powertrain) rk4(t, v float64, gear int, shifting bool, h float64) (dv, ds float64) {
	f := func(t, v float64) float64 {
		a, _, _, _ := p.state(t, math.Max(v, 0), gear, shifting)
		return a
	}
	k1 := f(t, v)
	k2 := f(t+h/2, v+h/2*k1)
	k3 := f(t+h/2, v+h/2*k2)
	k4 := f(t+h, v+h*k3)
	dv = h / 6 * (k1 + 2*k2 + 2*k3 + k4)
	return dv, h*v + h*h/6*(k1+k2+k3)
}

// add appends a node.
func (r *Run) add(p *Powertrain, peak, t, s, v float64, gear int, shiftEnd float64) {
	a, drive, tyre, by := p.state(t, v, gear, shiftEnd > t)
	if by == ByTorque {
		w := p.EngineSpeed(gear, v)
		switch {
		case w >= p.Engine.Limit*(1-1e-3) && gear == len(p.Gears)-1:
			by = ByEngine
		case p.Engine.At(w)*w >= 0.9*peak && v/p.TyreRadius*p.Overall(gear) >= w*(1-1e-9):
			by = ByPower
		}
	}
	r.T, r.S, r.V, r.A = append(r.T, t), append(r.S, s), append(r.V, v), append(r.A, a)
	r.Drive, r.Tyre = append(r.Drive, drive), append(r.Tyre, tyre)
	r.Gear, r.By = append(r.Gear, gear), append(r.By, by)
}

// settle closes the ledger by integrating the columns.
func (r *Run) settle(p *Powertrain) {
	n := len(r.T) - 1
	v := r.V[n]
	r.Kinetic = 0.5 * p.Mass * v * v
	for i := 1; i <= n; i++ {
		h := r.T[i] - r.T[i-1]
		power := func(f func(k int) float64) float64 { return h / 2 * (f(i-1)*r.V[i-1] + f(i)*r.V[i]) }
		r.Work += power(func(k int) float64 { return r.Drive[k] })
		r.DragLoss += power(func(k int) float64 { return p.Drag(r.V[k]) })
		r.RollLoss += power(func(k int) float64 { return p.RollingForce() })
		// What drive and tyre differ by speeds up the rotating parts; what they
		// have stored when the clutch opens stays with them.
		r.Rotating += power(func(k int) float64 { return r.Drive[k] - r.Tyre[k] })
	}
	r.Climb = p.GradeForce() * r.S[n]
	stored := 0.5 * p.Mass * (p.Factor(r.Gear[n]) - 1) * v * v
	r.ShiftLoss = r.Rotating - stored
	r.Rotating = stored
}

// reach interpolates the instant at which a column first reaches x.
func (r *Run) reach(col []float64, x float64) (float64, bool) {
	for i := 1; i < len(col); i++ {
		if col[i] >= x && col[i] > col[i-1] {
			f := (x - col[i-1]) / (col[i] - col[i-1])
			return r.T[i-1] + math.Max(0, f)*(r.T[i]-r.T[i-1]), true
		}
	}
	return math.NaN(), false
}

// ReachSpeed is when v m/s is reached, in s, and whether it is.
func (r *Run) ReachSpeed(v float64) (float64, bool) { return r.reach(r.V, v) }

// ReachDistance is when d m are covered, in s, and whether they are.
func (r *Run) ReachDistance(d float64) (float64, bool) { return r.reach(r.S, d) }

// Part is a stretch of a run with one limit.
type Part struct {
	By                 Limit
	Begin, End         float64 // s
	FromSpeed, ToSpeed float64 // m/s
	Gear               int     // from 1
}

// Parts are the stretches of a run up to end seconds, those under 20 ms joined
// to the one before.
func (r *Run) Parts(end float64) []Part {
	var out []Part
	for i := range r.T {
		if r.T[i] > end {
			break
		}
		n := len(out)
		if n == 0 || out[n-1].By != r.By[i] || out[n-1].Gear != r.Gear[i]+1 {
			if n > 0 && out[n-1].End-out[n-1].Begin < 0.02 && out[n-1].By != ByShift {
				out[n-1].By, out[n-1].Gear = r.By[i], r.Gear[i]+1
			} else {
				out = append(out, Part{By: r.By[i], Begin: r.T[i], FromSpeed: r.V[i], Gear: r.Gear[i] + 1})
			}
		}
		p := &out[len(out)-1]
		p.End, p.ToSpeed = r.T[i], r.V[i]
	}
	return out
}

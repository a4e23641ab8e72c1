package driveline

import (
	"cmp"
	"context"
	"fmt"
	"math"
)

// drive is a run under way.
type drive struct {
	*Powertrain
	*Run
	peak     float64 // W, the engine's greatest power
	t, s, v  float64 // s, m, m/s
	gear     int     // from 0
	shiftEnd float64 // s, the end of the last shift
}

// Accelerate predicts a full-throttle run from rest until it has covered
// distance (m) and reached speed (m/s), by a fourth-order Runge-Kutta method in
// steps of 2 ms with the shifts as events. It ends early where the vehicle gains
// no more speed. It returns what Check finds missing, or the context's error.
func (p *Powertrain) Accelerate(ctx context.Context, distance, speed float64) (*Run, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	ups := make([]float64, len(p.Gears))
	for g := range ups {
		ups[g] = p.UpshiftSpeed(g)
	}
	d := &drive{Powertrain: p, Run: &Run{}, gear: max(0, p.StartGear-1), shiftEnd: -1}
	d.peak, _ = p.Engine.PeakPower()
	d.add(false)
	short := func() bool { return d.s < distance || d.v < speed }
	for d.t < simLongest && d.Stuck == "" && short() {
		if len(d.T)%checkInterval == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		d.step(ups[d.gear])
	}
	if d.Stuck == "" && short() {
		d.Stuck = fmt.Sprintf("it takes longer than %g s", simLongest)
	}
	return d.Run, nil
}

// step goes on by one step, or to the next shift, which begins at speed up.
func (d *drive) step(up float64) {
	shifting := d.shiftEnd > d.t
	h := simStep
	if shifting {
		h = min(h, d.shiftEnd-d.t)
	}
	dv, ds := d.rk4(d.t, d.v, d.gear, shifting, h)
	if !shifting && d.gear+1 < len(d.Gears) && d.v+dv >= up && dv > 0 {
		for range shiftRounds { // go to the shift exactly
			h *= min(1, (up-d.v)/dv)
			dv, ds = d.rk4(d.t, d.v, d.gear, false, h)
		}
		d.t, d.s, d.v = d.t+h, d.s+ds, d.v+dv
		d.add(false)
		d.Shifts = append(d.Shifts, Upshift{d.gear + 1, d.gear + 2, d.t, d.v})
		d.gear++
		d.shiftEnd = d.t + d.ShiftTime
		d.add(d.shiftEnd > d.t)
		return
	}
	dv = max(dv, -d.v)
	d.t, d.s, d.v = d.t+h, d.s+ds, d.v+dv
	if shifting && d.shiftEnd-d.t < same { // both sides of the step in thrust
		d.t = d.shiftEnd
		d.add(true)
	}
	d.add(d.shiftEnd > d.t)
	if d.t > d.BuildUp+settled && d.shiftEnd < d.t && dv < noGain*h {
		d.Stuck = d.why()
	}
}

// why says why the vehicle gains no more speed.
func (d *drive) why() string {
	switch {
	case d.v < crawl && d.grip() <= d.RoadLoad(0):
		return "the tyres pass less thrust than the grade and the rolling resistance take"
	case d.v < crawl:
		return "thrust does not exceed the road load"
	case d.gear == len(d.Gears)-1 && d.v >= nearTop*d.TopSpeed():
		return "the engine's limit ends the last gear"
	}
	return "thrust and road load are equal"
}

// state is the acceleration in m/s² and the forces in N at an instant, and what
// limits.
func (p *Powertrain) state(t, v float64, gear int, shifting bool) (a, drive, tyre float64, by Limit) {
	load := p.RoadLoad(v)
	factor := p.Factor(gear)
	switch {
	case shifting && p.ShiftThrust > 0: // the engine stays connected
		drive, by = p.ShiftThrust*p.Force(gear, v), ByShift
	case shifting:
		factor, by = cmp.Or(p.Inertia, NeutralFactor), ByShift
	default:
		drive, by = p.Force(gear, v), ByTorque
	}
	if p.BuildUp > 0 && t < p.BuildUp {
		drive *= 0.5 - 0.5*math.Cos(math.Pi*t/p.BuildUp)
		by = ByStart
	}
	a = (drive - load) / (p.Mass * factor)
	if v <= 0 && a < 0 {
		return 0, drive, min(drive, load), by
	}
	tyre = p.Mass*a + load
	if tyre > p.grip() {
		tyre = p.grip()
		if a = (tyre - load) / p.Mass; v <= 0 {
			a = max(a, 0)
		}
		drive = tyre + p.Mass*(factor-1)*max(a, 0)
		by = ByGrip
	}
	return a, drive, tyre, by
}

// rk4 is one step of speed and distance.
func (p *Powertrain) rk4(t, v float64, gear int, shifting bool, h float64) (dv, ds float64) {
	f := func(t, v float64) float64 {
		a, _, _, _ := p.state(t, max(v, 0), gear, shifting)
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
func (d *drive) add(shifting bool) {
	a, drive, tyre, by := d.state(d.t, d.v, d.gear, shifting)
	if by == ByTorque {
		w := d.EngineSpeed(d.gear, d.v)
		switch {
		case w >= d.Engine.Limit*(1-atLimit) && d.gear == len(d.Gears)-1:
			by = ByEngine
		case d.Engine.At(w)*w >= powerReached*d.peak && d.v/d.TyreRadius*d.Overall(d.gear) >= w*(1-same):
			by = ByPower
		}
	}
	d.T, d.S, d.V, d.A = append(d.T, d.t), append(d.S, d.s), append(d.V, d.v), append(d.A, a)
	d.Drive, d.Tyre = append(d.Drive, drive), append(d.Tyre, tyre)
	d.Gear, d.By = append(d.Gear, d.gear), append(d.By, by)
}

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
	h        float64 // s, a step
	peak     float64 // W, the engine's greatest power
	t, s, v  float64 // s, m, m/s
	gear     int     // from 0
	shiftEnd float64 // s, the end of the last shift
}

// Accelerate predicts a full-throttle run from rest until it has covered
// distance (m) and reached speed (m/s), by a fourth-order Runge-Kutta method in
// steps of 2 ms with the shifts as events. Where the vehicle gains no more speed it
// holds what it has until the distance is covered, and Stuck says why. It returns what
// Check finds missing, or the context's error.
func (p *Powertrain) Accelerate(ctx context.Context, distance, speed float64) (*Run, error) {
	return p.accelerate(ctx, distance, speed, simStep)
}

// Roughly is Accelerate in steps of 10 ms, for what changes between two such runs: its
// own times are off by a hundredth of a second where torque has a kink, and by as much
// in both.
func (p *Powertrain) Roughly(ctx context.Context, distance, speed float64) (*Run, error) {
	return p.accelerate(ctx, distance, speed, roughStep)
}

func (p *Powertrain) accelerate(ctx context.Context, distance, speed, h float64) (*Run, error) {
	if err := p.Check(); err != nil {
		return nil, err
	}
	ups := make([]float64, len(p.Gears))
	for g := range ups {
		ups[g] = p.UpshiftSpeed(g)
	}
	d := &drive{Powertrain: p, Run: &Run{}, h: h, gear: max(0, p.StartGear-1), shiftEnd: -1}
	d.peak, _ = p.Engine.PeakPower()
	d.add(false)
	short := func() bool { return d.s < distance || d.v < speed }
	for d.t < simLongest && d.Stuck == "" && short() {
		if len(d.T)%checkInterval == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		d.step(ups[d.gear])
	}
	if d.v >= crawl && d.s < distance {
		d.hold(distance)
	}
	if d.Stuck == "" && short() {
		d.Stuck = fmt.Sprintf("it takes longer than %g s", simLongest)
	}
	return d.Run, nil
}

// step goes on by one step, or to the next shift, which begins at speed up.
func (d *drive) step(up float64) {
	shifting := d.shiftEnd > d.t
	h := d.h
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

// hold goes on at the speed that the vehicle has, as a driver does whose last gear is
// used up, until it has covered a distance in m or the longest run ends.
func (d *drive) hold(distance float64) {
	steady := func() {
		d.add(false)
		n, load := len(d.A)-1, d.RoadLoad(d.v)
		d.A[n], d.By[n], d.Drive[n], d.Tyre[n] = 0, ByEngine, load, load
	}
	steady()
	d.s, d.t = distance, d.t+(distance-d.s)/d.v
	steady()
}

// why says why the vehicle gains no more speed.
func (d *drive) why() string {
	switch {
	case d.v < crawl && d.grip() <= d.RoadLoad(0):
		return "the tyres pass less force than the grade and the rolling resistance take"
	case d.v < crawl:
		return "tractive force does not exceed the road load"
	case d.gear == len(d.Gears)-1 && d.v >= nearTop*d.TopSpeed():
		return "the engine's limit ends the last gear"
	}
	return "tractive force and road load are equal"
}

// state is the acceleration in m/s² and the forces in N at an instant, and what
// limits.
func (p *Powertrain) state(t, v float64, gear int, shifting bool) (a, drive, tyre float64, by Limit) {
	load := p.RoadLoad(v)
	factor := p.factor(gear, v)
	switch {
	case shifting: // the engine slows down: what it holds takes no thrust
		factor, drive, by = p.Neutral(), p.ShiftThrust*p.Force(gear, v), ByShift
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
		tyre = cmp.Or(p.Slide, p.grip())
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

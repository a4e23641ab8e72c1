package synth

import (
	"cmp"
	"errors"
	"math/rand/v2"

	"fromrest/pkg/unit"
)

// Truth is what one run really did, on its own clock: launch at 0, distance 0.
type Truth struct {
	curve
	F []float64 // N at the wheels, at the curve's nodes; nil for a closed form

	Vehicle Vehicle
	Road    Road
	Build   float64 // s thrust took to build up
	Factor  float64 // on force and power, 1 for the vehicle as given
	Shifts  []Shift // in order
	Lift    bool
}

// Shift is one upshift as it happened.
type Shift struct {
	Start    float64 // s since the launch
	Duration float64 // s
	Speed    float64 // m/s
}

// Variation is what differs from run to run and how a run is driven. The zero
// value draws only what the Vehicle itself leaves open.
type Variation struct {
	Power float64 // standard deviation of the factor on force and power
	Build float64 // s, added standard deviation of the build-up time

	Distance float64 // m at which the run ends, 410 if 0
	Speed    float64 // m/s at which the run ends, 0 for never
	LiftAt   float64 // s after the launch at which the driver lifts, 0 for never
	LiftFor  float64 // s

	// From is the speed of a rolling start in m/s; the truth's zero of time and
	// distance is then the pedal. 0 for a standing start.
	From float64
}

// How runs are simulated (assumed).
const (
	runLength  = 410.0 // m; a quarter mile and a little
	longestRun = 90.0  // s; a vehicle that cannot get there ends
	step       = 0.004 // s
	launchFor  = 0.5   // s; the launch is done in finer steps
	launchStep = 0.001 // s
	doublings  = 8     // of the build-up, in which a vehicle must begin to move
)

// errStuck is the reason a vehicle has no run: it never moves.
var errStuck = errors.New("the vehicle cannot move: resistance exceeds thrust")

// SimulateRun drives one standing start, or a pull where opt.From is set. It
// returns an error where the vehicle cannot move.
func SimulateRun(rng *rand.Rand, v Vehicle, road Road, opt Variation) (*Truth, error) {
	p := newPush(rng, &v, road, opt)
	pedal := 0.0
	if opt.From == 0 {
		var err error
		if pedal, err = p.firstMotion(); err != nil {
			return nil, err
		}
	}
	for p.gear < len(p.Gears) && p.Gears[p.gear].UpSpeed <= opt.From {
		p.gear++
	}
	if opt.LiftFor > 0 {
		p.liftAt, p.liftFor = pedal+opt.LiftAt, opt.LiftFor
	}
	end := cmp.Or(opt.Distance, runLength)
	tr := &Truth{Vehicle: v, Road: road, Build: p.build, Factor: p.factor, Lift: opt.LiftFor > 0}
	t, vel, s := pedal, opt.From, 0.0
	tr.add(p, pedal, t, s, vel)
	for s < end && t-pedal < longestRun && (opt.Speed == 0 || vel < opt.Speed) {
		h := step
		if t-pedal < launchFor {
			h = launchStep
		}
		a0 := tr.A[tr.last()]
		next := max(p.rk4(t, vel, h), 0)
		up := p.gear < len(p.Gears) && t >= p.shiftTo && next >= p.Gears[p.gear].UpSpeed
		if up {
			h = bisect(0, h, func(x float64) bool { return p.rk4(t, vel, x) >= p.Gears[p.gear].UpSpeed })
			if h > 0 {
				next = p.rk4(t, vel, h)
			}
		}
		// Distance is the integral of the cubic of speed.
		s += h/2*(vel+next) + h*h/12*(a0-p.accel(t+h, next))
		t, vel = t+h, next
		tr.add(p, pedal, t, s, vel)
		if up {
			p.shiftAt, p.shiftTo = t, t+p.shifts[p.gear]
			tr.Shifts = append(tr.Shifts, Shift{Start: t - pedal, Duration: p.shifts[p.gear], Speed: vel})
			p.gear++
			tr.add(p, pedal, t, s, vel)
		}
	}
	return tr, nil
}

// firstMotion finds how long after the pedal the thrust exceeds the resistance.
func (p *push) firstMotion() (float64, error) {
	if p.accel(0, 0) > 0 {
		return 0, nil
	}
	hi := p.build
	for i := 0; p.accel(hi, 0) <= 0; i++ {
		if i > doublings {
			return 0, errStuck
		}
		hi *= 2
	}
	return bisect(0, hi, func(t float64) bool { return p.accel(t, 0) > 0 }), nil
}

// rk4 advances the speed by h seconds.
func (p *push) rk4(t, v, h float64) float64 {
	k1 := p.accel(t, v)
	k2 := p.accel(t+h/2, v+h/2*k1)
	k3 := p.accel(t+h/2, v+h/2*k2)
	k4 := p.accel(t+h, v+h*k3)
	return v + h/6*(k1+2*k2+2*k3+k4)
}

// add adds a node.
func (tr *Truth) add(p *push, pedal, t, s, v float64) {
	f := p.thrust(t, v)
	tr.node(t-pedal, s, v, p.net(f, v))
	tr.F = append(tr.F, f)
}

// At returns distance (m), speed (m/s) and acceleration (m/s²) t seconds after
// the launch: zero before it, the last state after the end.
func (tr *Truth) At(t float64) (s, v, a float64) {
	n := tr.last()
	switch {
	case t <= 0:
		return 0, 0, 0
	case t >= tr.T[n]:
		return tr.S[n], tr.V[n], tr.A[n]
	}
	i := tr.before(t)
	return tr.from(i, t-tr.T[i])
}

// ReachSpeed returns when speed v (m/s) is first reached, in seconds since the
// launch, and false if it never is.
func (tr *Truth) ReachSpeed(v float64) (float64, bool) {
	return tr.crossing(tr.V, v, func(_, v float64) float64 { return v })
}

// ReachDistance returns when distance d (m from rest) is reached, in seconds
// since the launch, and false if it never is.
func (tr *Truth) ReachDistance(d float64) (float64, bool) {
	return tr.crossing(tr.S, d, func(s, _ float64) float64 { return s })
}

// Rollout returns when the vehicle has covered one foot, in seconds since the
// launch; NaN if it never has.
func (tr *Truth) Rollout() float64 {
	t, _ := tr.ReachDistance(unit.Rollout)
	return t
}

// TimeToSpeed returns the time to speed v (m/s), from rest or with rollout.
func (tr *Truth) TimeToSpeed(v float64, rollout bool) (float64, bool) {
	t, ok := tr.ReachSpeed(v)
	if rollout {
		t -= tr.Rollout()
	}
	return t, ok
}

// TimeToDistance returns the time to distance d (m), from rest or with rollout;
// with rollout the distance is measured from the rollout point.
func (tr *Truth) TimeToDistance(d float64, rollout bool) (float64, bool) {
	if !rollout {
		return tr.ReachDistance(d)
	}
	t, ok := tr.ReachDistance(d + unit.Rollout)
	return t - tr.Rollout(), ok
}

// TrapSpeed returns the mean speed (m/s) over the last 66 ft before distance d
// (m), measured from rest or from the rollout point.
func (tr *Truth) TrapSpeed(d float64, rollout bool) (float64, bool) {
	if rollout {
		d += unit.Rollout
	}
	t1, ok := tr.ReachDistance(d)
	t0, _ := tr.ReachDistance(d - unit.TrapLength)
	return unit.TrapLength / (t1 - t0), ok
}

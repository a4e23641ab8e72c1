package synth

import (
	"errors"
	"math"
	"math/rand/v2"
	"sort"

	"fromrest/pkg/unit"
)

// Truth is what one run really did, on its own clock: launch at 0, distance 0.
// Between nodes speed is the cubic with the nodes' speeds and accelerations;
// two nodes at one instant are a step in acceleration.
type Truth struct {
	T []float64 // s since the launch
	S []float64 // m since the launch
	V []float64 // m/s
	A []float64 // m/s²
	F []float64 // N at the wheels; nil for a closed form

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

// limit on the length of a run, so that a vehicle that cannot get there ends.
const longestRun = 90.0 // s

// errStuck is the reason a vehicle has no run: it never moves.
var errStuck = errors.New("the vehicle cannot move: resistance exceeds thrust")

// SimulateRun drives one standing start, or a pull where opt.From is set. It returns an error where the vehicle
// cannot move.
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
	end := opt.Distance
	if end == 0 {
		end = 410
	}
	tr := &Truth{Vehicle: v, Road: road, Build: p.build, Factor: p.factor, Lift: opt.LiftFor > 0}
	n := 4096
	tr.T, tr.S, tr.V = make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
	tr.A, tr.F = make([]float64, 0, n), make([]float64, 0, n)
	t, vel, s := pedal, opt.From, 0.0
	tr.node(p, pedal, t, s, vel)
	for s < end && t-pedal < longestRun && (opt.Speed == 0 || vel < opt.Speed) {
		h := 0.004
		if t-pedal < 0.5 {
			h = 0.001
		}
		a0 := tr.A[len(tr.A)-1]
		next := p.rk4(t, vel, h)
		if next < 0 {
			next = 0
		}
		if p.gear < len(p.Gears) && t >= p.shiftTo && next >= p.Gears[p.gear].UpSpeed {
			if h = p.reach(t, vel, h, p.Gears[p.gear].UpSpeed); h > 0 {
				next = p.rk4(t, vel, h)
			}
			s, t, vel = s+simpson(p, t, vel, next, a0, h), t+h, next
			tr.node(p, pedal, t, s, vel)
			p.shiftAt, p.shiftTo = t, t+p.shifts[p.gear]
			tr.Shifts = append(tr.Shifts, Shift{Start: t - pedal, Duration: p.shifts[p.gear], Speed: vel})
			p.gear++
			tr.node(p, pedal, t, s, vel)
			continue
		}
		s, t, vel = s+simpson(p, t, vel, next, a0, h), t+h, next
		tr.node(p, pedal, t, s, vel)
	}
	return tr, nil
}

// firstMotion finds how long after the pedal the thrust exceeds the resistance.
func (p *push) firstMotion() (float64, error) {
	if p.accel(0, 0) > 0 {
		return 0, nil
	}
	lo, hi := 0.0, p.build
	for i := 0; p.accel(hi, 0) <= 0; i++ {
		if i > 8 {
			return 0, errStuck
		}
		hi *= 2
	}
	for i := 0; i < 60; i++ {
		if mid := (lo + hi) / 2; p.accel(mid, 0) > 0 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, nil
}

// rk4 advances the speed by h seconds.
func (p *push) rk4(t, v, h float64) float64 {
	k1 := p.accel(t, v)
	k2 := p.accel(t+h/2, v+h/2*k1)
	k3 := p.accel(t+h/2, v+h/2*k2)
	k4 := p.accel(t+h, v+h*k3)
	return v + h/6*(k1+2*k2+2*k3+k4)
}

// reach finds the step, at most h, after which speed is the target.
func (p *push) reach(t, v, h, target float64) float64 {
	lo, hi := 0.0, h
	for i := 0; i < 50; i++ {
		if mid := (lo + hi) / 2; p.rk4(t, v, mid) >= target {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// simpson integrates the cubic of speed over one step.
func simpson(p *push, t, v0, v1, a0, h float64) float64 {
	return h/2*(v0+v1) + h*h/12*(a0-p.accel(t+h, v1))
}

func (tr *Truth) node(p *push, pedal, t, s, v float64) {
	f := p.thrust(t, v)
	air := v + p.road.HeadWind
	tr.T = append(tr.T, t-pedal)
	tr.S = append(tr.S, s)
	tr.V = append(tr.V, v)
	tr.F = append(tr.F, f)
	tr.A = append(tr.A, (f-p.drag*air*math.Abs(air)-p.roll-p.hill)/p.effective)
}

// interval finds the interval of positive length that holds t.
func (tr *Truth) interval(t float64) int {
	i := sort.SearchFloat64s(tr.T, t) // first node not before t
	if i > 0 {
		i--
	}
	for i < len(tr.T)-2 && tr.T[i+1] == tr.T[i] {
		i++
	}
	return i
}

// hermite evaluates the cubic of one interval x seconds after its start.
func hermite(x, h, s0, v0, a0, v1, a1 float64) (s, v, a float64) {
	// v = v0 + a0 x + c x² + d x³
	c := (3*(v1-v0)/h - 2*a0 - a1) / h
	d := (2*(v0-v1)/h + a0 + a1) / (h * h)
	s = s0 + x*(v0+x*(a0/2+x*(c/3+x*d/4)))
	v = v0 + x*(a0+x*(c+x*d))
	a = a0 + x*(2*c+3*d*x)
	return s, v, a
}

// At returns distance (m), speed (m/s) and acceleration (m/s²) t seconds after
// the launch: zero before it, the last state after the end.
func (tr *Truth) At(t float64) (s, v, a float64) {
	n := len(tr.T) - 1
	if t <= 0 {
		return 0, 0, 0
	}
	if t >= tr.T[n] {
		return tr.S[n], tr.V[n], tr.A[n]
	}
	i := tr.interval(t)
	return hermite(t-tr.T[i], tr.T[i+1]-tr.T[i], tr.S[i], tr.V[i], tr.A[i], tr.V[i+1], tr.A[i+1])
}

// End returns how long the run lasts, in seconds since the launch.
func (tr *Truth) End() float64 { return tr.T[len(tr.T)-1] }

// crossing is the first instant at which the column reaches the target.
func (tr *Truth) crossing(col []float64, target float64, of func(s, v float64) float64) (float64, bool) {
	for i := 1; i < len(col); i++ {
		if col[i] < target || tr.T[i] == tr.T[i-1] && i > 1 {
			continue
		}
		lo, hi := tr.T[i-1], tr.T[i]
		h := hi - lo
		x0, x1 := 0.0, h
		for k := 0; k < 60; k++ {
			x := (x0 + x1) / 2
			s, v, _ := hermite(x, h, tr.S[i-1], tr.V[i-1], tr.A[i-1], tr.V[i], tr.A[i])
			if of(s, v) >= target {
				x1 = x
			} else {
				x0 = x
			}
		}
		return lo + x1, true
	}
	return math.NaN(), false
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

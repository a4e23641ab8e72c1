package driveline

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
)

// Most asks Solve for the most the vehicle can push.
var Most = math.Inf(1)

// errNoBalance is returned where loads and thrusts do not settle.
var errNoBalance = errors.New("driveline: loads and thrusts find no balance")

// Solve finds the balance of a vehicle on the given ground with the given torque
// on the gearbox's output shaft in N·m, Most for as much as the wheels take.
//
// It returns an error for a chassis or a ground that cannot be, for a negative
// torque, and where loads and thrusts find no balance.
func Solve(c Chassis, g Ground, torque float64) (*State, error) {
	if err := c.check(&g); err != nil {
		return nil, err
	}
	if !(torque >= 0) {
		return nil, errors.New("driveline: torque must not be negative")
	}
	most, err := c.balance(&g, math.Inf(1))
	if err != nil {
		return nil, err
	}
	s := most
	if !math.IsInf(torque, 1) {
		if s, err = c.balance(&g, torque*c.transfer()*c.finalDrive()); err != nil {
			return nil, err
		}
	}
	s.Most = most.Thrust
	s.Resistance = g.Resistance + c.weight()*math.Sin(math.Atan(g.Grade))
	s.Moves = s.Thrust > s.Resistance+same*c.weight()
	if s.Moves {
		s.Accel = (s.Thrust - s.Resistance) / c.Mass
	}
	s.Notes = c.notes(&g)
	return s, nil
}

// balance iterates loads and thrusts, starting at rest, until they agree.
// torque is referred to the wheels.
func (c *Chassis) balance(g *Ground, torque float64) (*State, error) {
	var thrust, front, rear float64 // N, and N·m into each axle
	for n := range mostRounds {
		s := c.once(g, c.loads(g, thrust, front, rear), torque)
		f, r := s.FrontShaft*c.finalDrive(), s.RearShaft*c.finalDrive()
		scale := balanced * c.weight() * (1 + c.TyreRadius)
		if math.Abs(s.Thrust-thrust) < scale && math.Abs(f-front) < scale && math.Abs(r-rear) < scale {
			return s, nil
		}
		step := 1.0
		if n > freeRounds {
			step = shortStep // two answers that chase each other meet between them
		}
		thrust, front, rear = thrust+step*(s.Thrust-thrust), front+step*(f-front), rear+step*(r-rear)
	}
	return nil, errNoBalance
}

// once splits the torque over wheels of the given loads.
func (c *Chassis) once(g *Ground, load [Wheels]float64, torque float64) *State {
	s := &State{}
	all := 0.0
	for i := range s.Wheel {
		s.Wheel[i].Load, s.Wheel[i].Limit = load[i], load[i]*g.Friction[i]
		all += s.Wheel[i].Limit * c.TyreRadius
	}
	axle := func(a *Axle, left int) *taker {
		brake := 0.0
		if a.Differential.Kind == BrakeControlled {
			brake = cmp.Or(a.Differential.Brake, endless*all)
		}
		wheel := func(i int) *taker {
			s.Wheel[i].Driven = true
			limit := s.Wheel[i].Limit * c.TyreRadius
			return &taker{most: limit + brake, clean: limit, kinks: []float64{limit}, wheel: i, limit: limit}
		}
		return join(a.Differential, axleShare, wheel(left), wheel(left+1))
	}
	var root, front, rear *taker
	if c.Front.Driven {
		front = axle(&c.Front, FrontLeft)
	}
	if c.Rear.Driven {
		rear = axle(&c.Rear, RearLeft)
	}
	if root = cmp.Or(front, rear); front != nil && rear != nil {
		root = join(c.Centre, cmp.Or(c.Centre.Share, centreShare), front, rear)
	}
	useful := root.useful()
	x := min(torque, useful)
	root.hand(x, torque >= useful*(1-sameTorque) && torque > 0, func(i int, torque float64, spins bool) {
		w := &s.Wheel[i]
		w.Torque, w.Spins = torque, spins
		ground := min(torque, w.Limit*c.TyreRadius)
		w.Thrust, w.Brake = ground/c.TyreRadius, torque-ground
		s.Thrust += w.Thrust
	})
	a := x // of the front axle
	switch {
	case front == nil:
		a = 0
	case rear != nil:
		a = root.divide(x)
	}
	s.FrontShaft, s.RearShaft = a/c.finalDrive(), (x-a)/c.finalDrive()
	s.Gearbox = x / c.finalDrive() / c.transfer()
	return s
}

// loads are the wheels' loads in N under a thrust and the torques into the axles.
func (c *Chassis) loads(g *Ground, thrust, front, rear float64) [Wheels]float64 {
	w := c.weight() * math.Cos(math.Atan(g.Grade))
	f := w * c.FrontShare
	if c.Wheelbase > 0 {
		f -= thrust * c.CGHeight / c.Wheelbase
	}
	f = max(0, min(w, f))
	r := w - f
	df, dr := c.rollShift(front, rear)
	load := [Wheels]float64{f/2 + df, f/2 - df, r/2 + dr, r/2 - dr}
	clampPair(&load, FrontLeft, f)
	clampPair(&load, RearLeft, r)
	for i, air := range g.InAir {
		if air { // something else carries what it carried
			load[i] = 0
		}
	}
	return load
}

// rollShift is the load that the propeller shafts' torques move from the right
// wheel to the left one over each solid axle (Gillespie, Fundamentals of Vehicle
// Dynamics, chapter 2; from memory, its example is among the tests).
func (c *Chassis) rollShift(front, rear float64) (df, dr float64) {
	k := c.Front.RollStiffness + c.Rear.RollStiffness
	if k <= 0 {
		return 0, 0
	}
	var tf, tr float64 // on the propeller shafts
	if c.Front.Solid {
		tf = front / c.finalDrive()
	}
	if c.Rear.Solid {
		tr = rear / c.finalDrive()
	}
	if a := &c.Front; a.Track > 0 {
		df = (tf - a.RollStiffness/k*(tf+tr)) / a.Track
	}
	if a := &c.Rear; a.Track > 0 {
		dr = (tr - a.RollStiffness/k*(tf+tr)) / a.Track
	}
	return df, dr
}

// clampPair keeps the loads of an axle's wheels from falling below 0; their sum
// stays.
func clampPair(load *[Wheels]float64, left int, sum float64) {
	load[left] = max(0, min(sum, load[left]))
	load[left+1] = sum - load[left]
}

// notes says what had to be assumed.
func (c *Chassis) notes(g *Ground) []string {
	var out []string
	if c.Wheelbase == 0 || c.CGHeight == 0 {
		out = append(out, "Load transfer under thrust is left out: it needs wheelbase and height of the centre of gravity.")
	}
	if f, r := c.Front, c.Rear; f.Driven && f.Solid && f.Track == 0 || r.Driven && r.Solid && r.Track == 0 ||
		(f.Driven && f.Solid || r.Driven && r.Solid) && f.RollStiffness+r.RollStiffness == 0 {
		out = append(out, "The roll that a propeller shaft's torque puts on a solid axle is left out: it needs the axle's track and the roll stiffness of both axles.")
	}
	if slices.Contains(g.InAir[:], true) {
		out = append(out, "A wheel in the air is taken to be held up by something that carries its load, so that the others keep theirs. One that hangs because the ground falls away also takes load off the wheel diagonally opposite.")
	}
	for _, d := range []Differential{c.Front.Differential, c.Rear.Differential, c.Centre} {
		if d.Kind == Limited && d.Bias == 0 {
			return append(out, fmt.Sprintf("A limited-slip differential is taken to let go at a torque ratio of %g (common practice: 1.5 to 5).", DefaultBias))
		}
	}
	return out
}

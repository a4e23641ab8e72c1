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
// Wheels that grip turn with the road, which State shows at 0 rad/s; where
// wheels spin the input turns at the speed that gives 1 rad/s to wheels that all
// turn alike, so that a Speed of 2 means twice as fast as its share.
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
		s.Wheel[left].Driven, s.Wheel[left+1].Driven = true, true
		return join(a.Differential, axleShare, wheelTaker(left, s.Wheel[left].Limit*c.TyreRadius, brake),
			wheelTaker(left+1, s.Wheel[left+1].Limit*c.TyreRadius, brake))
	}
	var root *taker
	switch {
	case c.Front.Driven && c.Rear.Driven:
		root = join(c.Centre, cmp.Or(c.Centre.Share, centreShare), axle(&c.Front, FrontLeft), axle(&c.Rear, RearLeft))
	case c.Front.Driven:
		root = axle(&c.Front, FrontLeft)
	default:
		root = axle(&c.Rear, RearLeft)
	}
	useful := root.useful()
	x := min(torque, useful)
	s.fill(c, root, x, torque >= useful*(1-sameTorque) && torque > 0)
	return s
}

// fill writes down what each wheel and shaft has.
func (s *State) fill(c *Chassis, root *taker, x float64, spinning bool) {
	road, in := 0.0, 1.0
	wheel := func(i int, torque, speed float64, spins bool) {
		w := &s.Wheel[i]
		w.Torque, w.Speed, w.Spins = torque, speed, spins
		ground := min(torque, w.Limit*c.TyreRadius)
		w.Thrust, w.Brake = ground/c.TyreRadius, torque-ground
		s.Thrust += w.Thrust
	}
	each := func(t *tie, x, a, in, sa, sb float64) {
		sp := Split{Kind: t.kind, In: x, A: a, B: x - a, SpeedIn: in, SpeedA: sa, SpeedB: sb}
		sp.Heat = x*in - a*sa - (x-a)*sb
		switch {
		case t.a.wheel < 0:
			sp.Name, sp.Kind = "centre", cmp.Or(c.Centre.Kind, Open)
			s.FrontShaft, s.RearShaft = a/c.finalDrive(), (x-a)/c.finalDrive()
		case t.a.wheel == FrontLeft:
			sp.Name, sp.Kind = "front", cmp.Or(c.Front.Differential.Kind, Open)
			s.FrontShaft = x / c.finalDrive()
		default:
			sp.Name, sp.Kind = "rear", cmp.Or(c.Rear.Differential.Kind, Open)
			s.RearShaft = x / c.finalDrive()
		}
		s.Splits = append(s.Splits, sp)
	}
	root.walk(x, in, road, spinning, wheel, each)
	s.Gearbox = x / c.finalDrive() / c.transfer()
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
	var tf, tr float64
	if c.Front.Solid {
		tf = front / c.finalDrive()
	}
	if c.Rear.Solid {
		tr = rear / c.finalDrive()
	}
	if c.Front.Track > 0 {
		df = (tf - c.Front.RollStiffness/k*(tf+tr)) / c.Front.Track
	}
	if c.Rear.Track > 0 {
		dr = (tr - c.Rear.RollStiffness/k*(tf+tr)) / c.Rear.Track
	}
	return df, dr
}

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

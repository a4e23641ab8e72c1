package driveline

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/unit"
)

// Kind is how a differential ties its outputs.
type Kind string

// The kinds.
const (
	Open            Kind = "open"
	Limited         Kind = "limited-slip"
	Locked          Kind = "locked"
	BrakeControlled Kind = "brake-controlled" // open, with the brakes holding a wheel that spins
)

// Differential is one differential or, for a centre, coupling.
type Differential struct {
	Kind Kind // Open if empty
	// Bias is the torque ratio at which a limited-slip differential lets go, 2.5 if
	// 0.
	Bias float64
	// Share is the part of an open centre's torque that goes to the front, 0.5 if
	// 0. Axles split evenly.
	Share float64
	// Brake is the most torque the brakes of a brake-controlled axle put on one
	// wheel in N·m; as much as needed if 0.
	Brake float64
}

// Axle is one axle.
type Axle struct {
	Driven       bool
	Differential Differential
	Track        float64 // m, between the wheels
	// Solid marks a beam axle with its differential in it: the propeller shaft's
	// torque then shifts load between the wheels.
	Solid         bool
	RollStiffness float64 // of the suspension, any unit, the same for both axles; 0 where not known
}

// Chassis is the vehicle as the solver sees it.
type Chassis struct {
	Mass       float64 // kg
	FrontShare float64 // part of the weight on the front axle at rest on the level
	Wheelbase  float64 // m; 0 where not known: no load transfer
	CGHeight   float64 // m; 0 where not known: no load transfer
	TyreRadius float64 // m
	FinalDrive float64 // ratio, 1 if 0
	Transfer   float64 // ratio of the transfer case in use, 1 if 0
	Front      Axle
	Rear       Axle
	Centre     Differential // used where both axles are driven
}

// Ground is what the wheels stand on.
type Ground struct {
	Friction   [Wheels]float64
	InAir      [Wheels]bool
	Grade      float64 // rise over run
	Resistance float64 // N besides the grade that thrust must exceed to move
}

// Even is ground of the same friction under every wheel.
func Even(friction float64) Ground {
	return Ground{Friction: [Wheels]float64{friction, friction, friction, friction}}
}

// State is the answer.
type State struct {
	Wheel [Wheels]Wheel

	Thrust     float64 // N, all wheels
	Most       float64 // N, all wheels, with torque without end
	Resistance float64 // N, grade and Ground.Resistance
	Moves      bool    // Thrust exceeds Resistance
	Accel      float64 // m/s², (Thrust - Resistance)/mass, 0 where it does not move

	Gearbox    float64 // N·m on the shaft from the gearbox into the transfer case
	FrontShaft float64 // N·m on the front propeller shaft
	RearShaft  float64 // N·m on the rear propeller shaft

	Notes []string // what was assumed, whole sentences
}

// check reports the first impossible value.
func (c *Chassis) check(g *Ground) error {
	switch {
	case !(c.Mass > 0) || math.IsInf(c.Mass, 0):
		return fmt.Errorf("driveline: mass %g kg", c.Mass)
	case !(c.TyreRadius > 0) || math.IsInf(c.TyreRadius, 0):
		return fmt.Errorf("driveline: tyre radius %g m", c.TyreRadius)
	case !(c.FrontShare >= 0 && c.FrontShare <= 1):
		return fmt.Errorf("driveline: share of weight in front %g", c.FrontShare)
	case !c.Front.Driven && !c.Rear.Driven:
		return fmt.Errorf("driveline: no axle is driven")
	case !(c.Wheelbase >= 0) || !(c.CGHeight >= 0) || math.IsInf(c.CGHeight+c.Wheelbase, 0):
		return fmt.Errorf("driveline: wheelbase %g m, centre of gravity %g m", c.Wheelbase, c.CGHeight)
	}
	for i, mu := range g.Friction {
		if !(mu >= 0) || mu > frictionMost {
			return fmt.Errorf("driveline: friction %g at the %s wheel", mu, WheelName(i))
		}
	}
	if !(math.Abs(g.Grade) < gradeMost) || math.IsNaN(g.Resistance) {
		return fmt.Errorf("driveline: grade %g, resistance %g N", g.Grade, g.Resistance)
	}
	for _, d := range []Differential{c.Front.Differential, c.Rear.Differential, c.Centre} {
		if !slices.Contains([]Kind{"", Open, Limited, Locked, BrakeControlled}, d.Kind) {
			return fmt.Errorf("driveline: no differential %q", d.Kind)
		}
		if d.Bias != 0 && !(d.Bias >= 1) || !(d.Brake >= 0) || !(d.Share >= 0 && d.Share < 1) {
			return fmt.Errorf("driveline: differential with bias %g, brake %g N·m, share %g", d.Bias, d.Brake, d.Share)
		}
	}
	return nil
}

func (c *Chassis) finalDrive() float64 { return cmp.Or(c.FinalDrive, 1) }
func (c *Chassis) transfer() float64   { return cmp.Or(c.Transfer, 1) }

func (c *Chassis) weight() float64 { return c.Mass * unit.GravityStandard }

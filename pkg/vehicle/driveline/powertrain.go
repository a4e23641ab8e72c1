package driveline

import (
	"cmp"
	"errors"
	"fmt"
	"math"

	"fromrest/pkg/unit"
)

// Powertrain is a vehicle in one mode, for forces and runs in a
// straight line, on the level in still air.
type Powertrain struct {
	Engine     *Engine
	Gears      []float64 // ratios, first gear first
	Final      float64   // ratio, 1 if 0
	Transfer   float64   // ratio in use, 1 if 0
	TyreRadius float64   // m
	Efficiency float64   // share of engine power that reaches the wheels, 1 if 0
	StartGear  int       // from 1, 1 if 0

	ShiftSpeed float64 // rad/s at which it shifts up; where the next gear pushes harder if 0
	ShiftTime  float64 // s a shift lasts
	// ShiftThrust is the share of the next gear's thrust that is kept during a
	// shift: 0 with a clutch, about half in a converter gearbox (common practice).
	ShiftThrust float64
	BuildUp     float64 // s over which thrust builds up at the launch
	// Launch is the engine speed in rad/s that a slipping clutch or a converter
	// holds until the road catches up; the curve's first point if 0.
	Launch float64
	// Stall is a converter's torque ratio with its output at rest, 1 if 0. It falls
	// in a straight line to 1 at couplingRatio of Launch.
	Stall     float64
	Auxiliary float64 // W that the engine gives to what does not drive

	Mass     float64 // kg
	Inertia  float64 // effective mass over mass in every gear; of the two below if 0
	Spinning float64 // kg·m², what turns with the engine: it counts where engine and road are coupled
	Wheels   float64 // kg·m², all wheels and what turns with them; a NeutralFactor of the mass if 0
	DragArea float64 // m²
	Rolling  float64 // coefficient
	Grip     float64 // N, the most thrust the tyres pass; no limit if 0
	Slide    float64 // N, what they pass once they spin at full throttle; Grip if 0

	Density float64 // kg/m³, 1.225 if 0
}

// Check reports the first value without which nothing can be computed.
func (p *Powertrain) Check() error {
	switch {
	case p.Engine == nil:
		return errors.New("no torque curve")
	case len(p.Gears) == 0:
		return errors.New("no gear ratios")
	case !(p.TyreRadius > 0):
		return errors.New("no tyre radius")
	case !(p.Mass > 0):
		return errors.New("no mass")
	case p.StartGear > len(p.Gears):
		return fmt.Errorf("start gear %d of %d", p.StartGear, len(p.Gears))
	}
	return nil
}

// Overall is the ratio from engine to wheels in a gear, counted from 0.
func (p *Powertrain) Overall(gear int) float64 {
	return p.Gears[gear] * cmp.Or(p.Final, 1) * cmp.Or(p.Transfer, 1)
}

// RoadSpeed is the speed in m/s at an engine speed in rad/s in a gear.
func (p *Powertrain) RoadSpeed(gear int, engine float64) float64 {
	return engine / p.Overall(gear) * p.TyreRadius
}

// EngineSpeed is the engine's in rad/s at a road speed in m/s, not below that at
// which it launches.
func (p *Powertrain) EngineSpeed(gear int, v float64) float64 {
	return max(v/p.TyreRadius*p.Overall(gear), cmp.Or(p.Launch, p.Engine.Speed[0]))
}

// Force is the tractive force in N that the engine gives at the wheels in a gear
// at v m/s, before rotating parts take their share; 0 above the engine's limit.
func (p *Powertrain) Force(gear int, v float64) float64 {
	w := p.EngineSpeed(gear, v)
	torque := p.Engine.At(w)
	if p.Auxiliary > 0 && w > 0 {
		torque = max(0, torque-p.Auxiliary/w)
	}
	return torque * p.multiplied(gear, v) * p.Overall(gear) * cmp.Or(p.Efficiency, 1) / p.TyreRadius
}

// multiplied is the torque ratio of a converter in a gear at v m/s, 1 without one.
func (p *Powertrain) multiplied(gear int, v float64) float64 {
	if p.Stall <= 1 || p.Launch <= 0 {
		return 1
	}
	return max(1, p.Stall-(p.Stall-1)*v/p.RoadSpeed(gear, p.Launch)/couplingRatio)
}

// Coupled reports whether road and engine turn together in a gear at v m/s: below,
// a clutch slips or a converter holds the engine, and its inertia takes no thrust.
func (p *Powertrain) Coupled(gear int, v float64) bool {
	return v/p.TyreRadius*p.Overall(gear) >= cmp.Or(p.Launch, p.Engine.Speed[0])*(1-same)
}

// Factor is effective mass over mass in a gear with road and engine coupled.
func (p *Powertrain) Factor(gear int) float64 {
	if p.Inertia > 0 {
		return p.Inertia
	}
	ratio := p.Overall(gear)
	return p.Neutral() + p.Spinning*ratio*ratio/(p.Mass*p.TyreRadius*p.TyreRadius)
}

// Neutral is effective mass over mass with the engine out.
func (p *Powertrain) Neutral() float64 {
	switch {
	case p.Inertia > 0:
		return p.Inertia
	case p.Wheels > 0:
		return 1 + p.Wheels/(p.Mass*p.TyreRadius*p.TyreRadius)
	}
	return NeutralFactor
}

// factor is effective mass over mass in a gear at v m/s.
func (p *Powertrain) factor(gear int, v float64) float64 {
	if p.Coupled(gear, v) {
		return p.Factor(gear)
	}
	return p.Neutral()
}

// RoadLoad is what air and tyres resist at v m/s on the level, in N.
func (p *Powertrain) RoadLoad(v float64) float64 {
	return 0.5*cmp.Or(p.Density, unit.AirDensityStandard)*p.DragArea*v*math.Abs(v) + p.Rolling*p.Mass*unit.GravityStandard
}

// UpshiftSpeed is where a gear is left, in m/s: at the shift speed if there is
// one, else where the next gear accelerates harder, else at the engine's limit.
// In the last gear it is the speed at the engine's limit.
func (p *Powertrain) UpshiftSpeed(gear int) float64 {
	limit := p.RoadSpeed(gear, p.Engine.Limit)
	if gear+1 >= len(p.Gears) {
		return limit
	}
	if p.ShiftSpeed > 0 {
		return min(limit, p.RoadSpeed(gear, p.ShiftSpeed))
	}
	gains := func(g int, v float64) float64 { // m/s²; what the tyres do not pass speeds up no engine
		a, _, _, _ := p.state(math.Inf(1), v, g, false)
		return a
	}
	const n = shiftPoints
	for i := n / 4; i <= n; i++ {
		v := limit * float64(i) / n
		if p.RoadSpeed(gear+1, p.EngineSpeed(gear+1, v)) <= v*(1+same) && gains(gear+1, v) > gains(gear, v)+same {
			return v
		}
	}
	return limit
}

// grip is the most thrust the tyres pass in N.
func (p *Powertrain) grip() float64 {
	return cmp.Or(p.Grip, math.Inf(1))
}

// TopSpeed is the speed at the engine's limit in the last gear, m/s: gearing
// lets it go no faster, whatever the power.
func (p *Powertrain) TopSpeed() float64 { return p.UpshiftSpeed(len(p.Gears) - 1) }

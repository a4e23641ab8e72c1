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

	Mass     float64 // kg
	Inertia  float64 // effective mass over mass in every gear; MassFactor if 0
	DragArea float64 // m²
	Rolling  float64 // coefficient
	Grip     float64 // N, the most thrust the tyres pass; no limit if 0

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
	return p.Engine.At(p.EngineSpeed(gear, v)) * p.Overall(gear) * cmp.Or(p.Efficiency, 1) / p.TyreRadius
}

// Factor is effective mass over mass in a gear.
func (p *Powertrain) Factor(gear int) float64 {
	if p.Inertia > 0 {
		return p.Inertia
	}
	return MassFactor(p.Overall(gear))
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
	pull := func(g int, v float64) float64 { return min(p.Force(g, v), p.grip()) / p.Factor(g) }
	const n = shiftPoints
	for i := n / 4; i <= n; i++ {
		v := limit * float64(i) / n
		if p.RoadSpeed(gear+1, p.EngineSpeed(gear+1, v)) <= v*(1+same) && pull(gear+1, v) > pull(gear, v)*(1+same) {
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

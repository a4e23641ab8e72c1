package driveline

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
)

// Engine is a full-throttle torque curve: straight lines between points, level
// before the first, nothing above Limit.
type Engine struct {
	Speed  []float64 // rad/s, rising
	Torque []float64 // N·m
	Limit  float64   // rad/s, the highest engine speed
	// Modelled is set where the curve was drawn through rated values only.
	Modelled bool
}

// NewEngine makes an engine of measured points. limit is the highest speed in
// rad/s, the last point's if 0.
func NewEngine(speed, torque []float64, limit float64) (*Engine, error) {
	if len(speed) < 2 || len(speed) != len(torque) {
		return nil, errors.New("torque curve: want two points or more")
	}
	for i := range speed {
		if !(speed[i] >= 0) || !(torque[i] >= 0) || math.IsInf(speed[i]+torque[i], 0) || i > 0 && speed[i] <= speed[i-1] {
			return nil, fmt.Errorf("torque curve: point %d is not positive at a rising speed", i+1)
		}
	}
	return &Engine{Speed: speed, Torque: torque, Limit: cmp.Or(limit, speed[len(speed)-1])}, nil
}

// Rated is what a data sheet says of an engine. Torque at TorqueSpeed and Power
// at PowerSpeed are needed; speeds in rad/s.
type Rated struct {
	Torque, TorqueSpeed float64 // N·m, rad/s
	Power, PowerSpeed   float64 // W, rad/s
	Idle, Limit         float64 // rad/s; guessed if 0
}

// Engine draws a curve through the rated values: from three quarters of the
// torque at idle up to its peak by a parabola, and from there by another through
// the rated power on to the limit. It is a model, exact at the two rated points
// and good to some 5 % between them (common practice).
func (r Rated) Engine() (*Engine, error) {
	if !(r.Torque > 0 && r.TorqueSpeed > 0 && r.Power > 0 && r.PowerSpeed > r.TorqueSpeed) {
		return nil, errors.New("rated values: want torque and power, the power at the higher engine speed")
	}
	end := r.Power / r.PowerSpeed
	if end > r.Torque*(1+same) {
		return nil, fmt.Errorf("rated values: %.0f W at %.0f rad/s is more torque than the rated %.0f N·m", r.Power, r.PowerSpeed, r.Torque)
	}
	idle, limit := r.Idle, r.Limit
	if idle == 0 || idle >= r.TorqueSpeed {
		idle = min(idleSpeed, idleMost*r.TorqueSpeed)
	}
	limit = cmp.Or(limit, overPower*r.PowerSpeed)
	e := &Engine{Limit: limit, Modelled: true}
	const n = curvePoints
	for i := range n + 1 {
		w := idle + (r.TorqueSpeed-idle)*float64(i)/n
		x := (r.TorqueSpeed - w) / (r.TorqueSpeed - idle)
		e.Speed, e.Torque = append(e.Speed, w), append(e.Torque, r.Torque*(1-idleMissing*x*x))
	}
	for i := range n {
		e.add(r.TorqueSpeed+(limit-r.TorqueSpeed)*float64(i+1)/n, r, end)
	}
	e.add(r.PowerSpeed, r, end)
	return e, nil
}

// Motor is an electric motor of a greatest torque in N·m and a greatest power in W: level
// torque up to the speed where both meet, and level power from there to limit in rad/s,
// some times that speed if 0. The knee of a real one is round (common practice).
func Motor(torque, power, limit float64) (*Engine, error) {
	if !(torque > 0 && power > 0) {
		return nil, errors.New("electric motor: want torque and power")
	}
	base := power / torque
	limit = cmp.Or(limit, motorReach*base)
	e := &Engine{Speed: []float64{0, min(base, limit)}, Torque: []float64{torque, torque}, Limit: limit, Modelled: true}
	for i := range curvePoints {
		if w := base + (limit-base)*float64(i+1)/curvePoints; limit > base {
			e.Speed, e.Torque = append(e.Speed, w), append(e.Torque, power/w)
		}
	}
	return e, nil
}

// add puts a point of the falling part in its place.
func (e *Engine) add(w float64, r Rated, end float64) {
	x := (w - r.TorqueSpeed) / (r.PowerSpeed - r.TorqueSpeed)
	t := max(0, r.Torque-(r.Torque-end)*x*x)
	i := sort.SearchFloat64s(e.Speed, w)
	if i < len(e.Speed) && e.Speed[i]-w < same*w {
		return
	}
	e.Speed, e.Torque = slices.Insert(e.Speed, i, w), slices.Insert(e.Torque, i, t)
}

// At is the torque at w rad/s in N·m, 0 above the limit.
func (e *Engine) At(w float64) float64 {
	n := len(e.Speed)
	switch {
	case w > e.Limit*(1+sameTorque):
		return 0
	case w <= e.Speed[0]:
		return e.Torque[0]
	case w >= e.Speed[n-1]:
		return e.Torque[n-1]
	}
	i := sort.SearchFloat64s(e.Speed, w)
	f := (w - e.Speed[i-1]) / (e.Speed[i] - e.Speed[i-1])
	return e.Torque[i-1] + f*(e.Torque[i]-e.Torque[i-1])
}

// PeakPower is the greatest power in W and its engine speed in rad/s.
func (e *Engine) PeakPower() (power, speed float64) {
	for i := range powerPoints + 1 {
		w := e.Speed[0] + (e.Limit-e.Speed[0])*float64(i)/powerPoints
		if p := e.At(w) * w; p > power {
			power, speed = p, w
		}
	}
	return power, speed
}

// EngineInertia is what turns with an engine or a motor, in kg·m², where its data do
// not say: in proportion to its greatest torque in N·m, with the standard deviation of
// its logarithm. Kind is "naturally aspirated", "turbocharged", "diesel", "electric", or
// "" for one that is not known.
func EngineInertia(kind string, torque float64) (inertia, logSD float64) {
	switch kind {
	case "electric":
		return motorInertia * torque, inertiaSpread
	case "diesel":
		return dieselInertia * torque, inertiaSpread
	case "":
		return sparkInertia * torque, inertiaUnknown
	}
	return sparkInertia * torque, inertiaSpread
}

// PeakTorque is the greatest torque in N·m.
func (e *Engine) PeakTorque() float64 { return slices.Max(e.Torque) }

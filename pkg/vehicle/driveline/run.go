package driveline

import "math"

// Limit is what keeps a run from being quicker at some instant.
type Limit string

// The limits.
const (
	ByGrip   Limit = "grip"         // the tyres pass no more
	ByTorque Limit = "torque"       // the engine is below 90 % of its greatest power: a shorter gear would push harder
	ByPower  Limit = "power"        // the engine gives 90 % of its greatest power or more: no gear helps
	ByShift  Limit = "shift"        // no thrust while a gear is changed
	ByEngine Limit = "engine speed" // the last gear is used up
	ByStart  Limit = "launch"       // thrust is building up
)

// Run is a predicted run from rest, in columns of equal length.
type Run struct {
	T     []float64 // s since thrust begins
	S     []float64 // m
	V     []float64 // m/s
	A     []float64 // m/s²
	Drive []float64 // N at the wheels before rotating parts take their share
	Tyre  []float64 // N between tyres and road
	Gear  []int     // from 0
	By    []Limit

	Shifts []Upshift
	// Stuck says why the run ended before it was long enough, "" if it was not.
	Stuck string
}

// Upshift is one change of gear in a predicted run.
type Upshift struct {
	From, To int     // gears from 1
	Time     float64 // s
	Speed    float64 // m/s
}

// reach interpolates the instant at which a column first reaches x.
func (r *Run) reach(col []float64, x float64) (float64, bool) {
	for i := 1; i < len(col); i++ {
		if col[i] >= x && col[i] > col[i-1] {
			f := (x - col[i-1]) / (col[i] - col[i-1])
			return r.T[i-1] + max(0, f)*(r.T[i]-r.T[i-1]), true
		}
	}
	return math.NaN(), false
}

// ReachSpeed is when v m/s is reached, in s, and whether it is.
func (r *Run) ReachSpeed(v float64) (float64, bool) { return r.reach(r.V, v) }

// ReachDistance is when d m are covered, in s, and whether they are.
func (r *Run) ReachDistance(d float64) (float64, bool) { return r.reach(r.S, d) }

// Part is a stretch of a run with one limit.
type Part struct {
	By                 Limit
	Begin, End         float64 // s
	FromSpeed, ToSpeed float64 // m/s
	Gear               int     // from 1
}

// Parts are the stretches of a run up to end seconds, those under 20 ms joined
// to the one before.
func (r *Run) Parts(end float64) []Part {
	var out []Part
	for i := range r.T {
		if r.T[i] > end {
			break
		}
		n := len(out)
		switch by, gear := r.By[i], r.Gear[i]+1; {
		case n > 0 && out[n-1].By == by && out[n-1].Gear == gear:
		case n > 0 && out[n-1].End-out[n-1].Begin < shortestPart && out[n-1].By != ByShift:
			out[n-1].By, out[n-1].Gear = by, gear
		default:
			out = append(out, Part{By: by, Begin: r.T[i], FromSpeed: r.V[i], Gear: gear})
		}
		p := &out[len(out)-1]
		p.End, p.ToSpeed = r.T[i], r.V[i]
	}
	return out
}

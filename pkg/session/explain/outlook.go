package explain

import (
	"math"

	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/driveline"
)

// outlook is a predicted number and how each input of the model moves it, so that what
// two modes share cancels in their difference.
type outlook struct {
	x     float64
	keys  []string
	moves []float64
}

// value is the number with its standard uncertainty.
func (o outlook) value() uncert.Value { return uncert.Value{X: o.x, U: uncert.Combine(o.moves...)} }

// less is the difference of two numbers; inputs of the same key are the same in both.
func (o outlook) less(b outlook) outlook {
	d := outlook{x: o.x - b.x}
	at := map[string]int{}
	for i, k := range o.keys {
		at[k] = i
		d.keys, d.moves = append(d.keys, k), append(d.moves, o.moves[i])
	}
	for i, k := range b.keys {
		if j, ok := at[k]; ok {
			d.moves[j] -= b.moves[i]
			continue
		}
		d.keys, d.moves = append(d.keys, k), append(d.moves, -b.moves[i])
	}
	return d
}

// of is what a function of a run says of the prediction; NaN is a run that has no such
// number.
func (p *Prediction) of(f func(*driveline.Run) float64) outlook {
	o := outlook{x: math.NaN()}
	if p.Run == nil {
		return o
	}
	o.x = f(p.Run)
	base := f(p.rough)
	for _, v := range p.varied {
		up, down := f(v.up)-base, base-f(v.down)
		// The larger of both sides, so that a one-sided input counts in full.
		if math.IsNaN(up) || math.Abs(down) > math.Abs(up) {
			up = down
		}
		if math.IsNaN(up) {
			up = outOfReach * o.x
		}
		o.keys, o.moves = append(o.keys, v.key), append(o.moves, up)
	}
	return o
}

// reach is a target's time in a run, NaN where it is out of reach.
func (t Target) reach(r *driveline.Run) float64 {
	x, ok := t.Reach(r)
	if !ok {
		return math.NaN()
	}
	return x
}

// Time is the predicted time from rest to a target in s, with what the sheet's values and
// those that stand in for missing ones may be off by; false where it is out of reach.
func (p *Prediction) Time(t Target) (uncert.Value, bool) {
	v := p.of(t.reach).value()
	return v, !math.IsNaN(v.X)
}

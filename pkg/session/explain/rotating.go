package explain

import (
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/vehicle/driveline"
)

// rotating is how heavy rotating parts make a mode's vehicle.
type rotating struct {
	train   *driveline.Powertrain
	byGear  []uncert.Value // effective mass over mass with road and engine coupled
	neutral uncert.Value   // the same where they are not
}

// rotatingOf is that of a mode, nil where the sheet does not tell its gears and engine.
func rotatingOf(sh *sheet.Sheet, mode string) *rotating {
	if vehicleMass(&sh.Vehicle) == 0 {
		return nil
	}
	m := modelOf(sh, mode, unseen)
	p, _, err := m.train()
	if err != nil {
		return nil
	}
	n := len(p.Gears)
	factors := func(p *driveline.Powertrain) []float64 {
		out := make([]float64, n+1)
		for g := range n {
			out[g] = p.Factor(g)
		}
		out[n] = p.Neutral()
		return out
	}
	base := factors(p)
	moves := make([][]float64, n+1)
	for i := range m.inputs {
		x := *m
		m.inputs[i].vary(&x, 1)
		if q, err := x.ungripped(); err == nil {
			for g, f := range factors(q) {
				moves[g] = append(moves[g], f-base[g])
			}
		}
	}
	r := &rotating{train: p}
	for g := range n {
		r.byGear = append(r.byGear, uncert.Value{X: base[g], U: uncert.Combine(moves[g]...)})
	}
	r.neutral = uncert.Value{X: base[n], U: uncert.Combine(moves[n]...)}
	return r
}

// spanned is a value that may be any of some, as likely anywhere between.
func spanned(all []uncert.Value) uncert.Value {
	lo, hi, u := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range all {
		lo, hi, u = min(lo, v.X), max(hi, v.X), max(u, v.U)
	}
	return uncert.Value{X: (lo + hi) / 2, U: uncert.Combine(uncert.Rectangular((hi-lo)/2), u)}
}

// at is effective mass over mass at a road speed in m/s: in the gear from 1 where it is
// sure, in that which the shift speed leaves, or else in any that the engine's speeds allow
// from one below that counted on the trace, 0 where none was.
func (r *rotating) at(gear int, sure bool, v float64) uncert.Value {
	p := r.train
	if sure && gear > 0 && gear <= len(r.byGear) {
		if !p.Coupled(gear-1, v) {
			return r.neutral
		}
		return r.byGear[gear-1]
	}
	start, last := max(0, p.StartGear-1), len(p.Gears)-1
	var could []uncert.Value
	for g := start; g <= last; g++ {
		up := p.RoadSpeed(g, p.Engine.Limit) * (1 + ratioSlack)
		from := 0.0
		if p.ShiftSpeed > 0 {
			up = p.RoadSpeed(g, p.ShiftSpeed) * (1 + ratioSlack)
			if g > start {
				from = p.RoadSpeed(g-1, p.ShiftSpeed) * (1 - ratioSlack)
			}
		} else if g+1 < gear-1 {
			continue
		}
		coupled := p.Coupled(g, v)
		switch {
		case v > up && g < last || v < from:
		case coupled:
			could = append(could, r.byGear[g])
		case p.ShiftSpeed > 0 || g == start:
			could = append(could, r.neutral)
		}
	}
	if len(could) == 0 {
		return r.byGear[last]
	}
	return spanned(could)
}

// of is that of a mode, nil where not known.
func (l *RoadLoad) of(mode string) *rotating {
	if r := l.rotates[mode]; r != nil {
		return r
	}
	return l.rotates[""]
}

// factor is effective mass over mass of a mode at v m/s in a gear from 1, 0 where not
// known; sure where the trace tells it.
func (l *RoadLoad) factor(mode string, gear int, sure bool, v float64) uncert.Value {
	if r := l.of(mode); r != nil {
		return r.at(gear, sure, v)
	}
	return l.Factor
}

// geared is effective mass over mass of a mode in a gear from 1 with road and engine
// coupled.
func (l *RoadLoad) geared(mode string, gear int) uncert.Value {
	if r := l.of(mode); r != nil && gear <= len(r.byGear) {
		return r.byGear[gear-1]
	}
	return l.Factor
}

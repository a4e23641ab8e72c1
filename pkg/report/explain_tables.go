package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fromrest/pkg/session/explain"

	"fromrest/pkg/uncert"
)

// predictedGrid sets a mode's predictions beside the means of its measured times;
// it has no rows where nothing could be predicted.
func predictedGrid(p *explain.Prediction, e *explain.Explanation) grid {
	g := grid{Title: "From rest, predicted (modelled) beside the measured mean", Head: []string{"to", "predicted, s", "measured, s", "runs", "off by, %"}}
	if p.Run == nil {
		return g
	}
	for _, t := range explain.Targets {
		row := []string{strings.TrimPrefix(t.Name, "0-"), "out of reach", unknownCell, unknownCell, unknownCell}
		if x, ok := t.Reach(p.Run); ok {
			row[1] = uncert.RoundHalfUp(x, 2)
		}
		if m := e.Mean(p.Mode, t); m.N > 0 {
			row[2], row[3] = plusMinus(m.X, m.U95), strconv.Itoa(m.N)
			if d, ok := e.OffBy(p, t); ok {
				row[4] = withHalf(d, 1, true)
			}
		}
		g.Rows = append(g.Rows, row)
	}
	return g.withoutEmpty()
}

// shiftGrid is every shift seen.
func shiftGrid(e *explain.Explanation) grid {
	name, per := SpeedUnit(e.Units)
	g := grid{Title: "Speed and duration measured, cost modelled", Head: []string{"run", "at, " + name, "gears", "takes, s", "costs, s"}}
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		for _, s := range r.Shifts {
			gears := unknownCell
			if s.From > 0 {
				gears = fmt.Sprintf("%d to %d, %s", s.From, s.To, s.GearBasis)
			}
			g.Rows = append(g.Rows, []string{r.Run.ID, withHalf(s.Speed, per, false), gears, withHalf(s.Duration, 1, false), withHalf(s.Cost, 1, false)})
		}
	}
	return g.withoutEmpty()
}

// noShiftLines say of the other runs why they show no shift.
func noShiftLines(e *explain.Explanation) []string {
	of := map[string][]string{}
	var order []string
	for i := range e.Traced.Runs {
		r := &e.Traced.Runs[i]
		if len(r.Shifts) > 0 {
			continue
		}
		why := r.NoShifts
		if why == "" {
			why = "none found. A receiver of 10 samples a second shows no gap under about 0.3 s."
		}
		if of[why] == nil {
			order = append(order, why)
		}
		of[why] = append(of[why], r.Run.ID)
	}
	var out []string
	for _, why := range order {
		out = append(out, and(of[why])+": "+why)
	}
	return out
}

// forceGrid is each mode's force and power at a few speeds.
func forceGrid(e *explain.Explanation) grid {
	name, per := SpeedUnit(e.Units)
	g := grid{Head: []string{name}}
	basis := explain.Modelled
	for _, m := range e.Traced.Modes {
		if m.Basis == explain.Assumed {
			basis = m.Basis
		}
		g.Head = append(g.Head, m.Mode+", kN", m.Mode+", kW", m.Mode+", N/kg")
	}
	g.Title = fmt.Sprintf("By the traces (%s)", basis)
	for _, v := range []float64{10, 20, 30, 40, 50, 60, 70, 80, 100, 120, 140} {
		row, any := []string{uncert.RoundHalfUp(v, 0)}, false
		for _, m := range e.Traced.Modes {
			p, ok := m.At(v * per)
			switch {
			case !ok:
				row = append(row, unknownCell, unknownCell, unknownCell)
			case math.IsNaN(p.Force.X):
				row = append(row, unknownCell, unknownCell, withHalf(p.Specific, 1, false))
			default:
				row = append(row, withHalf(p.Force, 1e3, false), withHalf(p.Power, 1e3, false), unknownCell)
			}
			any = any || ok
		}
		if any {
			g.Rows = append(g.Rows, row)
		}
	}
	g.Note = "Rotating parts, drag, rolling resistance and grade are in it. – is a speed at which a run was shifting, or that it did not reach."
	return g.withoutEmpty()
}

// gripGrid is how much of the grip there is each run used.
func gripGrid(t *explain.Traced) grid {
	g := grid{Head: []string{"run", "at most, %", "mean before power limits, %"}}
	basis := explain.Basis("")
	for i := range t.Runs {
		u := &t.Runs[i].Grip
		if math.IsNaN(u.Peak.X) {
			continue
		}
		g.Rows = append(g.Rows, []string{t.Runs[i].Run.ID, withHalf(u.Peak, 0.01, false), withHalf(u.Mean, 0.01, false)})
		g.Note, basis = u.Text, u.Basis
	}
	g.Title = fmt.Sprintf("Share that each run used (%s)", basis)
	return g.withoutEmpty()
}

// limitNames are the words for what limits both modes.
var limitNames = map[string]string{explain.BandPower: "power, both", explain.BandTorque: "torque, both",
	explain.BandGrip: "grip, one or both", explain.BandMixed: "not told apart"}

// bandGrid is the difference in wheel force of two modes, part by part.
func bandGrid(e *explain.Explanation, b *explain.ForceBand) grid {
	name, per := SpeedUnit(e.Units)
	g := grid{Title: fmt.Sprintf("Wheel force of %s over that of %s at the same speed (%d and %d runs)", b.A, b.B, b.NA, b.NB),
		Head: []string{name, "gear", "limited by", "difference, %", "basis"}}
	for _, p := range b.Parts {
		gear := unknownCell
		if p.Gear > 0 {
			gear = strconv.Itoa(p.Gear)
		}
		g.Rows = append(g.Rows, []string{fmt.Sprintf("%.0f to %.0f", p.From/per, p.To/per), gear, limitNames[p.Limit], withHalf(p.Percent, 1, true), string(p.Basis)})
	}
	return g.sharedInto(map[int]string{4: "Difference"}).withoutEmpty()
}

package explain

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// evidence is what the traces show of a mode.
func (t *Traced) evidence(mode string, cs []RunConditions, sh *sheet.Sheet) evidence {
	out := unseen
	n := 0.0
	for i := range cs {
		if c := &cs[i]; c.Run.Mode == mode && !math.IsNaN(c.Grade.X) {
			if n == 0 {
				out.grade = uncert.Value{}
			}
			n++
			out.grade.X, out.grade.U = out.grade.X+c.Grade.X, max(out.grade.U, c.Grade.U)
		}
	}
	if n > 0 {
		out.grade.X /= n
	}
	out.friction = t.leastFriction(sh)
	return out
}

// leastFriction is the friction that the hardest pull of any run shows, less what it may
// be off by, where that is more than the sheet's or the default; else 0.
func (t *Traced) leastFriction(sh *sheet.Sheet) float64 {
	most := t.hardestFriction(sh, (*GripUse).contradicted)
	if most <= cmp.Or(sh.Vehicle.Friction, driveline.DefaultFriction) {
		return 0
	}
	return most
}

// contradicted reports whether a pull shows more friction than a run's grip is
// reckoned with: nothing is then said to be limited by it.
func (g *GripUse) contradicted() bool { return g.Peak.X-g.Peak.U95() > 1 }

// against are the sheet's values that what was measured contradicts.
func (e *Explanation) against() []string {
	var out []string
	v := &e.Sheet.Vehicle
	if f := e.Traced.leastFriction(e.Sheet); f > 0 && v.Friction > 0 {
		out = append(out, fmt.Sprintf("friction = %g is contradicted: the hardest acceleration shows at least %.2f. The sheet's is not used.", v.Friction, f))
	}
	for _, p := range e.Predictions {
		if p.Train == nil {
			continue
		}
		out = append(out, e.againstPower(p)...)
		out = append(out, e.againstRatios(p)...)
		for _, t := range Targets {
			if e.contradicted(p.Mode, t) {
				x, _ := p.Time(t)
				m := e.Mean(p.Mode, t)
				out = append(out, fmt.Sprintf("Mode %s, %s: measured %.2f s, by the sheet %.2f ±%.2f s. A value of the sheet is off; it explains nothing here.",
					p.Mode, t.Name, m.X, x.X, x.U95()))
				break
			}
		}
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// contradicted reports whether a measured mean lies outside what the sheet predicts.
func (e *Explanation) contradicted(mode string, t Target) bool {
	p := e.prediction(mode)
	if p == nil {
		return false
	}
	d, ok := e.OffBy(p, t)
	return ok && math.Abs(d.X) > d.U95()
}

// againstPower says where the wheels have more power than the engine gives.
func (e *Explanation) againstPower(p *Prediction) []string {
	most, at := p.Train.Engine.PeakPower()
	u := powerU
	if p.Train.Engine.Modelled {
		u = ratedU
	}
	for _, m := range e.Traced.Modes {
		if m.Mode != p.Mode {
			continue
		}
		for _, q := range m.Points {
			if low := q.Power.X - q.Power.U95(); !q.InShift && low > most*(1+uncert.Z95*u) {
				return []string{fmt.Sprintf("Mode %s: the wheels have at least %.0f kW at %.0f m/s, the sheet's engine gives %.0f kW at %.0f/min: torque, power_share or mass_kg is off.",
					p.Mode, low/1000, q.Speed, most/1000, at/unit.RPM)}
			}
		}
	}
	return nil
}

// againstRatios says where a road speed is more than the ratios and the tyre allow.
func (e *Explanation) againstRatios(p *Prediction) []string {
	top := p.Train.RoadSpeed(len(p.Train.Gears)-1, p.Train.Engine.Limit)
	for i := range e.Traced.Runs {
		r := e.Traced.Runs[i].Run
		if r.Mode == p.Mode && r.MaxSpeed > top*(1+ratioSlack) {
			return []string{fmt.Sprintf("Mode %s: %s reaches %.1f m/s, where gears, final_drive and tyre_radius_m end at %.1f m/s in the last gear: one of them, limit_rpm or range is off.",
				p.Mode, r.ID, r.MaxSpeed, top)}
		}
	}
	return nil
}

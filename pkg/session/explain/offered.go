package explain

import (
	"math"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
)

// Offered is a value that the traces tell of the vehicle, better than a sheet that lacks
// it or than what stands in for it.
type Offered struct {
	Key  string // of the sheet, or what it is
	Mode string // "" for the vehicle
	// X is the value in the key's unit with its 95 % limits; a limit that is not known is
	// NaN, and of a value of which only the least is known X is that and Hi is NaN.
	X, Lo, Hi float64
	From      string // what it rests on
}

// What is offered: keys of the sheet, and the power at the wheels in kW, which is none.
const (
	OfferedBuildUp  = "build_up_s"
	OfferedFriction = "friction"
	OfferedDrag     = "drag_area_m2"
	OfferedRolling  = "rolling_resistance"
	OfferedPower    = "power at the wheels"
)

// builtUp95 is the share of a build-up after which 95 % of the force is there: it rises as
// half a cosine (driveline.Plan), learned build-ups are to 95 %.
var builtUp95 = math.Acos(1-2*0.95) / math.Pi

// Offered returns what the traces tell of the vehicle: how tractive force builds up in each
// mode, the friction that the hardest run needs, rolling and drag by coast-downs, and the
// power at the wheels. The sheet's own values are not repeated.
func (e *Explanation) Offered() []Offered {
	if e.Traced == nil || e.Result == nil {
		return nil
	}
	var out []Offered
	for _, m := range e.Traced.Modes {
		for _, l := range e.Result.Learned {
			if l.Mode == m.Mode && len(l.Runs) > 1 && e.Sheet.ModeDriveline(m.Mode).BuildUp == 0 {
				out = append(out, Offered{OfferedBuildUp, m.Mode, l.Tau / builtUp95, l.Low / builtUp95, l.High / builtUp95, "its launches together"})
			}
		}
	}
	if e.Sheet.Vehicle.Friction == 0 {
		if f := e.Traced.hardestFriction(e.Sheet, func(*GripUse) bool { return true }); f > 0 {
			out = append(out, Offered{Key: OfferedFriction, X: f, Lo: f, Hi: math.NaN(), From: "the hardest run, at least"})
		}
	}
	load := &e.Traced.Load
	if load.DragBasis == Modelled && e.Sheet.Vehicle.DragArea == 0 && !math.IsNaN(load.DragArea.X) {
		out = append(out, within(Offered{Key: OfferedDrag, From: "coast-downs"}, load.DragArea))
	}
	if load.RollingBasis == Modelled && e.Sheet.Vehicle.RollingResistance == 0 {
		out = append(out, within(Offered{Key: OfferedRolling, From: "coast-downs"}, load.Rolling))
	}
	for i := range e.Traced.Modes {
		if p := e.Traced.Modes[i].hardest(); p != nil {
			out = append(out, within(Offered{Key: OfferedPower, Mode: e.Traced.Modes[i].Mode, From: "the force of its runs"}, uncert.Value{X: p.Power.X / 1000, U: p.Power.U / 1000}))
		}
	}
	return out
}

// within fills in a value with its limits.
func within(o Offered, v uncert.Value) Offered {
	o.X, o.Lo, o.Hi = v.X, v.X-v.U95(), v.X+v.U95()
	return o
}

// hardest is where a mode's power at the wheels is surely the most: the noise of a point
// with a wide band does not make it that. It is nil without the mass.
func (m *ModeForce) hardest() *ForcePoint {
	var most *ForcePoint
	for i := range m.Points {
		p := &m.Points[i]
		if least := p.Power.X - p.Power.U95(); !math.IsNaN(least) && (most == nil || least > most.Power.X-most.Power.U95()) {
			most = p
		}
	}
	return most
}

// hardestFriction is the friction that the hardest of some runs shows at least, 0 where the
// sheet does not tell what stands on the driven wheels.
func (t *Traced) hardestFriction(sh *sheet.Sheet, of func(*GripUse) bool) float64 {
	most := 0.0
	for i := range t.Runs {
		g := &t.Runs[i].Grip
		if least := g.Pull.X - uncert.Z95*g.Pull.U; least > 0 && of(g) {
			most = max(most, frictionFor(sh, t.Runs[i].Run.Mode, least))
		}
	}
	return most
}

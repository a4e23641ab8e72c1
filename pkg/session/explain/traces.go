package explain

import (
	"context"

	"fromrest/pkg/session"
	"fromrest/pkg/sheet"
	"fromrest/pkg/vehicle/driveline"
)

// Traced is what the traces say of the vehicle: shifts, force and power at the
// wheels, use of grip, and how modes differ. A value that is not known is NaN.
type Traced struct {
	Load    RoadLoad
	Runs    []TracedRun // the counted standing starts in order
	Modes   []ModeForce
	Bands   []ForceBand // every two modes with two runs or more
	Missing []Missing   // what the sheet lacks and what it would unlock here
}

// TracedRun is what one run's trace says.
type TracedRun struct {
	Run    *session.TimedRun
	Shifts []Shift
	// NoShifts says why none can be told from this trace, whole sentence, "" where
	// one could; then no shift found means that none was seen.
	NoShifts string
	Force    []ForcePoint // at rising speeds, forceStep apart
	Grip     GripUse
}

// TraceOf reads shifts, forces, use of grip and differences between modes from the
// traces of the runs whose conditions are given. What the sheet lacks is listed
// with what it would unlock. res may be nil; then there are no coast-downs.
func TraceOf(ctx context.Context, res *session.Result, cs []RunConditions, sh *sheet.Sheet) *Traced {
	out := &Traced{Load: RoadLoadOf(res, sh)}
	modes := map[string]*modeData{}
	for i := range cs {
		if ctx.Err() != nil {
			return out
		}
		mode := cs[i].Run.Mode
		if modes[mode] == nil {
			m := &modeData{start: max(1, sh.ModeDriveline(mode).StartGear), grip: gripLimitOf(sh, mode)}
			if r := out.Load.rotates[mode]; r != nil {
				m.train = r.train
			}
			modes[mode] = m
		}
		out.Runs = append(out.Runs, tracedRun(&cs[i], &out.Load, sh, modes[mode]))
	}
	var order []string
	if res != nil {
		order = res.ModeNames()
	}
	out.Modes = modeForces(out.Runs, &out.Load, order)
	out.Bands = forceBands(out.Runs, out.Modes, sh)
	out.missing(sh)
	return out
}

// missing lists what the sheet lacks for what the traces could tell.
func (t *Traced) missing(sh *sheet.Sheet) {
	v := &sh.Vehicle
	need(&t.Missing, vehicleMass(v) > 0, "mass_kg", "force in N and power at the wheels")
	need(&t.Missing, v.MassFactor > 0 || len(v.Gears) > 0 && v.FinalDrive > 0, "mass_factor, or gears and final_drive", "what speeding up rotating parts takes")
	need(&t.Missing, t.Load.RollingBasis != Assumed, "rolling_resistance, or a coast-down in neutral of 12 s or more", "the part of the force that rolling takes")
	need(&t.Missing, t.Load.DragBasis != Assumed, "drag_area_m2, or a coast-down in neutral of 12 s or more", "the part of the force that the air takes")
	need(&t.Missing, len(v.Gears) > 0, "gears", "which gear each shift is into")
	need(&t.Missing, v.Friction > 0, "friction", "the share of grip used, with the surface as it is")
	need(&t.Missing, v.FrontMass > 0 && v.RearMass > 0, "front_axle_kg and rear_axle_kg", "the grip of the driven axle")
}

// modeData is what the sheet says of one mode.
type modeData struct {
	train *driveline.Powertrain // nil where it cannot be predicted
	start int                   // gear it starts in
	grip  gripLimit
}

func tracedRun(c *RunConditions, l *RoadLoad, sh *sheet.Sheet, m *modeData) TracedRun {
	r := c.Run
	out := TracedRun{Run: r}
	if !SingleSpeed(sh) { // else a dip is no shift
		out.NoShifts, out.Shifts = NoShifts(r), Shifts(r)
	}
	for i := range out.Shifts { // gears are not known yet: the same rotating mass on both sides
		out.Shifts[i].Step = c.step(&out.Shifts[i], l, l.Factor, l.Factor)
	}
	c.gears(out.Shifts, l, sh, m)
	first := 0 // not known: a run in which no shift was seen may have had some
	if len(sh.Vehicle.Gears) == 1 {
		first = 1
	} else if len(out.Shifts) > 0 {
		first = out.Shifts[0].From
	}
	out.Force = c.forces(out.Shifts, l, first, vehicleMass(&sh.Vehicle))
	out.Grip = m.grip.use(out.Force, l, c)
	return out
}

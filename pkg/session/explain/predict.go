package explain

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/sheet"
	"fromrest/pkg/uncert"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// Prediction is what a mode's data say it should do on the session's road,
// averaged over nothing: one still-air run on the level unless the sheet tells
// of air.
type Prediction struct {
	Mode    string
	Train   *driveline.Powertrain // nil where gears or torque are not known
	Run     *driveline.Run        // nil as Train
	Grip    *driveline.State      // nil where weights or friction are not known
	Missing []Missing
	Assumed []string // whole sentences

	rough  *driveline.Run // as Run, in coarser steps
	varied []varied       // from rough
}

// Predict says what a mode should do by the sheet's data. What is missing is
// listed with what it would unlock; what is assumed is said.
func Predict(ctx context.Context, sh *sheet.Sheet, mode string) (*Prediction, error) {
	return predict(ctx, sh, mode, unseen)
}

// predict is Predict with what the traces of the mode show.
func predict(ctx context.Context, sh *sheet.Sheet, mode string, seen evidence) (*Prediction, error) {
	v, d := &sh.Vehicle, sh.ModeDriveline(mode)
	p := &Prediction{Mode: mode}
	var c driveline.Chassis
	c, p.Missing = Chassis(sh, mode)
	share := powerShare(sh, mode)
	e, err := engineOf(v, cmp.Or(share, 1))
	geared := len(v.Gears) > 0 && v.FinalDrive > 0
	ranged := d.Range != "low" || v.TransferLow > 0
	need(&p.Missing, err == nil, "torque_rpm_nm, or torque and power with their speeds", "the force in each gear and predicted times")
	need(&p.Missing, geared, "gears and final_drive", "the force in each gear, shift speeds and predicted times")
	need(&p.Missing, ranged, "transfer_low", "everything in low range")
	if err != nil || !geared || !ranged || c.TyreRadius == 0 || c.Mass == 0 {
		p.Grip, err = mostGrip(sh, mode)
		return p, err
	}
	m := modelOf(sh, mode, seen)
	air := readingOf(&sh.Conditions)
	p.Assumed = append(p.Assumed, fmt.Sprintf("Full throttle, still air of %.3f kg/m³ (%s).", air.rho, cmp.Or(air.basis, Assumed)))
	if e.Modelled {
		p.Assumed = append(p.Assumed, "The torque curve is drawn through the rated torque and power.")
	}
	if share == 0 && len(sh.Modes) > 1 {
		p.Assumed = append(p.Assumed, "This mode is taken to give all of the vehicle's torque: power_share says otherwise.")
	}
	if v.ShiftSpeed == 0 && len(v.Gears) > 1 {
		p.Assumed = append(p.Assumed, "Shifts are taken where the next gear pushes harder, or at the limit.")
	}
	p.Assumed = append(p.Assumed, m.assumed...)
	if p.Train, p.Grip, err = m.train(); err != nil {
		return nil, err
	}
	if p.Grip == nil {
		p.Assumed = append(p.Assumed, "No grip limit is applied: see what is missing.")
	}
	if p.Run, err = p.Train.Accelerate(ctx, unit.Mile/4, 60*unit.MPH); err != nil {
		return nil, err
	}
	p.rough, p.varied, err = m.variations(ctx, unit.Mile/4, 60*unit.MPH)
	return p, err
}

// Cause is a part of the difference in time that a sheet predicts between two
// modes; modelled.
type Cause struct {
	What    string       // "power share", "gearing", "driven wheels", "driveline efficiency", "launch"
	Seconds uncert.Value // s; positive where it makes the first mode slower
}

// causes takes the predicted differences between two modes apart, for each of Targets:
// from b, what the sheet gives a is put in one thing after another, and each step is the
// part of that thing. The parts add up to the predicted difference; which part interacting
// ones go to depends on the order, as in any such sum. An entry is nil where a time cannot
// be predicted.
func causes(ctx context.Context, sh *sheet.Sheet, a, b *Prediction, seen evidence) [][]Cause {
	out := make([][]Cause, len(Targets))
	ia := slices.IndexFunc(sh.Modes, func(m sheet.Mode) bool { return m.Name == a.Mode })
	ib := slices.IndexFunc(sh.Modes, func(m sheet.Mode) bool { return m.Name == b.Mode })
	if ia < 0 || ib < 0 || a.Run == nil || b.Run == nil {
		return out
	}
	mixed := *sh
	mixed.Modes = slices.Clone(sh.Modes)
	m := &mixed.Modes[ib]
	m.Driveline = sh.ModeDriveline(b.Mode)
	want := sh.ModeDriveline(a.Mode)
	chain, what := []*Prediction{b}, []string{}
	for _, step := range []struct {
		what string
		put  func()
	}{
		{"power share", func() { m.PowerShare = sh.Modes[ia].PowerShare }},
		{"gearing", func() { m.Driveline.Range, m.Driveline.StartGear = want.Range, want.StartGear }},
		{"driven wheels", func() {
			keep := m.Driveline
			m.Driveline = want
			m.Driveline.Efficiency, m.Driveline.BuildUp = keep.Efficiency, keep.BuildUp
		}},
		{"driveline efficiency", func() { m.Driveline.Efficiency = want.Efficiency }},
		{"launch", func() { m.Driveline.BuildUp = want.BuildUp }},
	} {
		was, share := m.Driveline, m.PowerShare
		step.put()
		if m.Driveline == was && m.PowerShare == share {
			continue
		}
		p, err := predict(ctx, &mixed, b.Mode, seen)
		if err != nil || p.Run == nil {
			return out
		}
		chain, what = append(chain, p), append(what, step.what)
	}
	for k, t := range Targets {
		out[k] = parted(chain, what, t)
	}
	return out
}

// parted are the steps of a chain of predictions to one target, nil where one of them is
// out of reach.
func parted(chain []*Prediction, what []string, t Target) []Cause {
	out := []Cause{}
	for i, w := range what {
		d := chain[i+1].of(t.reach).less(chain[i].of(t.reach)).value()
		if math.IsNaN(d.X) {
			return nil
		}
		if math.Abs(d.X) >= causeLeast {
			out = append(out, Cause{w, d})
		}
	}
	return out
}

// LimitTime is for how long one thing limits a predicted run.
type LimitTime struct {
	By      driveline.Limit
	Seconds float64 // together
	Until   float64 // m/s at which it last ends
	N       int     // stretches of the run
}

// Limits are what limits a predicted run up to an instant in s, in the order met,
// shifts last.
func (p *Prediction) Limits(end float64) []LimitTime {
	var out []LimitTime
	shifts := LimitTime{By: driveline.ByShift}
	for _, q := range p.Run.Parts(end) {
		to := &shifts
		if q.By != driveline.ByShift {
			k := slices.IndexFunc(out, func(l LimitTime) bool { return l.By == q.By })
			if k < 0 {
				k, out = len(out), append(out, LimitTime{By: q.By})
			}
			to = &out[k]
		}
		to.Seconds += q.End - q.Begin
		to.Until = q.ToSpeed
		to.N++
	}
	if shifts.N > 0 {
		out = append(out, shifts)
	}
	return out
}

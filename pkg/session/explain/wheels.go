package explain

import (
	"errors"
	"strings"

	"fromrest/pkg/sheet"
	"fromrest/pkg/unit"
	"fromrest/pkg/vehicle/driveline"
)

// Wheels answers which wheels of a mode's driveline push, and the torque on every
// shaft, with as much torque as the wheels take: on the sheet's friction, but for
// the wheels that stand without grip or hang in the air. A sheet that lacks what
// the answer needs is an error that names it.
func Wheels(sh *sheet.Sheet, mode string, bare, air [driveline.Wheels]bool) (driveline.Chassis, *driveline.State, error) {
	c, missing := Chassis(sh, mode)
	v := &sh.Vehicle
	if c.Mass == 0 || c.TyreRadius == 0 || c.FrontShare == 0 || v.Friction == 0 || !c.Front.Driven && !c.Rear.Driven {
		var keys []string
		for _, m := range missing {
			keys = append(keys, m.Key)
		}
		return c, nil, errors.New("which wheels push cannot be said: the sheet lacks " + strings.Join(keys, ", "))
	}
	g := driveline.Even(v.Friction)
	g.InAir = air
	for k, b := range bare {
		if b {
			g.Friction[k] = 0
		}
	}
	rolling := v.RollingResistance
	if rolling == 0 {
		rolling = driveline.DefaultRolling
	}
	g.Resistance = rolling * c.Mass * unit.GravityStandard
	s, err := driveline.Solve(c, g, driveline.Most)
	return c, s, err
}

package csv

import (
	"math"
	"slices"

	"fromrest/pkg/format/csv/clock"
	"fromrest/pkg/format/csv/header"
	"fromrest/pkg/recording"
	"fromrest/pkg/unit"
)

// buildAccel makes the acceleration samples.
func (t *table) buildAccel() {
	axes := []*slot{t.slot(header.AccX), t.slot(header.AccY), t.slot(header.AccZ)}
	if slices.Contains(axes, nil) {
		along := t.slot(header.AccLong)
		switch {
		case along != nil && axes[1] != nil && axes[2] != nil: // longitudinal, lateral, vertical
			axes[0] = along
		case along != nil:
			axes = []*slot{along}
		default:
			axes = axes[:1]
		}
	}
	x := axes[0]
	if x == nil {
		return
	}
	k, name := x.h.Unit.SI, x.h.Unit.Name
	if !x.h.Known() {
		if k, name = gravityUnit(axes); k == 0 {
			t.note("unit", "the acceleration in column %q is left out: its unit cannot be told", t.label(x.col))
			return
		}
		t.note("unit", "the acceleration in column %q is in %s, told by the weight it feels at rest", t.label(x.col), name)
	}
	var cols [][]float64
	for _, s := range axes {
		cols = append(cols, s.v)
	}
	rows := t.present(cols, len(cols))
	if t.count(rows) == 0 {
		return
	}
	if keep, at, _ := (&sensor{t.nano, rows, cols, nil}).refresh(); keep != nil {
		t.note("repeated", "the accelerometer's columns are new in %d of %d rows; the others were dropped", len(keep), t.count(rows))
		rows = at
	}
	a := &recording.Accel{Unit: name, GravityRemoved: x.h.Linear, NanoUTC: pick(t.nano, rows)}
	for i, to := range []*[]float64{&a.X, &a.Y, &a.Z}[:len(cols)] {
		*to = pick(cols[i], rows)
		scaleBy(*to, k)
	}
	t.rec.Accel = a
}

// weights are what three axes feel at rest, their errors and slopes included.
var weights = []struct {
	least, most, si float64
	unit            string
}{
	{8.3, 11.3, 1, "m/s2"},
	{0.85, 1.15, unit.GravityStandard, "g"},
	{850, 1150, unit.GravityStandard / 1000, "mg"},
}

// inCounts is the unit of an accelerometer's bare counts.
const inCounts = "counts"

// gravityUnit tells the unit of three axes by the weight they feel, as one of it
// in m/s² and its name; one axis tells nothing.
func gravityUnit(axes []*slot) (k float64, name string) {
	if len(axes) < 3 {
		return 0, ""
	}
	x, y, z := axes[0].v, axes[1].v, axes[2].v
	var n []float64
	for i := range x {
		if v := math.Sqrt(x[i]*x[i] + y[i]*y[i] + z[i]*z[i]); v == v {
			n = append(n, v)
		}
	}
	w := clock.Median(n)
	for _, f := range weights {
		if w > f.least && w < f.most {
			return f.si, f.unit
		}
	}
	if w > leastCounts {
		return unit.GravityStandard / w, inCounts
	}
	return 0, ""
}

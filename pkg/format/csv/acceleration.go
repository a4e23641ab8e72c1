package csv

import (
	"math"

	"fromrest/pkg/recording"
)

// buildAccel makes the acceleration samples.
func (t *table) buildAccel(p *plan) {
	x, y, z := t.slot(roleAccX), t.slot(roleAccY), t.slot(roleAccZ)
	if x == nil || y == nil || z == nil {
		along := t.slot(roleAccLong)
		switch {
		case along != nil && y != nil && z != nil: // longitudinal, lateral, vertical
			x = along
		case along != nil:
			x, y, z = along, nil, nil
		default:
			y, z = nil, nil
		}
	}
	if x == nil {
		return
	}
	cols := [][]float64{x.v}
	if y != nil {
		cols = append(cols, y.v, z.v)
	}
	k, name := x.h.unit.si, x.h.unit.name
	if !x.h.hasUnit || x.h.unit.q != acceleration {
		k, name = gravityUnit(x, y, z)
		if k == 0 {
			t.note(p, "unit", "the acceleration in column %q is left out: its unit cannot be told", p.label(x.col))
			return
		}
		t.note(p, "unit", "the acceleration in column %q is in %s, told by the weight it feels at rest", p.label(x.col), name)
	}
	rows := t.complete(cols)
	if t.count(rows) == 0 {
		return
	}
	if keep, at, _ := refresh(t.nano, rows, cols, nil); keep != nil {
		t.note(p, "repeated", "the accelerometer's columns are new in %d of %d rows; the others were dropped", len(keep), t.count(rows))
		rows = at
	}
	a := &recording.Accel{Unit: name, GravityRemoved: x.h.linear, NanoUTC: pick(t.nano, rows), X: pick(x.v, rows)}
	scaleBy(a.X, k)
	if y != nil {
		a.Y, a.Z = pick(y.v, rows), pick(z.v, rows)
		scaleBy(a.Y, k)
		scaleBy(a.Z, k)
	}
	t.rec.Accel = a
}

// complete lists the rows in which every column has a value, nil for all.
func (t *table) complete(cols [][]float64) []int32 {
	rows := []int32{}
	for i := range t.nano {
		ok := true
		for _, c := range cols {
			ok = ok && c[i] == c[i]
		}
		if ok {
			rows = append(rows, int32(i))
		}
	}
	if len(rows) == len(t.nano) {
		return nil
	}
	return rows
}

// gravityUnit tells the unit of three axes by the weight they feel.
func gravityUnit(x, y, z *slot) (k float64, name string) {
	if y == nil || z == nil {
		return 0, ""
	}
	var n []float64
	for i := range x.v {
		if v := math.Sqrt(x.v[i]*x.v[i] + y.v[i]*y.v[i] + z.v[i]*z.v[i]); v == v {
			n = append(n, v)
		}
	}
	const g = 9.80665
	switch w := median(n); {
	case w > 8.3 && w < 11.3:
		return 1, "m/s2"
	case w > 0.85 && w < 1.15:
		return g, "g"
	case w > 850 && w < 1150:
		return g / 1000, "mg"
	case w > 100:
		return g / w, "counts"
	}
	return 0, ""
}

package csv

import (
	"fmt"
	"math"
	"slices"

	"fromrest/pkg/diag"
	"fromrest/pkg/unit"
)

// earthRadius is the mean radius, enough to tell units apart.
const earthRadius = 6371000.0 // m

// degrees turns a latitude or longitude column into decimal degrees in place:
// degrees and minutes in one number (ddmm.mmmm), units of 1e-7 degree and
// radians are told by their size, radians only where the header says so.
func (t *table) degrees(s *slot) {
	limit := 90.0
	if s.h.role == roleLon {
		limit = 180
	}
	if s.h.hasUnit && s.h.unit.q == angle && s.h.unit.si != 1 {
		scaleBy(s.v, s.h.unit.si)
	} else {
		inferDegrees(s.v, limit)
	}
	for i, v := range s.v {
		if math.Abs(v) > limit {
			s.v[i] = math.NaN()
			t.rec.Problems.Addf(diag.Value, diag.Dropped, 0, "column %q holds %g, which is no angle", s.h.raw, v)
		}
	}
}

// inferDegrees turns angles of which no unit is known into degrees.
func inferDegrees(angles []float64, limit float64) {
	n, over, huge, minutes := 0, 0, 0, 0
	for _, v := range angles {
		if v != v {
			continue
		}
		n++
		a := math.Abs(v)
		if a > limit {
			over++
		}
		if a > 1e6 {
			huge++
		}
		if math.Mod(a, 100) < 60 {
			minutes++
		}
	}
	// By majority: a few damaged values must not turn the others.
	switch {
	case huge*2 > n:
		scaleBy(angles, 1e-7)
	case over*2 > n && minutes*50 >= n*49:
		for i, v := range angles {
			d := math.Trunc(v / 100)
			angles[i] = d + (v-100*d)/60
		}
	}
}

func scaleBy(v []float64, k float64) {
	if k == 1 {
		return
	}
	for i := range v {
		v[i] *= k
	}
}

// unitsOf finds the unit of every speed column. A column whose unit cannot be
// told is left without one.
func (t *table) inferSpeedUnits() {
	open := func() (out []*slot) {
		for _, s := range t.slots {
			if s.h.role == roleSpeed && !s.h.hasUnit {
				out = append(out, s)
			}
		}
		return
	}
	for _, s := range open() {
		if k, ok := t.againstPosition(s); ok {
			s.settle(k, "the change of position")
		}
	}
	for _, s := range open() {
		if k, ok := gridUnit(s.v); ok {
			s.settle(k, "the steps of its values")
		}
	}
	for range 2 {
		for _, s := range open() {
			for _, o := range t.slots {
				if o.h.role != roleSpeed || !o.h.hasUnit {
					continue
				}
				if k, ok := nearestUnit(ratioTo(s.v, o.v, o.h.unit.si), 0.06); ok {
					s.settle(k, fmt.Sprintf("column %q", o.h.raw))
					break
				}
			}
		}
	}
}

func (s *slot) settle(u unitDef, why string) {
	s.h.unit, s.h.hasUnit, s.why = u, true, why
}

// nearestUnit names the unit whose size is within tol of k.
func nearestUnit(k, tol float64) (unitDef, bool) {
	for i, u := range speedUnits {
		if i >= 4 { // rarer units must fit better
			tol = min(tol, 0.02)
		}
		if math.Abs(math.Log(k/u.si)) < tol {
			return u, true
		}
	}
	return unitDef{}, false
}

// ratioTo is the median of b·si over a where both move.
func ratioTo(a, b []float64, si float64) float64 {
	var r []float64
	top := fastest(b)
	for i := range min(len(a), len(b)) {
		if b[i] > top/3 && a[i] > 0 {
			r = append(r, b[i]*si/a[i])
		}
	}
	if len(r) < 5 {
		return math.NaN()
	}
	return median(r)
}

// fastest is the largest value but for the outermost few, where damage shows,
// on a sample of the column.
func fastest(v []float64) float64 {
	step := max(1, len(v)/sampleRows)
	s := make([]float64, 0, sampleRows+1)
	for i := 0; i < len(v); i += step {
		if v[i] == v[i] {
			s = append(s, math.Abs(v[i]))
		}
	}
	if len(s) == 0 {
		return 0
	}
	_, hi := bounds(s)
	return hi
}

// againstPosition compares the way between positions with speed times time over
// stretches of a second or more.
func (t *table) againstPosition(s *slot) (unitDef, bool) {
	lat, lon := t.slot(roleLat), t.slot(roleLon)
	var ratios []float64
	switch {
	case lat != nil && lon != nil:
		ratios = t.stretches(s, func(i, j int) float64 {
			const rad = math.Pi / 180
			dx := (lon.v[j] - lon.v[i]) * math.Cos(lat.v[i]*rad)
			return math.Hypot(dx, lat.v[j]-lat.v[i]) * rad * earthRadius
		}, 10)
	case t.slot(roleDistance) != nil && t.slot(roleDistance).h.hasUnit && t.slot(roleDistance).h.unit.q == length:
		d := t.slot(roleDistance)
		ratios = t.stretches(s, func(i, j int) float64 { return math.Abs(d.v[j]-d.v[i]) * d.h.unit.si }, 10)
	}
	if len(ratios) < 5 {
		return unitDef{}, false
	}
	slices.Sort(ratios)
	n := len(ratios)
	mid := ratios[n/2]
	if spread := (ratios[n*3/4] - ratios[n/4]) / mid; spread > 0.5*math.Sqrt(float64(n)/10) {
		return unitDef{}, false
	}
	return nearestUnit(mid, 0.065)
}

// stretches gives the ratios of way to speed times time.
func (t *table) stretches(s *slot, way func(i, j int) float64, least float64) []float64 {
	var out []float64
	i, sum := -1, 0.0
	last := -1
	for j := range t.nano {
		if s.v[j] != s.v[j] {
			continue
		}
		d := 0.0
		if i >= 0 {
			d = way(i, j)
		}
		if i < 0 || d != d {
			if w := way(j, j); w == w {
				i, last, sum = j, j, 0
			}
			continue
		}
		sum += (s.v[j] + s.v[last]) / 2 * float64(t.nano[j]-t.nano[last]) / 1e9
		gap := t.nano[j] - t.nano[last]
		last = j
		switch dt := t.nano[j] - t.nano[i]; {
		case gap > 60e9 || dt > 300e9:
			i, sum = j, 0
		case dt >= 1e9 && d >= least:
			if sum > 0 {
				out = append(out, d/sum)
			}
			i, sum = j, 0
		}
	}
	return out
}

// grids are the steps that whole units leave when they are converted and
// written with many decimals, and the unit that they are then in.
var grids = []struct {
	step float64
	u    int // index into speedUnits
}{
	{unit.KMH, 0}, {unit.MPH, 0}, {unit.Knot, 0},
	{unit.MPH / unit.KMH, 1}, {unit.Knot / unit.KMH, 1},
	{unit.KMH / unit.MPH, 2}, {unit.KMH / unit.Knot, 3},
}

// gridUnit recognises values that were whole in another unit: 9.72222222 is
// 35 km/h in m/s.
func gridUnit(v []float64) (unitDef, bool) {
	for _, g := range grids {
		hits, full := map[int]bool{}, 0
		on := 0
		for _, x := range v {
			if !(x > 0) || x == math.Trunc(x*100)/100 { // too few decimals to tell
				continue
			}
			full++
			k := math.Round(x / g.step)
			if k > 0 && math.Abs(x-k*g.step) < 2e-6*x {
				on++
				hits[int(k)] = true
			}
		}
		if len(hits) >= 5 && on*20 >= full {
			return speedUnits[g.u], true
		}
	}
	return unitDef{}, false
}

func (t *table) slot(r role) *slot {
	for _, s := range t.slots {
		if s.h.role == r && s.v != nil {
			return s
		}
	}
	return nil
}
